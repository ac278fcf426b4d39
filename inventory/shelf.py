"""What is on the shelf, read for pages, letters and the API: by material, by lot, by place; few queries."""

import dataclasses
import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator

from django.db.models import Count, Exists, Min, OuterRef, Q, QuerySet, Sum

from inventory import holds
from inventory.models import Holding, Item, Lot, Material, Place

SOON_DAYS = 60


@dataclasses.dataclass
class Stock:
    """One material in the sheds. Amounts are milligrams or pieces.

    `usable` is neither on hold, nor past its date, nor acid that is not known as the dihydrate (`unusable`).
    """

    material: Material
    on_hand: int = 0
    held: int = 0
    expired: int = 0
    unusable: int = 0
    lots: int = 0
    next_expiry: dt.date | None = None

    @property
    def usable(self) -> int:
        return self.on_hand - self.held - self.expired - self.unusable

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
    here = Holding.objects.some().filter(place__kind=Place.Kind.SHED)
    if materials is not None:
        here = here.filter(item__material__in=list(found))
    held = holds.held_ids()
    for part, is_held in ((here.exclude(item__in=held), False), (here.filter(item__in=held), True)):
        for material, amount, lots, expired, unusable, next_expiry in _sums(part, day) if held or not is_held else ():
            row = found.get(material)
            if row is None:
                continue  # new since the list was read
            row.on_hand += amount
            row.lots += lots
            row.held += amount if is_held else 0
            row.expired += 0 if is_held else expired
            row.unusable += 0 if is_held else unusable
            row.next_expiry = row.next_expiry if is_held else next_expiry
    return list(found.values())


def _sums(holdings: "QuerySet[Holding]", day: dt.date) -> Iterator[tuple[int, int, int, int, int, dt.date | None]]:
    """By material: how much, of how many lots; of it past its date, in date but of no usable form; the next date."""
    lots = Q(item__kind=Item.Kind.LOT)
    in_date = Q(item__best_before__isnull=True) | Q(item__best_before__gte=day)
    rows = (
        holdings.order_by()
        .values("item__material")
        .annotate(
            amount=Sum("quantity", filter=lots),
            lots=Count("item", filter=lots, distinct=True),
            expired=Sum("quantity", filter=lots & Q(item__best_before__lt=day)),
            unusable=Sum("quantity", filter=lots & in_date & Q(item__lot__form__in=Lot.UNUSABLE)),
            next_expiry=Min("item__best_before", filter=lots & Q(item__best_before__gte=day)),
        )
    )
    for row in rows:
        if row["amount"]:
            amount, expired, unusable = (int(row[name] or 0) for name in ("amount", "expired", "unusable"))
            yield row["item__material"], amount, row["lots"], expired, unusable, row["next_expiry"]


def lots_of(material: Material, day: dt.date, everything: bool = False) -> list[LotStock]:
    """The lots of a material that are somewhere in store, first expiring first; `everything`: used up ones too."""
    rows = Item.objects.lots().of(material).select_related("lot__supplier", "material").first_expiring()
    if not everything:
        rows = rows.filter(Exists(Holding.objects.some().filter(item=OuterRef("pk"), place__kind__in=Place.IN_STORE)))
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
