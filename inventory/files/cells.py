"""What one cell means: units, days, yes and no. Every function takes text and returns a value or raises BadUnit."""

import datetime as dt
import re

from django.utils.translation import gettext as _

from coop import units
from coop.units import BadUnit
from inventory.models import Lot, Material

#: no single amount is larger: 1 000 tonnes, or as many pieces
MOST = 10**15
_PIECES = ("pieces", "piece", "pcs", "pc", "strips", "strip", "blanks")
_YES = ("yes", "y", "x", "1", "true", "ja", "oui", "si", "sí")
_NO = ("no", "n", "0", "false", "nein", "non", "-")


def amount(text: str, unit: str) -> int:
    """Milligrams or pieces, as the material is counted; a word of the other unit is refused."""
    plain = re.sub(r"[\u00a0\u202f\u2009]", " ", text).strip()
    word = re.sub(r"^[\d\s.,'\u2212+eE-]+", "", plain).casefold()
    if unit == "mass":
        if word in _PIECES:
            raise BadUnit(_("“%(text)s”: this is weighed, in g or kg.") % {"text": text[:40]})
        found = units.mass_mg(plain)
    else:
        if word in ("g", "kg", "mg"):
            raise BadUnit(_("“%(text)s”: this is counted, in pieces.") % {"text": text[:40]})
        found = units.pieces(plain[: len(plain) - len(word)] if word in _PIECES else plain)
    return within(found, text)


def within(value: int, text: str) -> int:
    if value < 0:
        raise BadUnit(_("“%(text)s” is less than nothing.") % {"text": text[:40]})
    if value > MOST:
        raise BadUnit(_("“%(text)s” is not a number that fits here.") % {"text": text[:40]})
    return value


def above_nothing(text: str, unit: str) -> int:
    value = amount(text, unit)
    if value == 0:
        raise BadUnit(_("“%(text)s”: more than nothing is meant here, or an empty cell.") % {"text": text[:40]})
    return value


def money(text: str) -> int:
    plain = re.sub(r"[A-Z]{3}$|[€£$]", "", text.strip()).strip()
    return within(units.cents(plain), text)


def count(text: str, most: int) -> int:
    value = units.pieces(text)
    if not 0 <= value <= most:
        raise BadUnit(_("“%(text)s” is not between 0 and %(most)d.") % {"text": text[:40], "most": most})
    return value


def assay(text: str) -> int:
    value = units.fraction_ppb(text)
    if not 0 < value <= 1_500_000_000:
        raise BadUnit(_("An assay is a mass fraction as dihydrate, such as 0.996 or 99.6 %."))
    return value


def yes(text: str) -> bool:
    plain = text.strip().casefold()
    if plain in _YES:
        return True
    if plain in _NO:
        return False
    raise BadUnit(_("“%(text)s”: write yes or no.") % {"text": text[:40]})


def day(text: str) -> dt.date:
    """ISO, or day.month.year. With slashes the order must be plain from the figures."""
    plain = text.strip()
    iso = re.fullmatch(r"(\d{4})-(\d{1,2})-(\d{1,2})([T ].*)?", plain, re.ASCII)
    if iso:
        return _date(text, int(iso[1]), int(iso[2]), int(iso[3]))
    dots = re.fullmatch(r"(\d{1,2})\.\s*(\d{1,2})\.\s*(\d{4})", plain, re.ASCII)
    if dots:
        return _date(text, int(dots[3]), int(dots[2]), int(dots[1]))
    slashes = re.fullmatch(r"(\d{1,2})/(\d{1,2})/(\d{4})", plain, re.ASCII)
    if slashes:
        one, other, year = (int(part) for part in slashes.groups())
        if one != other and one <= 12 and other <= 12:
            raise BadUnit(
                _("“%(text)s” can be two days. Write it as %(iso)s or %(other)s.")
                % {"text": plain, "iso": f"{year}-{other:02}-{one:02}", "other": f"{year}-{one:02}-{other:02}"}
            )
        return _date(text, year, *((one, other) if other > 12 else (other, one)))
    raise BadUnit(_("“%(text)s” is not a day. Write it as 2027-03-15 or 15.3.2027.") % {"text": text[:40]})


def _date(text: str, year: int, month: int, day: int) -> dt.date:
    try:
        found = dt.date(year, month, day)
    except ValueError:
        raise BadUnit(_("“%(text)s”: there is no such day.") % {"text": text[:40]}) from None
    if not units.FIRST_YEAR <= year <= units.LAST_YEAR:
        raise BadUnit(_("“%(text)s”: the year is not likely.") % {"text": text[:40]})
    return found


_KINDS = {
    "oxalic acid dihydrate": Material.Kind.ACID,
    "oxalic acid": Material.Kind.ACID,
    "acid": Material.Kind.ACID,
    "glycerine": Material.Kind.GLYCERINE,
    "glycerol": Material.Kind.GLYCERINE,
    "glycerin": Material.Kind.GLYCERINE,
    "strip blanks": Material.Kind.STRIP,
    "strip blank": Material.Kind.STRIP,
    "strips": Material.Kind.STRIP,
    "strip": Material.Kind.STRIP,
    "other": Material.Kind.OTHER,
}
#: as our own files write them
KIND_WORDS = {
    Material.Kind.ACID: "oxalic acid dihydrate",
    Material.Kind.GLYCERINE: "glycerine",
    Material.Kind.STRIP: "strip blanks",
    Material.Kind.OTHER: "other",
}


def kind(text: str) -> str:
    found = _KINDS.get(" ".join(text.casefold().split()))
    if found is None:
        raise BadUnit(
            _("“%(text)s” is no kind. Write oxalic acid dihydrate, glycerine, strip blanks or other.")
            % {"text": text[:40]}
        )
    return str(found)


def unit(text: str) -> str:
    plain = text.strip().casefold()
    if plain in ("g", "gram", "grams", "kg", "mass"):
        return "mass"
    if plain in _PIECES:
        return "pieces"
    raise BadUnit(_("“%(text)s”: a material is counted in grams or in pieces.") % {"text": text[:40]})


def form(text: str) -> str:
    plain = text.strip().casefold()
    known = {"does not apply": "none", "-": "none", **{str(value): str(value) for value in Lot.Form.values}}
    if plain not in known:
        raise BadUnit(_("“%(text)s” is no form. Write dihydrate, anhydrous or unknown.") % {"text": text[:40]})
    return known[plain]


def weekdays(text: str) -> str:
    """“12345”, “1, 3” or “1-5”: ISO weekdays."""
    plain = re.sub(r"[\s,.;]", "", text)
    span = re.fullmatch(r"([1-7])[-\u2013]([1-7])", plain)
    if span and span[1] <= span[2]:
        plain = "".join(str(one) for one in range(int(span[1]), int(span[2]) + 1))
    if not plain or not set(plain) <= set("1234567"):
        raise BadUnit(_("“%(text)s”: write weekdays as figures, 1 is Monday, such as 12345.") % {"text": text[:40]})
    return "".join(sorted(set(plain)))


def text_of(text: str, most: int) -> str:
    if len(text) > most:
        raise BadUnit(_("“%(text)s…” is longer than %(most)d characters.") % {"text": text[:20], "most": most})
    return text


def name(text: str) -> str:
    return text_of(" ".join(text.split()), 120)


def email(text: str) -> str:
    if not re.fullmatch(r"[^@\s]{1,64}@[^@\s]+\.[^@\s.]+", text) or len(text) > 254:
        raise BadUnit(_("“%(text)s” is not an e-mail address.") % {"text": text[:40]})
    return text
