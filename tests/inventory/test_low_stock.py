"""Low stock is told once for each crossing, and armed again above 1.2 times the level."""

import datetime as dt

import pytest
import time_machine
from django.utils import timezone

from coop import notices as told
from coop.models import Letter, Notice, Person, the_club
from inventory import shelf
from inventory.commands.correcting import correct
from inventory.commands.holding import free_from_hold, lift_hold
from inventory.commands.stock import draw
from inventory.crossing import crossing
from inventory.models import Freed, Item, Material, Place
from inventory.notices import stock_low
from tests.makers import inventory as make
from tests.makers.coop import coordinator, deed, do, member, volunteer

pytestmark = pytest.mark.django_db
KG = make.KG


@pytest.fixture
def keeper() -> Person:
    return coordinator("Ida Holm")


@pytest.fixture
def shed() -> Place:
    return make.shed()


@pytest.fixture
def acid(keeper: Person) -> Material:
    return make.acid(name="Oxalic acid", low_level=2 * KG, supplier=make.supplier(name="Calder", lead_days=10))


def keys() -> list[str]:
    return [one.key for one in stock_low.wanted(timezone.now())]


def test_what_stands_above_its_level_is_not_told(acid: Material, shed: Place) -> None:
    make.lot(acid, shed, quantity=2 * KG)
    assert keys() == []


def test_the_movement_that_crossed_names_the_notice(acid: Material, shed: Place) -> None:
    item = make.lot(acid, shed, quantity=3 * KG)
    crossed = do(draw, item=item, place=shed, quantity=1_500_000)
    assert keys() == [f"stock-low:{acid.pk}:{crossed.pk}"]
    do(draw, item=item, place=shed, quantity=500_000)
    assert keys() == [f"stock-low:{acid.pk}:{crossed.pk}"]


def test_a_little_more_does_not_arm_it_again_and_enough_does(acid: Material, shed: Place) -> None:
    item = make.lot(acid, shed, quantity=3 * KG)
    first = do(draw, item=item, place=shed, quantity=1_500_000)
    make.lot(acid, shed, quantity=700_000)
    assert keys() == []
    do(draw, item=item, place=shed, quantity=300_000)
    assert keys() == [f"stock-low:{acid.pk}:{first.pk}"]
    make.lot(acid, shed, quantity=5 * KG)
    big = Item.objects.first()
    assert big is not None
    again = do(draw, item=big, place=shed, quantity=4_950_000)
    assert keys() == [f"stock-low:{acid.pk}:{again.pk}"]


def test_what_is_on_hold_or_past_its_date_does_not_count(acid: Material, shed: Place) -> None:
    make.lot(acid, shed, quantity=1 * KG)
    make.lot(acid, shed, quantity=9 * KG, best_before=dt.date(2020, 1, 1))
    held = make.lot(acid, shed, quantity=9 * KG)
    hold = make.hold(held)
    assert keys() == [f"stock-low:{acid.pk}:hold-{hold.pk}"]
    do(lift_hold, hold=hold, reason="the certificate came")
    assert keys() == []


def test_a_correction_can_cross_as_well(acid: Material, shed: Place) -> None:
    item = make.lot(acid, shed, quantity=30 * KG)
    do(correct, movement=item.movements.get(), quantity=300_000, note="a sack was missing")
    row = shelf.stock(the_club().today(), [acid])[0]
    crossed = crossing(row, the_club().today())
    assert row.usable == 300_000
    assert crossed is not None
    assert crossed.movement is not None
    assert crossed.movement.cause == "correct"


def test_a_hold_on_the_only_lot_is_a_crossing(acid: Material, shed: Place) -> None:
    hold = make.hold(make.lot(acid, shed, quantity=9 * KG))
    assert keys() == [f"stock-low:{acid.pk}:hold-{hold.pk}"]


def test_a_second_hold_after_the_first_was_lifted_is_told_anew(acid: Material, shed: Place) -> None:
    lot = make.lot(acid, shed, quantity=9 * KG)
    do(lift_hold, hold=make.hold(lot), reason="the certificate came")
    assert keys() == []
    second = make.hold(lot)
    assert keys() == [f"stock-low:{acid.pk}:hold-{second.pk}"]


def test_a_second_hold_on_what_is_held_already_is_no_crossing(acid: Material, shed: Place) -> None:
    lot = make.lot(acid, shed, quantity=9 * KG)
    first, second = make.hold(lot), make.hold(lot)
    assert keys() == [f"stock-low:{acid.pk}:hold-{first.pk}"]
    do(lift_hold, hold=first, reason="the certificate came")
    assert keys() == [f"stock-low:{acid.pk}:hold-{first.pk}"]
    do(free_from_hold, hold=second, item=lot, reason="titrated")
    assert keys() == []
    do(lift_hold, hold=second, reason="the certificate came")
    assert keys() == []


