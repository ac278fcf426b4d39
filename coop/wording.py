"""The one place where figures, units, dates and spans become words for people.

Stored integers go in (milligrams, milli-degrees, cents, parts per 10^9), text comes out: digits grouped and the
unit set off by a narrow no-break space, a point before decimals, a true minus sign. Dates and times are read in
the active time zone, which the middleware sets to the club's. `None` always gives an en dash.
"""

import datetime as dt
from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import Any

from django.conf import settings
from django.utils import dateformat, timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

NARROW = "\u202f"  # narrow no-break space: between digit groups and before a unit
MINUS = "\u2212"
NOTHING = "\u2013"

Number = int | float | Decimal


def figure(value: Number, places: int | None = None, *, sign: bool = False) -> str:
    """A number with grouped digits. `places` None shows what is there, without trailing zeros; halves round up."""
    number = Decimal(str(value)) if isinstance(value, float) else Decimal(value)
    if places is not None:
        number = number.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)
    text = f"{abs(number):f}"
    whole, _point, rest = text.partition(".")
    if places is None:
        rest = rest.rstrip("0")
    groups = f"{int(whole):,}".replace(",", NARROW)
    body = f"{groups}.{rest}" if rest else groups
    if number < 0:
        return MINUS + body
    return f"+{body}" if sign and number > 0 else body


def with_unit(value: Number | None, unit: str, places: int | None = None, *, sign: bool = False) -> str:
    """A figure with its unit; a figure that is not known is a dash."""
    if value is None:
        return NOTHING
    return f"{figure(value, places, sign=sign)}{NARROW}{unit}"


def mass_g(mass_mg: int | None, places: int | None = None, *, sign: bool = False) -> str:
    """Milligrams as grams: 1944000 gives "1 944 g"."""
    return with_unit(None if mass_mg is None else Decimal(mass_mg) / 1000, "g", places, sign=sign)


def places_of(division_mg: int) -> int:
    """How many decimals of a gram a scale of this division can tell: 1000 mg gives 0, 100 gives 1, 50 gives 2."""
    places = 0
    while places < 3 and division_mg % 10 ** (3 - places):
        places += 1
    return places


def temp(temp_mc: int | None, places: int | None = None, *, sign: bool = False) -> str:
    """Milli-degrees as degrees Celsius: 50300 gives "50.3 °C"."""
    return with_unit(None if temp_mc is None else Decimal(temp_mc) / 1000, "°C", places, sign=sign)


def fraction(w_ppb: int | None, places: int = 4) -> str:
    """A mass fraction of oxalic acid dihydrate, parts per 10^9: 375000000 gives "0.3750"."""
    return NOTHING if w_ppb is None else figure(Decimal(w_ppb) / 10**9, places)


def percent(part: Number | None, whole: Number = 1, places: int = 1, *, sign: bool = False) -> str:
    """`part` of `whole` in per cent; nothing of nothing is a dash."""
    if part is None or not whole:
        return NOTHING
    return with_unit(Decimal(str(part)) * 100 / Decimal(str(whole)), "%", places, sign=sign)


def money(cents: Number | None, currency: str | None = None, places: int = 2) -> str:
    """Cents with the currency's ISO 4217 letters: 1250 gives "12.50 EUR"; a unit cost takes 4 places."""
    unit = currency if currency is not None else getattr(settings, "COOP_CURRENCY", "EUR")
    return with_unit(None if cents is None else Decimal(cents) / 100, unit, places)


def cost(micro_cents: int | Fraction | None, currency: str | None = None, places: int = 2) -> str:
    """Micro-cents, as cost follows the matter, rounded for the eye only; a unit cost takes 4 places."""
    if micro_cents is None:
        return NOTHING
    exact = Fraction(micro_cents)
    return money(Decimal(exact.numerator) / exact.denominator / 10**6, currency, places)


def counted(count: int | None, noun: str = "strip") -> str:
    """A number of things of the trade: counted(1, "hive") gives "1 hive"."""
    if count is None:
        return NOTHING
    return f"{figure(count)} {_noun(count, noun)}"


