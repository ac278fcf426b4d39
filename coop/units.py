"""Units at the border: what people type becomes integers, and a wrong unit gets a sentence.

Mass is milligrams, temperature milli-degrees Celsius, strips pieces, money cents (cost micro-cents), a mass fraction
parts per 10^9 of oxalic acid dihydrate. Comma and point are both accepted.
"""

import re
from decimal import Decimal, InvalidOperation

from django.utils.translation import gettext as _

MG_PER_G = 1_000
PPB = 1_000_000_000
MICRO = 1_000_000
#: years that a moment may be in; outside them a zone's clock runs off the calendar
FIRST_YEAR, LAST_YEAR = 1900, 9000
BIGGEST = 2**63 - 1
_MASS_UNITS = {"mg": 1, "g": 1_000, "kg": 1_000_000}


class BadUnit(ValueError):
    """What was typed cannot be read; the message is a sentence for the person who typed it."""


def number(text: object) -> Decimal:
    """A finite decimal number. Spaces group digits; a comma or a point is the decimal sign, never both."""
    plain = re.sub(r"[\s\u00a0\u202f\u2009']", "", str(text)).replace("\u2212", "-")
    if "," in plain and "." in plain:
        raise BadUnit(_("“%(text)s” has a comma and a point. Use one of them, for the decimals only.") % {"text": text})
    if plain.count(",") > 1 or plain.count(".") > 1:
        raise BadUnit(_("“%(text)s” has more than one decimal sign.") % {"text": text})
    try:
        value = Decimal(plain.replace(",", "."))
    except InvalidOperation:
        raise BadUnit(_("“%(text)s” is not a number. Write it like 12,5 or 12.5.") % {"text": str(text)[:40]}) from None
    if not value.is_finite() or abs(value) >= Decimal(10) ** 15:
        raise BadUnit(_("“%(text)s” is not a number that fits here.") % {"text": str(text)[:40]})
    return value


def scaled(text: object, factor: int, places: str) -> int:
    """A number times factor as an integer; finer digits than can be kept are refused, not rounded away."""
    value = number(text) * factor
    whole = value.to_integral_value()
    if whole != value:
        raise BadUnit(_("“%(text)s” is finer than is kept here: %(places)s.") % {"text": text, "places": places})
    return int(whole)


def mass_mg(text: object, unit: str = "g") -> int:
    """“1 807”, “1807,2”, “1.5 kg” to milligrams. Without a unit grams are meant."""
    found = re.fullmatch(r"\s*(.*?)\s*(mg|kg|g)?\s*", str(text), re.IGNORECASE | re.DOTALL)
    assert found is not None
    factor = _MASS_UNITS[(found[2] or unit).lower()]
    return scaled(found[1], factor, _("whole milligrams"))


def temp_mc(text: object) -> int:
    """Degrees Celsius to milli-degrees."""
    plain = re.sub(r"\s*(°\s*C|degC|C)\s*$", "", str(text).strip(), flags=re.IGNORECASE)
    return scaled(plain, 1_000, _("thousandths of a degree"))


def pieces(text: object) -> int:
    value = number(text)
    if value != value.to_integral_value():
        raise BadUnit(_("“%(text)s” is not a whole number of pieces.") % {"text": text})
    return int(value)


def cents(text: object) -> int:
    return scaled(text, 100, _("whole cents"))


def fraction_ppb(text: object) -> int:
    """“0.375” or “37,5 %” to parts per 10^9."""
    plain = str(text).strip()
    if plain.endswith("%"):
        return scaled(plain[:-1], PPB // 100, _("9 decimals"))
    return scaled(plain, PPB, _("9 decimals"))
