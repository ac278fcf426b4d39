"""What the shelf comes to: for each material what counts today, what will be drawn, what is on its way, what to buy.

Counted is what lies in sheds, in date, not on hold, and for acid known as the dihydrate, as a bench plan takes it;
what is left out stands beside it with its reason. What will be drawn is asked of the rooms (coop.registry.demands).
A handful of queries for all materials together.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from operator import itemgetter
from typing import NamedTuple

from django.utils.translation import gettext as _

from coop import registry
from inventory import holds
from inventory.models import Holding, Item, Lot, Material, Order, Place
from inventory.science.outlook import EVERY_DAY, Arrival, LotAhead, Projection, Step, Terms, project

#: last season's use counts only in months in which nothing else of a material is wanted
SEASON = "season"
MONTHS_AHEAD = 6
#: an order is worth a word so many days before it is due
DUE_SOON_DAYS = 7


class Demand(NamedTuple):
    """So much of a material will be drawn on a day. A quantity of 0 is one that nobody can tell yet.

    `key` names what wants it ("bench:7", "round:3", "season"), `what` says it in words.
    """

    material_id: int
    day: dt.date
    quantity: int
    what: str
    key: str
    url: str = ""


class LotNow(NamedTuple):
    """So much of a lot in store. `reason` is why it is not counted (hold, quarantine, expired, form) or empty."""

    item_id: int
    code: str
    quantity: int
    best_before: dt.date | None
    reason: str = ""


@dataclass(frozen=True)
class Outlook:
    """One material from today to a day, with all that went into the figures."""

    material: Material
    today: dt.date
    until: dt.date
    terms: Terms
    projection: Projection
    lots: list[LotNow]
    demands: list[Demand]
    orders: list[Order]

    def of(self, reason: str) -> list[LotNow]:
        return [lot for lot in self.lots if lot.reason == reason]

    @property
    def counted(self) -> list[LotNow]:
        return self.of("")

    @property
    def held(self) -> list[LotNow]:
        return self.of("hold")

    @property
    def expired(self) -> list[LotNow]:
        return self.of("expired")

    @property
    def unusable(self) -> list[LotNow]:
        """Acid that is anhydrous, or of an unknown form."""
        return self.of("form")

    @property
    def quarantined(self) -> list[LotNow]:
        return self.of("quarantine")

    @property
    def overdue(self) -> list[Order]:
        """Orders that should be here by now: they are not counted."""
        return [order for order in self.orders if order.expected_on < self.today]

    @property
    def late(self) -> list[Demand]:
        """Benches whose day is past: they are taken as today's."""
        return [one for one in self.demands if one.day < self.today and one.key.startswith("bench:")]

    @property
    def unknown(self) -> list[Demand]:
        """What is asked for without anybody having said what it takes."""
        return [one for one in self.demands if not one.quantity]

    @property
    def has_season(self) -> bool:
        return any(one.key == SEASON for one in self.demands)

    @property
    def is_breached(self) -> bool:
        return self.projection.breached_on is not None

    @property
    def comes_late(self) -> bool:
        """What is on order makes up for it in the end, but only after the safety stock was breached."""
        return self.is_breached and not self.projection.buy

    @property
    def order_by(self) -> dt.date | None:
        """The day to order by, where there is something to buy."""
        return self.projection.order_by if self.projection.buy else None

    @property
    def is_order_now(self) -> bool:
        """The day to order by is today or past."""
        return self.order_by is not None and self.order_by <= self.today

    def is_due_soon(self, day: dt.date) -> bool:
        """Has to be ordered within a week of this day, or should have been."""
        return self.order_by is not None and self.order_by <= day + dt.timedelta(days=DUE_SOON_DAYS)

    @property
    def urgency(self) -> tuple[dt.date, dt.date, dt.date, str]:
        """Sorts what must be looked at first to the front."""
        never = dt.date.max
        found = self.projection
        return (self.order_by or never, found.breached_on or never, found.runs_out_on or never, self.material.name)


def default_until(day: dt.date) -> dt.date:
    """The last day of the sixth month from now: in February, August."""
    return _month_start(day, MONTHS_AHEAD + 1) - dt.timedelta(days=1)


def for_materials(
    day: dt.date,
    materials: Iterable[Material] | None = None,
    *,
    until: dt.date | None = None,
    lifted: Collection[int] = (),
    moved: Mapping[str, dt.date] | None = None,
) -> list[Outlook]:
    """The outlook of every material (or these) from a local day on, by name.

    What if: `lifted` are ids of holds taken as lifted, `moved` gives what has a key another day.
    """
    until = until or default_until(day)
    rows = list(Material.objects.select_related("supplier") if materials is None else materials)
    ids = [material.pk for material in rows]
    lots, orders = _lots(ids, day, lifted), _orders(ids)
    wanted = _demands(day, until, set(ids))
    moved = moved or {}
    return [
        _outlook(material, day, until, lots[material.pk], wanted[material.pk], orders[material.pk], moved)
        for material in rows
    ]


