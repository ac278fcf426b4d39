"""Codes of the club: seven drawn characters and an ISO/IEC 7064 MOD 37,36 check character.

The alphabet has no look-alikes (0 O Q, 1 I L, 2 Z, 5 S, 8 B, U V as one) and no vowels. A code tells
nothing about number or date. It is read in two groups of four; spaces, hyphens and case do not matter.
"""

import re
import secrets

from django.utils import timezone
from django.utils.translation import gettext as _
from stdnum.exceptions import ValidationError as CheckError
from stdnum.iso7064 import mod_37_36

from coop.models import Code
from coop.refusals import Refused

ALPHABET = "34679CDFHJKMNPRTVWXY"
LENGTH = 8


def draw() -> str:
    """A random code text; drawn again while its check character falls outside the alphabet."""
    while True:
        body = "".join(secrets.choice(ALPHABET) for _position in range(LENGTH - 1))
        check = mod_37_36.calc_check_digit(body)
        if check in ALPHABET:
            return body + check


def new_code(printed: bool = False) -> Code:
    """A fresh row in the table of codes; call inside a command."""
    while True:
        code, is_new = Code.objects.get_or_create(
            text=draw(), defaults={"printed_at": timezone.now() if printed else None}
        )
        if is_new:
            return code


def new_codes(count: int) -> list[str]:
    """So many fresh codes in few statements; call inside a command."""
    found: list[str] = []
    while len(found) < count:
        drawn = {draw() for _number in range(count - len(found))} - set(found)
        for start in range(0, len(drawn), 500):
            some = sorted(drawn)[start : start + 500]
            fresh = sorted(set(some) - set(Code.objects.filter(text__in=some).values_list("text", flat=True)))
            Code.objects.bulk_create([Code(text=text) for text in fresh])
            found += fresh
    return found


def tidy(text: str) -> str:
    """Upper case without spaces and hyphens, nothing checked."""
    return re.sub(r"[\s\-\u2010-\u2015.]", "", text).upper()


def is_valid(text: str) -> bool:
    code = tidy(text)
    return len(code) == LENGTH and set(code) <= set(ALPHABET) and _check_fits(code)


def check(text: str) -> str:
    """The canonical eight characters, or Refused with a sentence that helps."""
    code = tidy(text)
    if len(code) != LENGTH:
        raise Refused(
            _("“%(text)s” is not a code: a code has 8 characters, such as KXJV 3Y4X.") % {"text": text[:40]},
            code="code",
        )
    if not is_valid(code):
        near = near_codes(code)
        hint = _("Did you mean %(near)s?") % {"near": ", ".join(spaced(one) for one in near)} if near else ""
        raise Refused(
            (
                _("“%(text)s” was misread: its check character does not fit.") % {"text": spaced(code)} + " " + hint
            ).strip(),
            code="code",
        )
    return code


def near_codes(text: str, most: int = 5) -> list[str]:
    """Known codes that differ from a misread text in one place or by one swap of neighbours."""
    code = tidy(text)
    if len(code) != LENGTH:
        return []
    close = {code[:i] + letter + code[i + 1 :] for i in range(LENGTH) for letter in ALPHABET}
    close |= {code[:i] + code[i + 1] + code[i] + code[i + 2 :] for i in range(LENGTH - 1)}
    valid = [one for one in close if is_valid(one)]
    return list(Code.objects.filter(text__in=valid).order_by("text").values_list("text", flat=True)[:most])


def spaced(code: str) -> str:
    """Two groups of four, as it stands on the label."""
    return f"{code[:4]} {code[4:]}"


def _check_fits(code: str) -> bool:
    try:
        mod_37_36.validate(code)
    except CheckError:
        return False
    return True
