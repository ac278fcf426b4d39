"""The paper a shed is counted with: what stands there and its drums with their tare, and boxes to write in. Blind."""

from collections import defaultdict
from typing import Any

from django.utils.translation import gettext as _

from coop import printing
from inventory import ledger, stocktakes
from inventory.models import Container, Holding, Item, Place


def pdf(place: Place) -> bytes:
    """The count sheet of a shed as PDF bytes."""
    return printing.pdf("inventory", "count_sheet", data(place))


def data(place: Place) -> dict[str, Any]:
    """What stands on the sheet: never what the book says there is."""
    rows = Holding.objects.filter(place=place, quantity__gt=0).select_related("item__material")
    items = [row.item for row in rows]
    words = stocktakes.blind_words(items)
    items.sort(key=lambda one: (one.kind != Item.Kind.LOT, one.kind, words[one.pk], one.code_id))
    drums = defaultdict(list)
    standing = Container.objects.filter(place=place, emptied_on=None, lot_id__in=[one.pk for one in items])
    for drum in standing.order_by("pk"):
        drums[drum.lot_id].append(drum)
    return {
        "title": _("Count sheet: %(shed)s") % {"shed": place.words},
        "lead": _("Count what you see. Zero if it is not here. Weigh drums as they stand, with their lids."),
        "care": _("Goggles and gloves on where oxalic acid dihydrate stands."),
        "nothing": "" if items else _("By the book the shed is empty. Write below what stands there all the same."),
        "heads": [_("Code"), _("What"), _("Counted"), _("Second look")],
        "things": [_thing(one, words[one.pk], drums[one.pk]) for one in items],
        "else": _("Something else: its code, and how much"),
        "blank": [_("Name"), _("Date and time"), _("Second name")],
    }


def _thing(item: Item, words: str, drums: list[Container]) -> dict[str, Any]:
    unit = "g" if item.unit == "mass" else _("pieces")
    lines = []
    if item.unit == "mass":
        for drum in drums:
            tare = _("no tare known") if drum.tare_mg is None else ledger.amount(drum.tare_mg, item)
            lines.append(_("%(name)s, gross (tare %(tare)s)") % {"name": drum.name, "tare": tare})
        if drums:
            lines.append(_("loose, without its drum"))
    return {"code": item.spaced_code, "words": words, "unit": unit, "lines": lines}