def test_a_freeing_that_was_voided_holds_again(acid: Material, shed: Place) -> None:
    lot = make.lot(acid, shed, quantity=9 * KG)
    freed = do(free_from_hold, hold=make.hold(lot), item=lot, reason="titrated")
    Freed.objects.update(voided_by=deed())
    assert keys() == [f"stock-low:{acid.pk}:freed-{freed.pk}"]


def test_what_was_drawn_while_the_rest_was_held_is_the_crossing_once_it_is_free(acid: Material, shed: Place) -> None:
    small, large = make.lot(acid, shed, quantity=3 * KG), make.lot(acid, shed, quantity=9 * KG)
    hold = make.hold(large)
    assert keys() == []
    crossed = do(draw, item=small, place=shed, quantity=2 * KG)
    assert keys() == [f"stock-low:{acid.pk}:{crossed.pk}"]
    do(lift_hold, hold=hold, reason="the certificate came")
    assert keys() == []


def test_a_lot_that_expires_is_a_crossing_at_the_end_of_its_day(acid: Material, shed: Place) -> None:
    """In Paris the clocks go forward on 28 March 2027: the day after the 27th begins at 23:00 UTC."""
    with time_machine.travel(dt.datetime(2027, 3, 1, 9, 0, tzinfo=dt.UTC), tick=False) as clock:
        lot = make.lot(acid, shed, quantity=9 * KG, best_before=dt.date(2027, 3, 27))
        clock.move_to(dt.datetime(2027, 3, 27, 22, 59, tzinfo=dt.UTC))
        assert keys() == []
        clock.move_to(dt.datetime(2027, 3, 27, 23, 0, tzinfo=dt.UTC))
        assert keys() == [f"stock-low:{acid.pk}:expired-{lot.pk}"]
        assert [one.due_at for one in stock_low.wanted(timezone.now())] == [timezone.now()]
        do(draw, item=lot, place=shed, quantity=KG)
        assert keys() == [f"stock-low:{acid.pk}:expired-{lot.pk}"]


def test_a_lot_that_was_used_up_before_its_day_crosses_nothing(acid: Material, shed: Place) -> None:
    with time_machine.travel(dt.datetime(2027, 3, 1, 9, 0, tzinfo=dt.UTC), tick=False) as clock:
        lot = make.lot(acid, shed, quantity=9 * KG, best_before=dt.date(2027, 3, 27))
        crossed = do(draw, item=lot, place=shed, quantity=9 * KG)
        clock.move_to(dt.datetime(2027, 4, 27, 9, 0, tzinfo=dt.UTC))
        assert keys() == [f"stock-low:{acid.pk}:{crossed.pk}"]


def test_a_hold_is_told_in_a_letter(acid: Material, shed: Place, keeper: Person) -> None:
    with time_machine.travel(dt.datetime(2026, 6, 6, 10, 0, tzinfo=dt.UTC), tick=False):
        make.hold(make.lot(acid, shed, quantity=9 * KG))
        told.tick(timezone.now())
    body = Letter.objects.get(person=keeper).body
    assert "Low: Oxalic acid. 0\u202fg can be used" in body
    assert "Not counted: 9\u202f000\u202fg on hold." in body


def test_every_coordinator_hears_once_in_one_letter_and_nobody_else(
    acid: Material, shed: Place, keeper: Person
) -> None:
    other = coordinator("Bo Falk")
    volunteer(), member()
    with time_machine.travel(dt.datetime(2026, 6, 6, 10, 0, tzinfo=dt.UTC), tick=False):
        item = make.lot(acid, shed, quantity=1 * KG)
        for _tick in range(3):
            told.tick(timezone.now())
    assert set(Notice.objects.filter(kind="stock-low").values_list("person", flat=True)) == {keeper.pk, other.pk}
    letters = Letter.objects.filter(person=keeper)
    assert letters.count() == 1
    body = letters.get().body
    assert "Low: Oxalic acid" in body
    assert "Calder needs 10 days" in body
    assert item.pk


def test_what_is_no_longer_true_is_dropped(acid: Material, shed: Place, keeper: Person) -> None:
    with time_machine.travel(dt.datetime(2026, 6, 6, 3, 0, tzinfo=dt.UTC), tick=False) as clock:
        make.lot(acid, shed, quantity=1 * KG)
        told.tick(timezone.now())
        assert Notice.objects.get(kind="stock-low").state == Notice.State.WANTED
        make.lot(acid, shed, quantity=5 * KG)
        clock.shift(dt.timedelta(hours=6))
        told.tick(timezone.now())
    assert Notice.objects.get(kind="stock-low").state == Notice.State.DROPPED
    assert not Letter.objects.exists()
