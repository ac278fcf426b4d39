"""Pages behind single-use links: an invitation or a link from the shell, a phone of the shed, the end of reminders.

Opening a link changes nothing, since mail programs look into links by themselves: the button on the page does.
"""

from allauth.account.internal.flows.login import perform_login, record_authentication
from allauth.account.models import Login
from django.conf import settings
from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from coop import letters, shed
from coop.access import NOBODY, opens_to
from coop.command import new_key
from coop.commands import invitations, people
from coop.models import Deed, Person


@opens_to(NOBODY)
@never_cache
@require_http_methods(["GET", "POST"])
def come_in(request: HttpRequest, word: str) -> HttpResponseBase:
    """Sign in by a link that works once."""
    now = timezone.now()
    if request.method == "POST":
        person = invitations.use_invitation(word, now)
        if person is not None:
            return _sign_in(request, person)
    is_good = request.method != "POST" and invitations.open_invitation(word, now) is not None
    return render(request, "coop/come_in.html", {"is_good": is_good}, status=200 if is_good else 410)


def _sign_in(request: HttpRequest, person: Person) -> HttpResponseBase:
    logout(request)
    record_authentication(request, person, method="link")
    login = Login(user=person, email=person.email, redirect_url=settings.LOGIN_REDIRECT_URL)
    answer: HttpResponseBase = perform_login(request, login)
    return answer


@opens_to(NOBODY)
@never_cache
@require_http_methods(["GET", "POST"])
def open_shed_phone(request: HttpRequest, word: str) -> HttpResponseBase:
    """Make this browser a phone of the shed."""
    if request.method == "POST":
        phone = invitations.open_shed_phone(word, timezone.now())
        if phone is not None:
            answer = _sign_in(request, phone.person)
            shed.mark(request, phone)
            return answer
        return render(request, "coop/come_in.html", {"is_good": False}, status=410)
    return render(request, "coop/come_in.html", {"is_good": True, "is_shed_phone": True})


@opens_to(NOBODY)
@csrf_exempt
@never_cache
@require_http_methods(["GET", "POST"])
def unsubscribe(request: HttpRequest, signed: str) -> HttpResponse:
    """RFC 8058: a POST to this address, by a mail program or by the button, ends reminders. No sign-in, no cookie."""
    person = letters.person_of(signed)
    is_done = False
    if request.method == "POST" and person is not None:
        people.stop_reminders(actor=Person.objects.system(), key=new_key(), door=Deed.Door.PAGE, person=person)
        is_done = True
    known = {"is_known": person is not None, "is_done": is_done}
    return render(request, "coop/unsubscribe.html", known, status=200 if person else 404)