def _noun(count: int, noun: str) -> str:
    """The word for so many of a thing. Each is written out so that it can be translated."""
    words = {
        "strip": ngettext("strip", "strips", count),
        "hive": ngettext("hive", "hives", count),
        "hive dose": ngettext("hive dose", "hive doses", count),
        "bag": ngettext("bag", "bags", count),
        "lot": ngettext("lot", "lots", count),
        "pack": ngettext("pack", "packs", count),
        "member": ngettext("member", "members", count),
        "person": ngettext("person", "people", count),
        "apiary": ngettext("apiary", "apiaries", count),
        "batch": ngettext("batch", "batches", count),
        "check": ngettext("check", "checks", count),
        "day": ngettext("day", "days", count),
        "row": ngettext("row", "rows", count),
        "piece": ngettext("piece", "pieces", count),
        "thing": ngettext("thing", "things", count),
    }
    return words[noun]


def amount(mass_mg: int | None, pieces: int | None, noun: str = "strip") -> str:
    """What is there, by whichever unit it has: "1 950 g", "102 strips", or another noun."""
    return counted(pieces, noun) if mass_mg is None else mass_g(mass_mg)


def code(text: str) -> str:
    """A code in its two groups, which never part at the end of a line."""
    return f"{text[:4]}\u00a0{text[4:]}"


def day(date: dt.date | None, today: dt.date | None = None) -> str:
    """ "Sat 6 Jun", with the year when it is not this one."""
    if date is None:
        return NOTHING
    date = _local_day(date)
    this_year = (today or timezone.localdate()).year
    return dateformat.format(date, "D j M" if date.year == this_year else "D j M Y")


def full_day(date: dt.date | None) -> str:
    """ "6 Jun 2027", for paper that is read in another year."""
    return NOTHING if date is None else dateformat.format(_local_day(date), "j M Y")


def long_day(date: dt.date) -> str:
    """ "Mon 22 March", for the head of a page."""
    return dateformat.format(_local_day(date), "D j F")


def clock(moment: dt.datetime | None) -> str:
    """ "18:00" in the active zone."""
    return NOTHING if moment is None else dateformat.format(_local(moment), "H:i")


def moment(value: dt.datetime | None, now: dt.datetime | None = None) -> str:
    """ "today 09:12" or "Wed 24 Mar 18:00"; the year when it is not this one."""
    if value is None:
        return NOTHING
    local, here = _local(value), _local(now or timezone.now())
    if local.date() == here.date():
        return _("today %(clock)s") % {"clock": clock(local)}
    return f"{day(local.date(), here.date())} {clock(local)}"


def span(length: dt.timedelta | Number | None) -> str:
    """A duration (seconds, if a number): "24 min", "47 h 50 min", from two days on "2 days 4 h"."""
    if length is None:
        return NOTHING
    seconds = int(length.total_seconds() if isinstance(length, dt.timedelta) else length)
    if seconds < 0:
        return MINUS + span(-seconds)
    if seconds < 60:
        return with_unit(seconds, "s")
    minutes = seconds // 60
    if minutes < 60:
        return with_unit(minutes, "min")
    hours, minutes = divmod(minutes, 60)
    if hours < 48:
        return _two(with_unit(hours, "h"), with_unit(minutes, "min") if minutes else "")
    days, hours = divmod(hours, 24)
    return _two(counted(days, "day"), with_unit(hours, "h") if hours and days < 14 else "")


def away(date: dt.date, today: dt.date | None = None) -> str:
    """How far a day is from today: "in 5 days", "tomorrow", "today", "6 days ago"."""
    days = (_local_day(date) - (today or timezone.localdate())).days
    if days == 0:
        return _("today")
    if days == 1:
        return _("tomorrow")
    if days > 0:
        return _("in %(days)s") % {"days": counted(days, "day")}
    if days == -1:
        return _("yesterday")
    return _("%(days)s ago") % {"days": counted(-days, "day")}


def spelled(count: int) -> str:
    """Small numbers as words, as a sentence begins: "Five"."""
    words = [
        _("No"), _("One"), _("Two"), _("Three"), _("Four"), _("Five"), _("Six"),
        _("Seven"), _("Eight"), _("Nine"), _("Ten"), _("Eleven"), _("Twelve"),
    ]  # fmt: skip
    return words[count] if 0 <= count < len(words) else figure(count)


def listed(words: Iterable[Any]) -> str:
    """ "one, two and three"."""
    texts = [str(word) for word in words]
    if len(texts) < 2:
        return "".join(texts)
    return _("%(first)s and %(last)s") % {"first": ", ".join(texts[:-1]), "last": texts[-1]}


def _two(large: str, small: str) -> str:
    return f"{large} {small}".strip()


def _local(value: dt.datetime) -> dt.datetime:
    return timezone.localtime(value) if timezone.is_aware(value) else value


def _local_day(value: dt.date) -> dt.date:
    return _local(value).date() if isinstance(value, dt.datetime) else value
