"""Ways in besides the mailed code: invitations, links from the shell, tokens for programs, phones of the shed.

Each is a word made from the key of its deed (coop/words.py), so that the same deed sent twice gives the same word; the
database keeps its digest only.
"""

import datetime as dt

from django.conf import settings
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from coop import letters, words
from coop.command import Refused, command
from coop.models import ApiToken, Deed, Invitation, Person, Role, ShedPhone, the_club

INVITATION_DAYS = 14
LET_IN_MINUTES = 10
SHED_PHONE_DAYS = 30
LINK, TOKEN, PHONE = "link", "token", "phone"


def link_of(deed: Deed) -> str:
    """The single-use address that an `invite` or `let_in` deed made."""
    return link_for(deed.actor_id, deed.key)


def link_for(actor_id: int, key: str) -> str:
    return settings.SITE_ADDRESS + reverse("come_in", args=[words.word_for(LINK, actor_id, key)])


def token_for(actor_id: int, key: str) -> str:
    return words.word_for(TOKEN, actor_id, key)


def phone_link_for(actor_id: int, key: str) -> str:
    return settings.SITE_ADDRESS + reverse("open_shed_phone", args=[words.word_for(PHONE, actor_id, key)])


@command("person.invite")
def invite(deed: Deed, *, person: Person) -> Invitation:
    """Mail a single-use link into the club, good for fourteen days; an earlier one is void.

    Refused for somebody without e-mail (let them in from the shell, or by phone) or who has left.
    """
    if person.left_at is not None or person.is_system:
        raise Refused(_("This person is not in the club any more."), code="left")
    if not person.email:
        raise Refused(
            _("%(name)s has no e-mail to send an invitation to. Add one first.") % {"name": person.name},
            code="no_email",
        )
    club = the_club()
    invitation = _make(deed, person, "invite", dt.timedelta(days=INVITATION_DAYS))
    context = {"person": person, "club": club, "link": link_of(deed), "days": INVITATION_DAYS}
    letters.queue(
        key=f"invite:{deed.pk}",
        person=person,
        to=person.email,
        subject=_("%(club)s: your way in") % {"club": club.name},
        body=render_to_string("coop/letters/invitation.txt", context),
        kind="invitation",
        is_secret=True,
        now=timezone.now(),
        expires_at=invitation.valid_until,
    )
    letters.ring()
    return invitation


@command("person.let_in", gate=True)
def let_in(deed: Deed, *, person: Person, make_coordinator: bool = False) -> Invitation:
    """A single-use link for the shell to print, good for ten minutes; an earlier one is void."""
    if person.left_at is not None or person.is_system:
        raise Refused(_("This person is not in the club any more."), code="left")
    if make_coordinator and not person.is_coordinator:
        person.role = Role.COORDINATOR
        person.save(update_fields=["role"])
    return _make(deed, person, "let_in", dt.timedelta(minutes=LET_IN_MINUTES))


def _make(deed: Deed, person: Person, purpose: str, span: dt.timedelta) -> Invitation:
    Invitation.objects.filter(person=person, purpose=purpose, used_at=None).delete()
    return Invitation.objects.create(
        person=person,
        digest=words.digest(words.word_for(LINK, deed.actor_id, deed.key)),
        purpose=purpose,
        valid_until=timezone.now() + span,
        deed=deed,
    )


def open_invitation(word: str, now: dt.datetime) -> Invitation | None:
    """The invitation a link names, if it is still good; looking does not use it up."""
    found = Invitation.objects.filter(digest=words.digest(word), used_at=None, valid_until__gt=now)
    return found.select_related("person").filter(person__is_active=True).first()


def use_invitation(word: str, now: dt.datetime) -> Person | None:
    """Spend the link: of two that press at once, one comes in. A sign-in is no change to the books, so no deed."""
    found = open_invitation(word, now)
    if found is None or not Invitation.objects.filter(pk=found.pk, used_at=None).update(used_at=now):
        return None
    return found.person


@command("token.make")
def make_token(deed: Deed, *, name: str) -> ApiToken:
    """A key for programs that act as the actor; the word itself is `token_for(actor, key)`, shown once."""
    word = token_for(deed.actor_id, deed.key)
    return ApiToken.objects.create(person=deed.actor, name=" ".join(name.split())[:60], digest=words.digest(word))


@command("token.revoke")
def revoke_token(deed: Deed, *, token: ApiToken) -> ApiToken:
    """End a key for programs at once. Revoking it twice changes nothing."""
    ApiToken.objects.filter(pk=token.pk, revoked_at=None).update(revoked_at=deed.happened_at)
    token.refresh_from_db()
    return token


@command("shed_phone.add")
def add_shed_phone(deed: Deed, *, name: str, person: Person) -> ShedPhone:
    """A link that signs a phone of the shed in for thirty days, for the bench only, as one volunteer."""
    if not person.is_volunteer or person.left_at is not None:
        raise Refused(_("The bench opens to volunteers only; choose one."), code="not_volunteer", field="person")
    return ShedPhone.objects.create(
        name=" ".join(name.split())[:60],
        person=person,
        digest=words.digest(words.word_for(PHONE, deed.actor_id, deed.key)),
        valid_until=timezone.now() + dt.timedelta(days=SHED_PHONE_DAYS),
    )


@command("shed_phone.revoke")
def revoke_shed_phone(deed: Deed, *, phone: ShedPhone) -> ShedPhone:
    """The phone is out at its next step. Revoking it twice changes nothing."""
    ShedPhone.objects.filter(pk=phone.pk, revoked_at=None).update(revoked_at=deed.happened_at)
    phone.refresh_from_db()
    return phone


def open_shed_phone(word: str, now: dt.datetime) -> ShedPhone | None:
    """Spend the link of a shed phone, once; None when it is not good."""
    found = ShedPhone.objects.filter(digest=words.digest(word), opened_at=None, revoked_at=None, valid_until__gt=now)
    phone = found.select_related("person").filter(person__is_active=True).first()
    if phone is None or not found.filter(pk=phone.pk).update(opened_at=now):
        return None
    return phone
