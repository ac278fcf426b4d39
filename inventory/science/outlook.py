"""What a shelf comes to: lots first expiring first against what will be drawn, day by day. Integers only.

On one day what has expired goes first, then what arrives, then what is drawn, in the order given. A lot may be used on
its best-before day; what is left of it on the day after is lost. Balances go on below zero: a shortage is carried, and
the next arrival fills it first.
"""

import datetime as dt
from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass
from operator import attrgetter
from typing import NamedTuple, Protocol, TypeVar

DRAW, EXPIRED, ARRIVAL = "draw", "expired", "arrival"
EVERY_DAY = frozenset(range(1, 8))
DAY = dt.timedelta(days=1)
KEEPS = dt.date.max


class LotAhead(NamedTuple):
    """So much of one lot that can be used up to its best-before day; None keeps."""

    key: int
    quantity: int
    best_before: dt.date | None


class Draw(NamedTuple):
    """So much will be taken on a day; one whose day is past is taken today."""

    day: dt.date
    quantity: int
    what: str
    key: str = ""


class Arrival(NamedTuple):
    """So much is expected on a day."""

    day: dt.date
    quantity: int
    what: str
    key: str = ""


class Event(Protocol):
    """Anything with these four can be drawn, or arrive."""

    @property
    def day(self) -> dt.date: ...
    @property
    def quantity(self) -> int: ...
    @property
    def what(self) -> str: ...
    @property
    def key(self) -> str: ...


E = TypeVar("E", bound=Event)


class Terms(NamedTuple):
    """How a material is bought. No lead days: nobody is known to order from, so there is no day to order by."""

    safety: int
    lead_days: int | None
    order_weekdays: frozenset[int] = EVERY_DAY
    pack: int | None = None


class Step(NamedTuple):
    """What happens on a day, and the balance after it. An expired lot of which nothing is left has a change of 0."""

    day: dt.date
    kind: str
    change: int
    balance: int
    what: str
    key: str


@dataclass(frozen=True)
class Projection:
    """From `start` through the steps to `end`.

    `short` is what is missing at the end to stand at safety, `buy` the same in whole packs; `wasted` names the lots of
    which something will be lost. `order_by` may lie in the past: then it is time to order now.
    """

    start: int
    steps: list[Step]
    breached_on: dt.date | None
    runs_out_on: dt.date | None
    order_by: dt.date | None
    end: int
    short: int
    packs: int | None
    buy: int
    wasted: dict[int, int]


def project(
    today: dt.date,
    lots: Iterable[LotAhead],
    draws: Iterable[Event],
    arrivals: Iterable[Event],
    terms: Terms,
    until: dt.date,
) -> Projection:
    """The balance of one material from today to `until`, that day included.

    Lots that are past their day today are not counted, nor is what lies after `until`. Draws on one day are separate
    steps in the order given.
    """
    shelf = _Shelf(today, lots)
    start = shelf.balance
    coming = deque(_in_order(arrivals, today, until))
    for draw in _in_order(draws, today, until):
        day = draw.day if draw.day > today else today
        while coming and coming[0].day <= day:
            shelf.arrive(max(coming[0].day, today), coming.popleft())
        shelf.draw(day, draw)
    for arrival in coming:
        shelf.arrive(max(arrival.day, today), arrival)
    shelf.expire(until)
    short = max(terms.safety - shelf.balance, 0)
    packs = None if terms.pack is None else -(-short // terms.pack)
    breached_on = _first_below(terms.safety, today, start, shelf.steps)
    return Projection(
        start=start,
        steps=shelf.steps,
        breached_on=breached_on,
        runs_out_on=_first_below(0, today, start, shelf.steps),
        order_by=None if breached_on is None else order_day(breached_on, terms.lead_days, terms.order_weekdays),
        end=shelf.balance,
        short=short,
        packs=packs,
        buy=short if packs is None or terms.pack is None else packs * terms.pack,
        wasted=shelf.wasted,
    )


def order_day(needed_on: dt.date, lead_days: int | None, weekdays: frozenset[int] = EVERY_DAY) -> dt.date | None:
    """The last day on which the supplier takes an order that is here on the day it is needed."""
    if lead_days is None:
        return None
    day = needed_on - dt.timedelta(days=lead_days)
    while weekdays and day.isoweekday() not in weekdays:
        day -= DAY
    return day


@dataclass(slots=True)
class _Left:
    """What is left of a lot."""

    last_day: dt.date
    quantity: int
    key: int


def _in_order(events: Iterable[E], today: dt.date, until: dt.date) -> list[E]:
    """By the day they count on, those of one day in the order given; nothing after the end, nothing of nothing."""
    counted = [event for event in events if event.quantity > 0 and event.day <= until]
    late = [event for event in counted if event.day <= today]
    return late + sorted((event for event in counted if event.day > today), key=attrgetter("day"))


class _Shelf:
    """What is left of each lot while the days go by; the balance is what is there less what is owed."""

    def __init__(self, today: dt.date, lots: Iterable[LotAhead]) -> None:
        usable = [_Left(lot.best_before or KEEPS, lot.quantity, lot.key) for lot in lots if lot.quantity > 0]
        first_expiring = sorted((lot for lot in usable if lot.last_day >= today), key=lambda lot: lot.last_day)
        self.lots = deque(first_expiring)
        self.dated = deque(lot for lot in first_expiring if lot.last_day != KEEPS)
        self.balance = sum(lot.quantity for lot in first_expiring)
        self.steps: list[Step] = []
        self.wasted: dict[int, int] = {}

    def expire(self, day: dt.date) -> None:
        """What is left of lots whose last day lies before this one is lost, each on the day after its own."""
        while self.dated and self.dated[0].last_day < day:
            lot = self.dated.popleft()
            lost, lot.quantity = lot.quantity, 0
            self.balance -= lost
            if lost:
                self.wasted[lot.key] = lost
            self.steps.append(Step(lot.last_day + DAY, EXPIRED, -lost, self.balance, "", f"lot:{lot.key}"))

    def draw(self, day: dt.date, draw: Event) -> None:
        if self.dated and self.dated[0].last_day < day:
            self.expire(day)
        wanted, lots = draw.quantity, self.lots
        balance = self.balance = self.balance - wanted
        if lots and lots[0].quantity > wanted:
            lots[0].quantity -= wanted
        else:
            self._use_up(wanted)
        self.steps.append(Step(day, DRAW, -wanted, balance, draw.what, draw.key))

    def _use_up(self, wanted: int) -> None:
        while wanted and self.lots:
            lot = self.lots[0]
            taken = min(wanted, lot.quantity)
            lot.quantity -= taken
            wanted -= taken
            if not lot.quantity:
                self.lots.popleft()

    def arrive(self, day: dt.date, arrival: Event) -> None:
        """An order has no best-before day: it is used after every lot that has one, so there is no lot to watch."""
        self.expire(day)
        self.balance += arrival.quantity
        self.steps.append(Step(day, ARRIVAL, arrival.quantity, self.balance, arrival.what, arrival.key))


def _first_below(level: int, today: dt.date, start: int, steps: list[Step]) -> dt.date | None:
    if start < level:
        return today
    return next((step.day for step in steps if step.balance < level), None)
