"""What is on the shelf, read for pages, letters and the API: by material, by lot, by place; few queries."""

import dataclasses
import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterable

from inventory import holds
from inventory.models import Holding, Item, Lot, Material, Place

SOON_DAYS = 60


@dataclasses.dataclass
class Stock:
    """One material in the sheds. Amounts are milligrams or pieces; `usable` is neither on hold nor past its date."""

    material: Material
    on_hand: int = 0
    held: int = 0
    expired: int = 0
    lots: int = 0
    next_expiry: dt.date | None = None

    @property
    def usable(self) -> int:
        return self.on_hand - self.held - self.expired

    @property
    def is_low(self) -> bool:
        return self.material.low_level is not None and self.usable < self.material.low_level


@dataclasses.dataclass
class LotStock:
    """One lot with what of it is where, and whether it may be used."""

    item: Item
    lot: Lot
    on_hand: int
    elsewhere: int
    is_held: bool
    is_expired: bool
    is_soon: bool
    places: list[tuple[Place, int]]


def stock(day: dt.date, materials: Iterable[Material] | None = None) -> list[Stock]:
    """Every material (or these) with what of it is usable on a local day, by name."""
    rows = Material.objects.select_related("supplier") if materials is None else materials
    found = {material.pk: Stock(material) for material in rows}
    in_sheds = Holding.objects.filter(
        item__kind=Item.Kind.LOT, item__material__in=list(found), place__kind=Place.Kind.SHED, quantity__gt=0
    ).values_list("item_id", "item__material_id", "item__best_before", "quantity")
    held, seen = holds.held_ids(), set()
    for item, material, best_before, quantity in in_sheds:
        row = found[material]
        row.on_hand += quantity
        row.lots += item not in seen
        seen.add(item)
        if item in held:
            row.held += quantity
        elif best_before is not None and best_before < day:
            row.expired += quantity
        elif best_before is not None:
            row.next_expiry = min(best_before, row.next_expiry or best_before)
    return list(found.values())


def lots_of(material: Material, day: dt.date, everything: bool = False) -> list[LotStock]:
    """The lots of a material that are somewhere in store, first expiring first; `everything`: used up ones too."""
    rows = Item.objects.lots().of(material).select_related("lot__supplier", "material").first_expiring()
    places = where({row.pk for row in rows}, Place.IN_STORE)
    held = holds.held_ids()
    found = []
    for item in rows:
        here = places.get(item.pk, [])
        if not here and not everything:
            continue
        found.append(lot_stock(item, here, held, day))
    return found


def lot_stock(item: Item, here: list[tuple[Place, int]], held: Collection[int], day: dt.date) -> LotStock:
    in_sheds = sum(quantity for place, quantity in here if place.kind == Place.Kind.SHED)
    days = (item.best_before - day).days if item.best_before else None
    return LotStock(
        item=item,
        lot=item.lot,
        on_hand=in_sheds,
        elsewhere=sum(quantity for _place, quantity in here) - in_sheds,
        is_held=item.pk in held,
        is_expired=days is not None and days < 0,
        is_soon=days is not None and 0 <= days <= SOON_DAYS,
        places=here,
    )


def where(items: Collection[int], kinds: Collection[str] = ()) -> dict[int, list[tuple[Place, int]]]:
    """For each item, the real places (of these kinds) that hold some of it, and how much; most first."""
    rows = Holding.objects.filter(item_id__in=items, quantity__gt=0).select_related("place__person", "place__item")
    if kinds:
        rows = rows.filter(place__kind__in=kinds)
    found: dict[int, list[tuple[Place, int]]] = defaultdict(list)
    for row in rows.order_by("-quantity", "pk"):
        found[row.item_id].append((row.place, row.quantity))
    return dict(found)
