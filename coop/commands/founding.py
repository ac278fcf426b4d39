"""The club's first row and its first coordinator."""

import zoneinfo

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.utils.translation import gettext as _

from coop.command import Refused, command
from coop.models import Club, Deed, HiveKind, Person
from coop.models.people import Role

#: what most clubs begin with; each club edits its own list
FIRST_HIVE_KINDS = ("nucleus", "single brood", "double brood")


def check_name(text: str) -> str:
    """A name of 1 to 120 characters, trimmed. Refuses others with a hint; the terminal asks again with it."""
    if not 1 <= len(text.strip()) <= 120:
        raise Refused(_("A name of 1 to 120 characters is needed."), code="name")
    return text.strip()


def check_zone(text: str) -> str:
    """A time zone of the IANA list, such as Europe/Paris."""
    if text not in zoneinfo.available_timezones():
        raise Refused(_("“%(zone)s” is not a time zone. Write it like Europe/Paris.") % {"zone": text}, code="zone")
    return text


def check_email(text: str) -> str:
    """A mail address, trimmed."""
    try:
        validate_email(text.strip())
    except ValidationError:
        raise Refused(_("“%(mail)s” is not a mail address.") % {"mail": text}, code="email") from None
    return text.strip()


@command("club.found")
def found_club(
    deed: Deed,
    *,
    name: str,
    zone: str,
    coordinator_name: str,
    coordinator_email: str,
    is_demo: bool = False,
) -> Person:
    """Write the club and its first coordinator, who is returned. Refuses where there is a club already."""
    if Club.objects.exists():
        raise Refused(_("This server has its club already; nothing was changed."), code="club_exists")
    club = Club.objects.create(name=check_name(name), zone=check_zone(zone), is_demo=is_demo)
    HiveKind.objects.bulk_create(HiveKind(name=kind, order=order) for order, kind in enumerate(FIRST_HIVE_KINDS))
    return Person.objects.create_user(
        email=check_email(coordinator_email),
        name=check_name(coordinator_name),
        role=Role.COORDINATOR,
        joined_on=club.day_of(deed.happened_at),
    )
