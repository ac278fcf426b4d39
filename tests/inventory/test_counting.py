"""Stocktake: the difference is a movement by name."""

import datetime as dt

import pytest

from coop.command import Refused
from inventory import ledger
from inventory.commands import counting
from inventory.models import Container, Item, Movement, Place, Question
from tests.makers import brew
from tests.makers import inventory as make
from tests.makers.coop import do

pytestmark = pytest.mark.django_db

DRUMS = [
    {"name": "drum 1", "tare_mg": 1_000, "gross_mg": 3_000},
    {"name": "drum 2", "tare_mg": 1_000, "gross_mg": 4_000},
]


@pytest.fixture
def shed() -> Place:
    return make.shed()


@pytest.fixture
def item(shed: Place) -> Item:
    return make.lot(place=shed, quantity=5_000, containers=DRUMS)


@pytest.mark.parametrize(
    ("counted", "source", "target"),
    [(4_900, "shed", "unexplained"), (5_100, "found", "shed"), (0, "shed", "unexplained")],
)
def test_the_difference_is_a_movement(item: Item, shed: Place, counted: int, source: str, target: str) -> None:
    outcome = do(counting.count, item=item, place=shed, quantity=counted)
    movement = outcome["movement"]
    assert (outcome["book"], outcome["difference"]) == (5_000, counted - 5_000)
    assert (movement.source.kind, movement.target.kind, movement.cause) == (source, target, "count")
    assert ledger.on_hand(item) == counted
    assert not Question.objects.exists()


def test_a_count_that_agrees_writes_no_movement(item: Item, shed: Place) -> None:
    outcome = do(counting.count, item=item, place=shed, quantity=5_000)
    assert outcome == {"counted": 5_000, "book": 5_000, "difference": 0, "movement": None}
    assert Movement.objects.count() == 1


def test_what_is_found_where_the_book_had_nothing_is_counted_in(item: Item) -> None:
    other = make.shed()
    assert do(counting.count, item=item, place=other, quantity=700)["difference"] == 700
    assert ledger.quantity_at(item, other) == 700


def test_part_used_drums_are_counted_by_gross_less_tare(item: Item, shed: Place) -> None:
    first, second = item.lot.containers.all()
    weighed = [{"container": first, "gross_mg": 2_500}, {"container": second, "gross_mg": 1_000}]
    outcome = do(counting.count_by_weight, item=item, place=shed, weighed=weighed)
    assert (outcome["counted"], outcome["difference"]) == (1_500, -3_500)
    second.refresh_from_db()
    assert second.emptied_on is not None


def test_weighing_a_drum_changes_no_stock(item: Item) -> None:
    drum = item.lot.containers.first()
    assert do(counting.weigh_container, container=drum, gross_mg=2_200)["net_mg"] == 1_200
    assert ledger.on_hand(item) == 5_000


def test_the_first_opening_of_a_drum_stays(item: Item) -> None:
    drum = item.lot.containers.first()
    do(counting.open_container, container=drum, opened_on=dt.date(2026, 5, 4))
    do(counting.open_container, container=Container.objects.get(pk=drum.pk))
    assert Container.objects.get(pk=drum.pk).opened_on == dt.date(2026, 5, 4)


def test_a_drum_without_a_tare_or_lighter_than_it_is_refused(item: Item) -> None:
    bare = do(counting.add_container, item=item, name="can")
    for drum, gross in ((bare, 500), (item.lot.containers.first(), 500)):
        with pytest.raises(Refused) as refusal:
            do(counting.weigh_container, container=drum, gross_mg=gross)
        assert refusal.value.code == "container"
    assert do(counting.weigh_container, container=bare, gross_mg=500, tare_mg=100)["net_mg"] == 400


def test_a_drum_of_another_lot_is_refused(shed: Place, item: Item) -> None:
    other = make.lot(place=shed, containers=DRUMS)
    with pytest.raises(Refused):
        do(
            counting.count_by_weight,
            item=item,
            place=shed,
            weighed=[{"container": other.lot.containers.first(), "gross_mg": 2_000}],
        )
    with pytest.raises(Refused):
        do(counting.add_container, item=item, name="drum 1")
    with pytest.raises(Refused):
        do(counting.count_by_weight, item=item, place=shed, weighed=[])


def test_only_a_lot_stands_in_containers(item: Item, shed: Place) -> None:
    mix = brew.mix((item, shed, 1_000))
    with pytest.raises(Refused) as refusal:
        do(counting.add_container, item=mix, name="drum")
    assert refusal.value.code == "container"
