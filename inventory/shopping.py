"""The shopping list: what the outlook says to buy, by supplier, with what it will likely cost.

The expected price is the one paid last, by unit: to that supplier if anything was ever paid to them for it, else to
anybody. Gifts and lots without a price tell nothing.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from math import floor
from typing import NamedTuple

from django.db.models import F, Window
from django.db.models.functions import RowNumber

from coop.models import the_club
from inventory import outlook
from inventory.models import Lot, Material, Order, Supplier
from inventory.outlook import Outlook


class Paid(NamedTuple):
    """What was paid last for a whole lot of so much, on which local day; cents, and milligrams or pieces."""

    cents: int
    quantity: int
    day: dt.date
    code: str

    @property
    def each(self) -> Fraction:
        """Cents for one milligram or piece."""
        return Fraction(self.cents, self.quantity)


@dataclass(frozen=True)
class Line:
    """One material to buy."""

    outlook: Outlook
    paid: Paid | None

    @property
    def material(self) -> Material:
        return self.outlook.material

    @property
    def supplier(self) -> Supplier | None:
        return self.material.supplier

    @property
    def quantity(self) -> int:
        """Whole packs where a pack size is known: milligrams or pieces."""
        return self.outlook.projection.buy

    @property
    def packs(self) -> int | None:
        return self.outlook.projection.packs

    @property
    def order_by(self) -> dt.date | None:
        return self.outlook.order_by

    @property
    def is_now(self) -> bool:
        return self.outlook.is_order_now

    @property
    def on_order(self) -> list[Order]:
        return self.outlook.orders

    @property
    def cents(self) -> int | None:
        """What it will likely cost, rounded to cents; None where nothing was ever paid for it."""
        return None if self.paid is None else floor(self.paid.each * self.quantity + Fraction(1, 2))


@dataclass(frozen=True)
class Basket:
    """What is to be bought from one supplier; None stands for no supplier set."""

    supplier: Supplier | None
    lines: list[Line]

    @property
    def cents(self) -> int:
        """The sum of what has an expected price."""
        return sum(line.cents or 0 for line in self.lines)

    @property
    def without_price(self) -> int:
        return sum(line.cents is None for line in self.lines)

    @property
    def order_by(self) -> dt.date | None:
        return min((line.order_by for line in self.lines if line.order_by is not None), default=None)


@dataclass(frozen=True)
class ShoppingList:
    today: dt.date
    until: dt.date
    baskets: list[Basket]

    @property
    def lines(self) -> list[Line]:
        return [line for basket in self.baskets for line in basket.lines]

    @property
    def cents(self) -> int:
        return sum(basket.cents for basket in self.baskets)

    @property
    def without_price(self) -> int:
        return sum(basket.without_price for basket in self.baskets)


def shopping_list(day: dt.date, until: dt.date | None = None) -> ShoppingList:
    """Every material that will be short by the end, by supplier, the most urgent first; no supplier comes last."""
    until = until or outlook.default_until(day)
    found = [one for one in outlook.for_materials(day, until=until) if one.projection.buy]
    found.sort(key=lambda one: one.urgency)
    prices = last_paid(one.material for one in found)
    by_supplier: dict[int | None, list[Line]] = defaultdict(list)
    for one in found:
        by_supplier[one.material.supplier_id].append(Line(one, prices.get(one.material.pk)))
    baskets = [Basket(lines[0].supplier, lines) for lines in by_supplier.values()]
    baskets.sort(key=lambda basket: (basket.supplier is None, basket.order_by or dt.date.max, str(basket.supplier)))
    return ShoppingList(day, until, baskets)


def last_paid(materials: Iterable[Material]) -> dict[int, Paid]:
    """What was paid last for each material, from its usual supplier if there is such a lot. One query."""
    usual = {material.pk: material.supplier_id for material in materials}
    if not usual:
        return {}
    club = the_club()
    latest = Window(
        RowNumber(),
        partition_by=[F("item__material_id"), F("supplier_id")],
        order_by=[F("item__made_at").desc(), F("pk").desc()],
    )
    rows = (
        Lot.objects.filter(item__material__in=list(usual), price_cents__gt=0, received_quantity__gt=0)
        .annotate(place=latest)
        .filter(place=1)
        .values_list(
            "item__material_id", "supplier_id", "item__made_at", "price_cents", "received_quantity", "item__code_id"
        )
    )
    found: dict[int, tuple[bool, dt.datetime, Paid]] = {}
    for material, supplier, made_at, cents, quantity, code in rows:
        if material is None:
            continue
        one = (supplier == usual[material], made_at, Paid(cents, quantity, club.day_of(made_at), code))
        found[material] = max(found.get(material, one), one, key=lambda paid: paid[:2])
    return {material: paid for material, (_is_usual, _at, paid) in found.items()}
