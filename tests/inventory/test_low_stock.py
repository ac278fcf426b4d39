"""Low stock is told once for each crossing, and armed again above 1.2 times the level."""

import datetime as dt

import pytest
import time_machine
from django.utils import timezone

from coop import notices as told
from coop.models import Letter, Notice, Person, the_club
from inventory import notices, shelf
from inventory.commands.correcting import correct
from inventory.commands.holding import lift_hold
from inventory.commands.stock import draw
from inventory.models import Item, Material, Place
from inventory.today import low_stock, open_questions
from tests.makers import inventory as make
from tests.makers.coop import coordinator, do, member, volunteer

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
    return [one.key for one in notices.wanted(timezone.now())]


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
    good = make.lot(acid, shed, quantity=1 * KG)
    make.lot(acid, shed, quantity=9 * KG, best_before=dt.date(2020, 1, 1))
    held = make.lot(acid, shed, quantity=9 * KG)
    hold = make.hold(held)
    assert keys() == [f"stock-low:{acid.pk}:{good.movements.get().pk}"]
    do(lift_hold, hold=hold, reason="the certificate came")
    assert keys() == []


def test_a_correction_can_cross_as_well(acid: Material, shed: Place) -> None:
    item = make.lot(acid, shed, quantity=30 * KG)
    do(correct, movement=item.movements.get(), quantity=300_000, note="a sack was missing")
    row = shelf.stock(the_club().today(), [acid])[0]
    crossed = shelf.crossing(row, the_club().today())
    assert row.usable == 300_000
    assert crossed is not None
    assert crossed.cause == "correct"


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


def test_today_shows_it_to_coordinators(acid: Material, shed: Place, keeper: Person) -> None:
    item = make.lot(acid, shed, quantity=1 * KG)
    do(draw, item=item, place=shed, quantity=1 * KG + 1)
    now = timezone.now()
    assert [task.urgency.value for task in low_stock(keeper, now)] == ["overdue"]
    assert len(open_questions(keeper, now)) == 1
    for other in (volunteer(), member()):
        assert low_stock(other, now) == open_questions(other, now) == []