def steps_that_show(found: Outlook) -> list[Step]:
    """The steps that change something: not the lots that were used up before their day."""
    return [step for step in found.projection.steps if step.change]


def _outlook(
    material: Material,
    day: dt.date,
    until: dt.date,
    lots: list[LotNow],
    wanted: list[Demand],
    orders: list[Order],
    moved: Mapping[str, dt.date],
) -> Outlook:
    terms = terms_of(material)
    projection = project(
        day,
        [LotAhead(lot.item_id, lot.quantity, lot.best_before) for lot in lots if not lot.reason],
        [one._replace(day=moved.get(one.key, one.day)) for one in wanted] if moved else wanted,
        [
            Arrival(order.expected_on, order.quantity, _("order arrives"), f"order:{order.pk}")
            for order in orders
            if order.expected_on >= day
        ],
        terms,
        until,
    )
    return Outlook(material, day, until, terms, projection, lots, wanted, orders)


def terms_of(material: Material) -> Terms:
    """Safety stock, pack, and the supplier's lead days and weekdays; no supplier, no day to order by."""
    supplier = material.supplier
    if supplier is None:
        return Terms(material.low_level or 0, None, EVERY_DAY, material.pack_size)
    weekdays = frozenset(int(digit) for digit in supplier.order_weekdays)
    return Terms(material.low_level or 0, supplier.lead_days, weekdays, material.pack_size)


def _lots(materials: list[int], day: dt.date, lifted: Collection[int]) -> dict[int, list[LotNow]]:
    """What is in store of each material by lots, first expiring first, each with why it is not counted."""
    held = holds.held_ids(without=lifted)
    rows = Holding.objects.filter(
        item__kind=Item.Kind.LOT, item__material__in=materials, place__kind__in=Place.IN_STORE, quantity__gt=0
    ).values_list(
        "item__material_id",
        "item_id",
        "item__code_id",
        "quantity",
        "item__best_before",
        "place__kind",
        "item__material__kind",
        "item__lot__form",
    )
    sums: dict[tuple[int, str], int] = defaultdict(int)
    known: dict[int, tuple[int, str, dt.date | None]] = {}
    for material, item, code, quantity, best_before, place, kind, form in rows:
        is_bad_form = kind == Material.Kind.ACID and form != Lot.Form.DIHYDRATE
        reason = _reason(item in held, place, best_before is not None and best_before < day, is_bad_form)
        known[item] = (material, code, best_before)
        sums[item, reason] += quantity
    found: dict[int, list[LotNow]] = defaultdict(list)
    for (item, reason), quantity in sums.items():
        material, code, best_before = known[item]
        found[material].append(LotNow(item, code, quantity, best_before, reason))
    for lots in found.values():
        lots.sort(key=lambda lot: (lot.best_before or dt.date.max, lot.item_id))
    return found


def _reason(is_held: bool, place: str, is_expired: bool, is_bad_form: bool) -> str:
    if is_held:
        return "hold"
    if place == Place.Kind.QUARANTINE:
        return "quarantine"
    if is_expired:
        return "expired"
    return "form" if is_bad_form else ""


def _orders(materials: list[int]) -> dict[int, list[Order]]:
    found: dict[int, list[Order]] = defaultdict(list)
    for order in Order.objects.open().filter(material__in=materials).select_related("supplier"):
        found[order.material_id].append(order)
    return found


def _demands(day: dt.date, until: dt.date, materials: set[int]) -> dict[int, list[Demand]]:
    """What every room wants of each material, in the order of the days for which it was planned."""
    found: dict[int, list[Demand]] = defaultdict(list)
    for name, provider in registry.demands.items():
        if name != SEASON:
            for demand in provider(day, until):
                found[demand.material_id].append(demand)
    last_season = [one for one in registry.demands[SEASON](day, until) if one.material_id in materials]
    busy = {material: _months(found[material], day) for material in {demand.material_id for demand in last_season}}
    for demand in last_season:
        if (demand.day.year, demand.day.month) not in busy[demand.material_id]:
            found[demand.material_id].append(demand)
    for wanted in found.values():
        wanted.sort(key=itemgetter(1))  # the day; a sort in C, for there may be many
    return found


def _months(wanted: list[Demand], today: dt.date) -> set[tuple[int, int]]:
    """The months in which so much is wanted; what is late is wanted now. What nobody can tell leaves last season be."""
    days = {max(day, today) for day in {demand.day for demand in wanted if demand.quantity}}
    return {(day.year, day.month) for day in days}


def _month_start(day: dt.date, months: int) -> dt.date:
    years, month = divmod(day.month - 1 + months, 12)
    return dt.date(day.year + years, month + 1, 1)
