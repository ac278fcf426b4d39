"""With what a material last fell below its level: a movement, a hold, a lot that expired, or one of another form.

Read backwards from now until what could be used was above 1.2 times the level: dipping below again without having been
above that is the same crossing, and is told once. A lot has nothing above it, so only holds that begin at it reach it.
"""

import datetime as dt
import heapq
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from coop.models import Deed, the_club
from inventory.models import Amendment, Freed, Holding, HoldSeed, Item, Lot, Movement, Place
from inventory.shelf import Stock

REARM = (6, 5)
CHUNK = 200


@dataclass(frozen=True)
class Crossing:
    """`key` names what crossed: the movement's id, "hold-7", "freed-7", "expired-7", "form-7"; `at` is when it did."""

    key: str
    at: dt.datetime
    movement: Movement | None = None


class _Event(NamedTuple):
    """Something that changed what can be used; `order` puts events of one moment as they were recorded."""

    order: tuple[dt.datetime, int, int]
    key: str
    item: int
    movement: Movement | None = None
    #: 1 where a reason not to count the lot begins, -1 where one ends
    closes: int = 0


def crossing(row: Stock, day: dt.date) -> Crossing | None:
    """What crossed last, or None if the material stands above its level, or never had anything."""
    level = row.material.low_level
    if level is None or not row.is_low:
        return None
    lots = _Lots(row, day)
    crossed = None
    for event in heapq.merge(*lots.events(), key=lambda event: event.order, reverse=True):
        after = lots.usable
        lots.undo(event)
        if lots.usable == after:
            continue
        if after < level:
            crossed = Crossing(event.key, event.order[0], event.movement)
        if lots.usable * REARM[1] > level * REARM[0]:
            break
    return crossed


class _Lots:
    """How much of each lot is in sheds and how many reasons there are not to count it, taken back step by step."""

    def __init__(self, row: Stock, day: dt.date) -> None:
        self.material, self.club = row.material, the_club()
        here = Holding.objects.filter(
            item__kind=Item.Kind.LOT, item__material=self.material, place__kind=Place.Kind.SHED, quantity__gt=0
        )
        self.there: dict[int, int] = defaultdict(int)
        for item, quantity in here.values_list("item_id", "quantity"):
            self.there[item] += quantity
        self.expiries = list(self._expiries(day))
        self.holds = list(self._holds())
        self.forms = list(self._forms())
        self.closed: dict[int, int] = defaultdict(int)
        for event in (*self.expiries, *self.holds):
            self.closed[event.item] += event.closes
        unusable = Lot.objects.filter(item__material=self.material, form__in=Lot.UNUSABLE)
        for item in unusable.values_list("pk", flat=True):
            self.closed[item] += 1
        self.usable = sum(quantity for item, quantity in self.there.items() if not self.closed[item])

    def events(self) -> tuple[Iterator[_Event], ...]:
        """Movements, holds, expiries and forms, each newest first."""
        newest_first = [
            sorted(some, key=lambda event: event.order, reverse=True)
            for some in (self.expiries, self.holds, self.forms)
        ]
        return (self._movements(), *(iter(some) for some in newest_first))

    def undo(self, event: _Event) -> None:
        item, movement = event.item, event.movement
        if not self.closed[item]:
            self.usable -= self.there[item]
        self.closed[item] -= event.closes
        if movement is not None:
            self.there[item] -= _change(movement)
        if not self.closed[item]:
            self.usable += self.there[item]

    def _movements(self) -> Iterator[_Event]:
        rows = Movement.objects.filter(item__material=self.material, item__kind=Item.Kind.LOT)
        for one in rows.select_related("source", "target").order_by("-pk").iterator(chunk_size=CHUNK):
            yield _Event((one.recorded_at, one.deed_id, 0), str(one.pk), one.item_id, one)

    def _expiries(self, day: dt.date) -> Iterator[_Event]:
        """A lot may be used on its best-before day; it no longer counts when the day after begins, club time."""
        rows = Item.objects.lots().of(self.material).expired(day).values_list("pk", "best_before")
        for item, best_before in rows:
            if best_before is not None:
                after = best_before + dt.timedelta(days=1)
                at = dt.datetime.combine(after, dt.time(0), tzinfo=self.club.tz)
                yield _Event((at.astimezone(dt.UTC), 0, 0), f"expired-{item}", item, closes=1)

    def _forms(self) -> Iterator[_Event]:
        """When what is known of a lot's form made it unusable, or usable; as it came in it is no event."""
        rows = Amendment.objects.filter(lot__item__material=self.material, after__has_key="form")
        for one in rows.select_related("deed"):
            closes = (one.after["form"] in Lot.UNUSABLE) - (one.before["form"] in Lot.UNUSABLE)
            if closes:
                yield _Event((one.deed.recorded_at, one.deed_id, 1), f"form-{one.pk}", one.lot_id, closes=closes)

    def _holds(self) -> Iterator[_Event]:
        seeds = HoldSeed.objects.filter(item__material=self.material, item__kind=Item.Kind.LOT).select_related(
            "hold__placed_by", "hold__lifted_by"
        )
        freed: dict[tuple[int, int], list[Freed]] = defaultdict(list)
        for one in Freed.objects.filter(item__material=self.material).select_related("deed", "voided_by"):
            freed[one.hold_id, one.item_id].append(one)
        for seed in seeds:
            yield from _times(seed, freed[seed.hold_id, seed.item_id])


def _times(seed: HoldSeed, freed: list[Freed]) -> Iterator[_Event]:
    """When one hold began and ceased to keep one lot: placed, freed, a freeing that was voided, lifted."""
    hold, item = seed.hold, seed.item_id

    def event(deed: Deed, name: str, closes: int) -> _Event:
        return _Event((deed.recorded_at, deed.pk, 1), name, item, closes=closes)

    is_closed = True
    yield event(hold.placed_by, f"hold-{hold.pk}", 1)
    for one in sorted(freed, key=lambda one: one.pk):
        yield event(one.deed, f"freed-{one.pk}", -1)
        is_closed = one.voided_by is not None
        if one.voided_by is not None:
            yield event(one.voided_by, f"freed-{one.pk}", 1)
    if hold.lifted_by is not None and is_closed:
        yield event(hold.lifted_by, f"hold-{hold.pk}", -1)


def _change(movement: Movement) -> int:
    """What a movement did to the sheds together."""
    came = movement.quantity if movement.target.kind == Place.Kind.SHED else 0
    went = movement.quantity if movement.source.kind == Place.Kind.SHED else 0
    return came - went
