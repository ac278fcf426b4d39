"""What an outlook is asked: until when, which holds taken as lifted, which benches moved to which day."""

import dataclasses
import datetime as dt
import re
from collections.abc import Iterable

from django.utils.translation import gettext as _

from coop import wording
from coop.command import Refused
from inventory.models import Hold
from inventory.outlook import Outlook, default_until

FURTHEST = dt.timedelta(days=3 * 366)
_KEY = re.compile(r"bench:\d{1,18}")


@dataclasses.dataclass(frozen=True)
class WhatIf:
    """Read from an address; empty `lifted` and `moved` are things as planned."""

    until: dt.date
    lifted: frozenset[int] = frozenset()
    moved: dict[str, dt.date] = dataclasses.field(default_factory=dict)

    @property
    def is_as_planned(self) -> bool:
        return not self.lifted and not self.moved


def read(today: dt.date, until: str = "", lifted: Iterable[str] = (), moved: Iterable[str] = ()) -> WhatIf:
    """`moved` are texts like "bench:7=2027-04-17". Refused, with a sentence: "until", "hold", "moved"."""
    return WhatIf(_until(today, until.strip()), _lifted([one for one in lifted if one.strip()]), _moved(today, moved))


def check(asked: WhatIf, found: Iterable[Outlook]) -> None:
    """Refused (code "moved") for a bench that takes nothing of these materials."""
    known = {demand.key for one in found for demand in one.demands}
    for key in asked.moved:
        if key not in known:
            raise Refused(_("%(key)s is no planned bench that takes any of it.") % {"key": key}, code="moved")


def _until(today: dt.date, text: str) -> dt.date:
    if not text:
        return default_until(today)
    day = _day(text, "until")
    if not today <= day <= today + FURTHEST:
        raise Refused(
            _("Choose a day from today to %(last)s.") % {"last": wording.day(today + FURTHEST, today)},
            code="until",
            field="until",
        )
    return day


def _lifted(texts: list[str]) -> frozenset[int]:
    wanted = {int(text) if re.fullmatch(r"[0-9]{1,18}", text.strip()) else 0 for text in texts}
    if not wanted:
        return frozenset()
    known = set(Hold.objects.active().filter(pk__in=wanted).values_list("pk", flat=True))
    if wanted - known:
        raise Refused(_("That hold is not there, or was lifted already."), code="hold", field="lifted")
    return frozenset(known)


def _moved(today: dt.date, texts: Iterable[str]) -> dict[str, dt.date]:
    found = {}
    for text in texts:
        key, _sign, day = text.strip().partition("=")
        if not _KEY.fullmatch(key):
            raise Refused(_("Write a moved bench like bench:7=2027-04-17."), code="moved", field="moved")
        found[key] = _day(day, "moved")
        if not today <= found[key] <= today + FURTHEST:
            raise Refused(_("A bench moves to today or later."), code="moved", field="moved")
    return found


def _day(text: str, field: str) -> dt.date:
    try:
        return dt.date.fromisoformat(text.strip())
    except ValueError:
        raise Refused(_("“%(text)s” is no day.") % {"text": text[:20]}, code=field, field=field) from None
