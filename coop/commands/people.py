"""People: who is in the club, in which role, and how somebody leaves."""

import datetime as dt
from typing import Any

from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.utils.translation import gettext as _

from coop import registry
from coop.command import Refused, command
from coop.models import ApiToken, Deed, FreshCode, Invitation, Letter, Notice, Person, Role, ShedPhone, the_club


@command("person.add")
def add_person(
    deed: Deed,
    *,
    name: str,
    email: str = "",
    phone: str = "",
    address: str = "",
    role: str = Role.MEMBER,
    is_releaser: bool = False,
    joined_on: dt.date | None = None,
) -> Person:
    """Put somebody on the list. E-mail may be empty: then the coordinator tells them things by phone.

    Refused when the e-mail is in the club already or cannot be one, or the role is unknown.
    """
    return Person.objects.create_user(
        _free_email(email),
        name=_full_name(name),
        phone=phone,
        address=address,
        role=_known_role(role),
        is_releaser=is_releaser,
        joined_on=joined_on or the_club().day_of(deed.happened_at),
    )


@command("person.change")
def change_person(deed: Deed, *, person: Person, **changes: Any) -> Person:
    """Change name, e-mail, phone, address or `wants_reminders`. A new e-mail ends every session of the old one."""
    _must_be_here(person)
    unknown = set(changes) - {"name", "email", "phone", "address", "wants_reminders"}
    if unknown:
        raise Refused(_("That cannot be changed here."), code="unknown", field=min(unknown))
    if "name" in changes:
        person.name = _full_name(changes["name"])
    if "email" in changes:
        _change_email(person, changes["email"])
    for field in {"phone", "address", "wants_reminders"} & set(changes):
        setattr(person, field, changes[field])
    person.save()
    return person


@command("person.set_role", gate=True)
def set_role(deed: Deed, *, person: Person, role: str) -> Person:
    """Make somebody a member, volunteer or coordinator. The last coordinator cannot be made anything else."""
    _must_be_here(person)
    if _known_role(role) != Role.COORDINATOR:
        _leave_a_coordinator(person)
    person.role = role
    person.save(update_fields=["role"])
    return person


@command("person.set_releaser", gate=True)
def set_releaser(deed: Deed, *, person: Person, may_release: bool) -> Person:
    """Give or take the mark of a releaser. Whoever was in a bench team still cannot release that bench."""
    _must_be_here(person)
    person.is_releaser = may_release
    person.save(update_fields=["is_releaser"])
    return person


@command("person.sign_out_everywhere")
def sign_out_everywhere(deed: Deed, *, person: Person) -> Person:
    """End every session of a person and revoke their shed phones; tokens for programs stay."""
    end_sessions(person)
    person.save(update_fields=["password"])
    ShedPhone.objects.filter(person=person, revoked_at=None).update(revoked_at=deed.happened_at)
    return person


@command("person.stop_reminders")
def stop_reminders(deed: Deed, *, person: Person) -> Person:
    """No more reminders by mail, as the link in every reminder does by one tap. Recalls and codes still come."""
    person.wants_reminders = False
    person.save(update_fields=["wants_reminders"])
    return person


@command("person.leave", gate=True)
def leave(deed: Deed, *, person: Person) -> Person:
    """Anonymise somebody who leaves: name, addresses, sessions, tokens and letters go, the trade records stay.

    Refused for the last coordinator, and while a room says that something is still open (bags held, money owed).
    """
    _must_be_here(person)
    _leave_a_coordinator(person)
    reasons = [str(reason) for _name, ask in registry.leavings.items() for reason in ask(person)]
    if reasons:
        raise Refused(
            _("%(name)s cannot leave yet: %(reasons)s") % {"name": person.name, "reasons": " ".join(reasons)},
            code="still_open",
            reasons=reasons,
        )
    for _name, forget in registry.forgettings.items():
        forget(person)
    for model in (EmailAddress, Authenticator):
        model.objects.filter(user=person).delete()
    for model in (ApiToken, FreshCode, Invitation, ShedPhone, Notice, Letter):
        model.objects.filter(person=person).delete()
    person.name = _("Left the club (%(number)d)") % {"number": person.pk}
    person.email, person.phone, person.address = None, "", ""
    person.role, person.is_releaser = Role.MEMBER, False
    person.is_active = person.wants_reminders = False
    person.left_at = deed.happened_at
    end_sessions(person)
    person.save()
    return person


def end_sessions(person: Person) -> None:
    """A new unusable password: sessions carry a digest of it, so all of them end. The caller saves."""
    person.set_unusable_password()


def _change_email(person: Person, email: str) -> None:
    new = _free_email(email, person)
    if new == person.email:
        return
    EmailAddress.objects.filter(user=person).delete()
    Invitation.objects.filter(person=person, used_at=None).delete()
    end_sessions(person)
    person.email = new


def _full_name(name: str) -> str:
    words = " ".join(name.split())
    if not words:
        raise Refused(_("A person needs a name."), code="empty", field="name")
    return words


def _free_email(email: str | None, person: Person | None = None) -> str | None:
    text = (email or "").strip()
    if not text:
        return None
    try:
        validate_email(text)
    except ValidationError:
        raise Refused(
            _("“%(email)s” is no e-mail address; nothing was written.") % {"email": text}, code="email", field="email"
        ) from None
    text = Person.objects.normalize_email(text)
    if Person.objects.filter(email__iexact=text).exclude(pk=person.pk if person else 0).exists():
        raise Refused(
            _("%(email)s is in the club already; nothing was written.") % {"email": text}, code="taken", field="email"
        )
    return text


def _known_role(role: str) -> str:
    if role not in Role.values:
        raise Refused(_("A role is member, volunteer or coordinator."), code="unknown", field="role")
    return role


def _must_be_here(person: Person) -> None:
    if person.left_at is not None or person.is_system:
        raise Refused(_("This person is not in the club any more."), code="left")


def _leave_a_coordinator(person: Person) -> None:
    """Under the gate: two coordinators cannot both step down at once."""
    others = Person.objects.here().filter(role=Role.COORDINATOR, is_active=True).exclude(pk=person.pk)
    if person.role == Role.COORDINATOR and not others.exists():
        raise Refused(
            _("%(name)s is the only coordinator. Make somebody else coordinator first.") % {"name": person.name},
            code="last_coordinator",
        )
