"""The post office: the only module that sends mail.

A letter is a row. It is leased by a conditional update, sent outside any transaction, then marked sent if the lease
is still ours. Guarantee: at least once, under one Message-ID. What a crash leaves:

- before the lease is written: the letter stays queued;
- after the lease, before or while the mail server is spoken to: the lease ends after five minutes and another sender
  takes the letter;
- after the mail server's yes, before we have noted it: the same, and this is the only way to send twice. Both bear the
  same Message-ID, by which mail programs show one.

A mail server that cannot be reached or says "later" (4xx) means another try with growing distance; a final no (5xx)
means failed, and what stood in the letter goes to the coordinator to be told by phone.
"""

import dataclasses
import datetime as dt
import logging
import smtplib
import uuid

from celery import current_app
from django.conf import settings
from django.core import signing
from django.core.mail import EmailMultiAlternatives, get_connection
from django.core.mail.backends.base import BaseEmailBackend
from django.db import transaction
from django.db.models import F, Q
from django.urls import reverse
from django.utils import timezone
from kombu.exceptions import OperationalError

from coop.models import Club, Letter, Notice, Person

log = logging.getLogger("coop.letters")
State = Letter.State

LEASE = dt.timedelta(minutes=5)
BACK_OFF_MINUTES = (1, 5, 15, 60, 240)
LETTERS_A_RUN = 100
FOLDER_BACKEND = "coop.mailfolder.EmailBackend"
REMINDER = "reminder"
QUIET_FROM, QUIET_UNTIL = 21, 7
#: keys of letters that respect the quiet hours, however often they are tried; recalls and codes go at any hour
NOT_AT_NIGHT = ("daily:", "soon:")
UNSUBSCRIBE_SALT = "coop.unsubscribe"


class Unreachable(Exception):
    """The mail server itself is away or turns us away: the next letter would fare no better."""


@dataclasses.dataclass
class Tally:
    sent: int = 0
    retried: int = 0
    failed: int = 0
    expired: int = 0

    def __str__(self) -> str:
        return f"{self.sent} sent, {self.retried} to try again, {self.failed} failed, {self.expired} expired"


def queue(
    *,
    key: str,
    to: str,
    subject: str,
    body: str,
    now: dt.datetime,
    person: Person | None = None,
    kind: str = REMINDER,
    is_secret: bool = False,
    send_after: dt.datetime | None = None,
    expires_at: dt.datetime | None = None,
) -> Letter | None:
    """Write a letter down, once under its key; None when a letter of this key stands already. Sends nothing.

    A secret letter (a code, a link to sign in) overtakes the others, is never shown, and loses its text once sent.
    """
    mine = Letter(
        key=key,
        person=person,
        to=to,
        subject=" ".join(subject.split())[:200],
        body=body,
        message_id=_new_message_id(),
        kind=kind,
        is_secret=is_secret,
        send_after=send_after or now,
        expires_at=expires_at,
    )
    Letter.objects.bulk_create([mine], ignore_conflicts=True)
    return Letter.objects.filter(key=key, message_id=mine.message_id).first()


def _new_message_id() -> str:
    return f"<{uuid.uuid4().hex}@{settings.CONF.address.host}>"


def ring() -> None:
    """Once the transaction stands, wake a worker: a letter cannot wait. A broker that is away costs a minute."""
    transaction.on_commit(_ring, robust=True)


def _ring() -> None:
    try:
        current_app.send_task("coop.tasks.post", expires=55, retry=False, ignore_result=True)
    except (OSError, OperationalError) as trouble:
        log.warning("the bell cannot be rung, the next tick will send: %s", trouble)


def send_due(now: dt.datetime, *, only_urgent: bool = False, limit: int = LETTERS_A_RUN) -> Tally:
    """Send what is due, secrets first, at most `limit` letters; stop when the mail server cannot be reached."""
    tally = Tally(expired=expire(now))
    for letter_id in _due(now, only_urgent)[:limit]:
        letter = lease(letter_id, now)
        if letter is None:
            continue
        try:
            outcome = deliver(letter)
        except Unreachable:
            tally.retried += 1
            break
        tally.sent += outcome == State.SENT
        tally.retried += outcome == State.QUEUED
        tally.failed += outcome == State.FAILED
    return tally


def _open(now: dt.datetime) -> Q:
    """Letters that no sender holds: queued and due, or leased by one that died."""
    return Q(state=State.QUEUED, send_after__lte=now) | Q(state=State.LEASED, leased_until__lte=now)


def _due(now: dt.datetime, only_urgent: bool) -> list[int]:
    found = Letter.objects.filter(_open(now))
    if only_urgent:
        found = found.filter(is_secret=True)
    if _is_quiet(now):
        for start in NOT_AT_NIGHT:
            found = found.exclude(key__startswith=start)
    return list(found.order_by("-is_secret", "id").values_list("pk", flat=True))


def _is_quiet(now: dt.datetime) -> bool:
    club = Club.objects.filter(pk=1).first()
    return club is not None and not QUIET_UNTIL <= now.astimezone(club.tz).hour < QUIET_FROM


