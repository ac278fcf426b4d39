"""From what somebody typed, pasted or scanned to a thing in the book, or to what they may have meant."""

import dataclasses

from django.utils.translation import gettext as _

from coop import codes, wording
from inventory.models import Item


@dataclasses.dataclass(frozen=True)
class Found:
    """Either the item, or a sentence and known codes that are close to what was typed."""

    item: Item | None = None
    sentence: str = ""
    near: tuple[str, ...] = ()


def find(text: str) -> Found:
    """Reads a code with spaces, hyphens, small letters, or as the end of an address. Never raises."""
    code = codes.tidy(text.strip().rstrip("/").rsplit("/", 1)[-1])[:40]
    if not code:
        return Found(sentence=_("Type the code from the label: eight characters, such as KXJV 3Y4X."))
    item = Item.objects.select_related("material", "lot__supplier").filter(code=code).first()
    if item is not None:
        return Found(item)
    near = tuple(Item.objects.filter(code__in=codes.near_codes(code)).values_list("code", flat=True))
    if len(code) != codes.LENGTH:
        return Found(sentence=_("“%(text)s” is not a code: a code has eight characters.") % {"text": text.strip()[:40]})
    shown = wording.code(code)
    if codes.is_valid(code):
        return Found(sentence=_("Nothing in the book has the code %(code)s.") % {"code": shown}, near=near)
    return Found(sentence=_("%(code)s was misread: its check character does not fit.") % {"code": shown}, near=near)
