"""Fresh codes: before what needs a second look, the person shows again that the mailbox is theirs.

On pages a sign-in less than fifteen minutes old counts, as the sign-in library records it in the session. A form drawn
while fresh may be sent for an hour, and one sent later than that waits in the session while the code is asked for:
nothing typed is lost. Programs ask for a code (POST /api/v1/fresh-code) and send it in the header `Fresh-Code`; it is
good for ten minutes, five tries and one deed, whose retry under the same key it opens again.
"""

import datetime as dt
import time

from allauth.account.internal.flows.login import get_authentication_records, record_authentication
from allauth.core.internal.httpkit import serialize_request
from django.db.models import F
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode

from coop import words
from coop.models import FreshCode, Person

FRESH_S = 15 * 60
FORM_S = 60 * 60
CODE_MINUTES = 10
CODE_TRIES = 5
WAITING = "coop_waits_for_a_fresh_code"
SAFE_METHODS = ("GET", "HEAD", "OPTIONS")


def is_fresh(request: HttpRequest) -> bool:
    """Whether this person signed in or entered a code a short while ago, or sends a good `Fresh-Code`."""
    person = request.user
    if not isinstance(person, Person):
        return False
    code = request.headers.get("Fresh-Code", "")
    if code:
        return spend(person, code, _what_for(request))
    if not hasattr(request, "session"):
        return False
    span = FRESH_S if request.method in SAFE_METHODS else FORM_S
    records = get_authentication_records(request, person)
    return any(0 <= time.time() - float(record["at"]) < span for record in records)


def ask_again(request: HttpRequest) -> HttpResponse:
    """Off to the page that asks for a code and comes back; what a form held waits in the session meanwhile."""
    back = request.get_full_path()
    request.session.pop(WAITING, None)
    if request.method == "POST":
        request.session[WAITING] = {"back": back, "request": serialize_request(request)}
    return redirect(f"{reverse('fresh')}?{urlencode({'next': back})}")


def take_waiting(request: HttpRequest, back: str) -> str | None:
    """What waits for this address, once; anything that waits for another address is dropped."""
    waiting = request.session.pop(WAITING, None)
    return waiting["request"] if waiting and waiting["back"] == back else None


def now_fresh(request: HttpRequest) -> None:
    """The person has just shown a code in this session."""
    record_authentication(request, request.user, method="code", reauthenticated=True)


def make(person: Person, now: dt.datetime | None = None) -> str:
    """A new code for a person; any earlier one is void. The caller sends it and keeps it nowhere."""
    moment = now or timezone.now()
    code = words.short_code()
    FreshCode.objects.filter(person=person).delete()
    FreshCode.objects.create(
        person=person,
        digest=words.digest(code, f"fresh {person.pk}"),
        valid_until=moment + dt.timedelta(minutes=CODE_MINUTES),
    )
    return code


def spend(person: Person, typed: str, what_for: str, now: dt.datetime | None = None) -> bool:
    """Whether the code opens `what_for`. A try counts before it is compared; two rivals cannot both spend it."""
    moment = now or timezone.now()
    found = FreshCode.objects.filter(person=person, valid_until__gt=moment).first()
    if found is None:
        return False
    guess = words.digest(words.plain(typed), f"fresh {person.pk}")
    if found.used_for:
        return found.used_for == what_for and found.digest == guess
    mine = FreshCode.objects.filter(pk=found.pk, tries__lt=CODE_TRIES, used_for="")
    if not mine.update(tries=F("tries") + 1) or found.digest != guess:
        return False
    return bool(FreshCode.objects.filter(pk=found.pk, used_for="").update(used_for=what_for))


def _what_for(request: HttpRequest) -> str:
    key = request.headers.get("Idempotency-Key", "")
    return f"{request.method} {request.path} {key}"[:200]
