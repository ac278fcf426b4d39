"""A lot that nears its best-before day: told 60 and 14 days before, each once, while something of it can be used."""

import datetime as dt
from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from coop import notices as told
from coop.models import Letter, Notice, Person
from inventory.commands.holding import lift_hold
from inventory.commands.stock import draw, transfer
from inventory.models import Item, Material, Place
from inventory.notices import best_before
from tests.makers import inventory as make
from tests.makers.coop import coordinator, do, member, volunteer

pytestmark = pytest.mark.django_db
KG = make.KG
DAY = dt.timedelta(days=1)
BEST = dt.date(2027, 5, 1)


@pytest.fixture(autouse=True)
def clock() -> Iterator[Any]:
    with time_machine.travel(dt.datetime(2027, 2, 20, 9, 0, tzinfo=dt.UTC), tick=False) as moving:
        yield moving


@pytest.fixture
def keeper() -> Person:
    return coordinator("Ida Holm")


@pytest.fixture
def shed() -> Place:
    return make.shed()


@pytest.fixture
def acid(keeper: Person) -> Material:
    return make.acid(name="Oxalic acid dihydrate")


@pytest.fixture
def lot(acid: Material, shed: Place) -> Item:
    return make.lot(acid, shed, quantity=5 * KG, best_before=BEST)


def before(days: int, hour: int = 9) -> dt.datetime:
    return dt.datetime.combine(BEST - days * DAY, dt.time(hour), tzinfo=dt.UTC)


def keys() -> list[str]:
    return [one.key.rpartition(":")[2] for one in best_before.wanted(timezone.now())]


def states() -> list[tuple[int, str]]:
    return list(Notice.objects.filter(kind="best-before").order_by("pk").values_list("stage", "state"))


def test_both_stages_are_told_once_on_their_days(lot: Item, keeper: Person, clock: Any) -> None:
    volunteer(), member()
    days: dict[dt.date, int] = {}
    while timezone.now() < before(-20):
        for _tick in range(2):
            told.tick(timezone.now())
        days[timezone.now().date()] = Letter.objects.count()
        clock.shift(DAY)
    written = [day for day, count in days.items() if count != days.get(day - DAY, 0)]
    assert written == [BEST - 60 * DAY, BEST - 14 * DAY]
    assert states() == [(1, "bundled"), (2, "bundled")]
    assert set(Notice.objects.values_list("person", flat=True)) == {keeper.pk}
    first = Letter.objects.order_by("pk")[0]
    assert first.subject == "Best before Sat 1 May: Oxalic acid dihydrate"
    words = f"Use first: Oxalic acid dihydrate, lot {lot.spaced_code}: 5 000 g, best before Sat 1 May, in 60 days."
    assert words in first.body.replace("\u202f", " ")


def test_a_stage_begins_at_midnight_in_the_club(lot: Item, clock: Any) -> None:
    """60 days before 1 May 2027 is 2 March, before the clocks go forward; 14 days before is 17 April, after it."""
    for stage, days, utc_hour in ((1, 60, 23), (2, 14, 22)):
        clock.move_to(before(days + 1, utc_hour) - dt.timedelta(seconds=1))
        assert keys() == ([] if stage == 1 else ["1"])
        clock.move_to(before(days + 1, utc_hour))
        assert [(one.stage, one.due_at) for one in best_before.wanted(timezone.now())] == [(stage, timezone.now())]


def test_a_lot_that_comes_in_late_is_told_once(acid: Material, shed: Place, clock: Any) -> None:
    clock.move_to(before(5))
    make.lot(acid, shed, quantity=KG, best_before=BEST)
    for _tick in range(3):
        told.tick(timezone.now())
        clock.shift(DAY)
    assert states() == [(2, "bundled")]


def test_after_weeks_of_standing_still_only_the_latest_stage_is_told(lot: Item, clock: Any) -> None:
    clock.move_to(before(60, hour=3))
    told.tick(timezone.now())
    clock.move_to(before(10))
    told.tick(timezone.now())
    assert states() == [(1, "dropped"), (2, "bundled")]
    assert Letter.objects.count() == 1


def test_what_is_used_up_held_or_out_of_the_sheds_is_not_told(lot: Item, shed: Place, clock: Any) -> None:
    clock.move_to(before(30))
    assert keys() == ["1"]
    hold = make.hold(lot)
    assert keys() == []
    do(lift_hold, hold=hold, reason="the certificate came")
    do(transfer, item=lot, source=shed, target=Place.objects.the(Place.Kind.QUARANTINE), quantity=4 * KG)
    assert keys() == ["1"]
    do(draw, item=lot, place=shed, quantity=KG)
    assert keys() == []


@pytest.mark.parametrize("what", ["used up", "held", "another date", "past"])
def test_what_is_no_longer_true_is_dropped(lot: Item, shed: Place, clock: Any, what: str) -> None:
    clock.move_to(before(60, hour=3))
    told.tick(timezone.now())
    assert states() == [(1, "wanted")]
    if what == "used up":
        do(draw, item=lot, place=shed, quantity=5 * KG)
    elif what == "held":
        make.hold(lot)
    elif what == "another date":
        Item.objects.filter(pk=lot.pk).update(best_before=BEST + 400 * DAY)
    clock.move_to(before(-1 if what == "past" else 60))
    told.tick(timezone.now())
    assert states() == [(1, "dropped")]
    assert not Letter.objects.exists()


def test_the_last_day_is_still_told_and_the_day_after_is_not(lot: Item, clock: Any) -> None:
    clock.move_to(before(0))
    assert keys() == ["2"]
    clock.move_to(before(-1))
    assert keys() == []


def test_another_date_is_another_thing_to_tell(lot: Item, clock: Any) -> None:
    clock.move_to(before(60))
    told.tick(timezone.now())
    Item.objects.filter(pk=lot.pk).update(best_before=BEST + 3 * DAY)
    clock.shift(3 * DAY)
    told.tick(timezone.now())
    assert states() == [(1, "bundled"), (1, "bundled")]


def test_lots_of_two_sheds_are_one_notice_and_a_tick_asks_little(acid: Material, lot: Item, shed: Place) -> None:
    do(transfer, item=lot, source=shed, target=make.shed(), quantity=KG)
    assert keys() == []
    with CaptureQueriesContext(connection) as seen:
        best_before.near(dt.date(2027, 2, 20))
    assert len(seen) == 1
    found = best_before.near(BEST - DAY)
    assert [(one.item, one.quantity) for one in found] == [(lot.pk, 5 * KG)]