def expire(now: dt.datetime) -> int:
    """Letters that come too late to be of use are not sent; the coordinator sees how many."""
    late = Letter.objects.filter(_open(now) | Q(state=State.QUEUED), expires_at__lte=now)
    late.filter(is_secret=True).update(body="")
    return late.update(state=State.EXPIRED, leased_until=None)


def lease(letter_id: int, now: dt.datetime) -> Letter | None:
    """Claim one letter for five minutes; None when another sender was first."""
    until = now + LEASE
    claimed = Letter.objects.filter(_open(now), pk=letter_id).update(
        state=State.LEASED, leased_until=until, attempts=F("attempts") + 1
    )
    return Letter.objects.get(pk=letter_id) if claimed else None


def deliver(letter: Letter) -> str:
    """Hand a leased letter to the mail server and note what came of it. Raises Unreachable after noting it."""
    try:
        _hand_over(letter)
    except smtplib.SMTPRecipientsRefused as refusal:
        code, text = next(iter(refusal.recipients.values()), (0, b""))
        return _refused(letter, code, text)
    except smtplib.SMTPDataError as refusal:
        return _refused(letter, refusal.smtp_code, refusal.smtp_error)
    except (smtplib.SMTPException, OSError) as trouble:
        _later(letter, f"{type(trouble).__name__}: {trouble}")
        raise Unreachable from trouble
    except ValueError as trouble:
        return _fail(letter, f"{type(trouble).__name__}: {trouble}")
    return _sent(letter)


def _hand_over(letter: Letter) -> None:
    message = EmailMultiAlternatives(
        subject=letter.subject,
        body=letter.body,
        to=[letter.to],
        headers={"Message-ID": letter.message_id, "Auto-Submitted": "auto-generated", **_unsubscribe_headers(letter)},
        connection=_connection(),
    )
    if letter.html:
        message.attach_alternative(letter.html, "text/html")
    message.send()


def is_demo() -> bool:
    """A demo sends no mail and shows its codes on screen. That is kept in the database, not in the environment."""
    return Club.objects.filter(pk=1, is_demo=True).exists()


def _connection() -> BaseEmailBackend:
    backend: BaseEmailBackend = get_connection(FOLDER_BACKEND if is_demo() else None)
    return backend


def _mine(letter: Letter) -> Q:
    return Q(pk=letter.pk, state=State.LEASED, leased_until=letter.leased_until)


def _sent(letter: Letter) -> str:
    now = timezone.now()
    text = {"body": "", "html": ""} if letter.is_secret else {}
    Letter.objects.filter(_mine(letter)).update(state=State.SENT, sent_at=now, leased_until=None, last_error="", **text)
    return State.SENT


def _refused(letter: Letter, code: int, text: bytes | str) -> str:
    words = text.decode(errors="replace") if isinstance(text, bytes) else text
    if code >= 500:
        return _fail(letter, f"{code} {words}")
    return _later(letter, f"{code} {words}")


def _later(letter: Letter, error: str) -> str:
    minutes = BACK_OFF_MINUTES[min(letter.attempts, len(BACK_OFF_MINUTES)) - 1]
    leased_at = (letter.leased_until or timezone.now()) - LEASE
    Letter.objects.filter(_mine(letter)).update(
        state=State.QUEUED,
        send_after=leased_at + dt.timedelta(minutes=minutes),
        leased_until=None,
        last_error=error[:300],
    )
    return State.QUEUED


def _fail(letter: Letter, error: str) -> str:
    """A final no. What the letter said must still be heard: its notices go to the coordinator's telephone list."""
    with transaction.atomic():
        if Letter.objects.filter(_mine(letter)).update(state=State.FAILED, leased_until=None, last_error=error[:300]):
            Notice.objects.filter(letter=letter, state=Notice.State.BUNDLED).update(state=Notice.State.PHONE)
    return State.FAILED


def requeue(letter: Letter, to: str, now: dt.datetime, span: dt.timedelta) -> None:
    """Put a letter back into the queue. What was sent before is another letter now, so it gets another Message-ID."""
    if letter.state == State.SENT:
        letter.message_id = _new_message_id()
    Letter.objects.filter(pk=letter.pk, state=letter.state).update(
        state=State.QUEUED,
        to=to,
        message_id=letter.message_id,
        attempts=0,
        last_error="",
        send_after=now,
        expires_at=now + span,
        sent_at=None,
    )


def unsubscribe_link(person: Person) -> str:
    """The signed address that stops reminders by one POST, without signing in."""
    return settings.SITE_ADDRESS + reverse("unsubscribe", args=[signing.dumps(person.pk, salt=UNSUBSCRIBE_SALT)])


def person_of(signed: str) -> Person | None:
    """Whose reminders a signed address stops; None when it was not made here or the person has left."""
    try:
        person_id = signing.loads(signed, salt=UNSUBSCRIBE_SALT)
    except signing.BadSignature:
        return None
    return Person.objects.here().filter(pk=person_id).first()


def _unsubscribe_headers(letter: Letter) -> dict[str, str]:
    """RFC 8058 one-click: on reminders only, never on codes or recalls."""
    if letter.kind != REMINDER or letter.person is None:
        return {}
    return {
        "List-Unsubscribe": f"<{unsubscribe_link(letter.person)}>",
        "List-Unsubscribe-Post": "List-Unsubscribe=One-Click",
    }
