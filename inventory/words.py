"""What the thread and the trace ask about lots: their page, and what they are in few words."""

from collections.abc import Sequence

from django.urls import reverse

from coop import registry
from inventory.models import Item, Lot


@registry.item_pages.register("lot")
def lot_page(item: Item) -> str:
    return reverse("inventory:lot", args=[item.code_id])


@registry.item_words.register("lot")
def lot_words(items: Sequence[Item]) -> dict[int, str]:
    rows = Lot.objects.filter(item__in=[item.pk for item in items])
    return {
        item: f"{material}, {supplier} {their}".strip()
        for item, material, supplier, their in rows.values_list(
            "item_id", "item__material__name", "supplier__name", "supplier_lot"
        )
    }
