"""Stocktake: the difference is a movement by name."""

import pytest

from coop.command import Refused
from inventory import ledger
from inventory.commands import counting
from inventory.models import Item, Movement, Place, Question
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


def test_a_drum_of_another_lot_is_refused(shed: Place, item: Item) -> None:
    other = make.lot(place=shed, quantity=5_000, containers=DRUMS)
    with pytest.raises(Refused):
        do(
            counting.count_by_weight,
            item=item,
            place=shed,
            weighed=[{"container": other.lot.containers.first(), "gross_mg": 2_000}],
        )
    with pytest.raises(Refused):
        do(counting.count_by_weight, item=item, place=shed, weighed=[])


def test_a_drum_that_is_forgotten_is_asked_about_and_one_that_is_gone_stands_nowhere(item: Item, shed: Place) -> None:
    first, second = item.lot.containers.all()
    weighed = [{"container": first, "gross_mg": 3_000}]
    with pytest.raises(Refused, match="drum 2") as refusal:
        do(counting.count_by_weight, item=item, place=shed, weighed=weighed)
    assert refusal.value.code == "container"
    assert ledger.on_hand(item) == 5_000
    outcome = do(counting.count_by_weight, item=item, place=shed, weighed=weighed, absent=[second])
    assert outcome["difference"] == -3_000
    second.refresh_from_db()
    assert (second.place, second.emptied_on) == (None, None)


def test_a_drum_stands_where_it_was_weighed(item: Item) -> None:
    other = make.shed()
    first = item.lot.containers.first()
    do(counting.count_by_weight, item=item, place=other, weighed=[{"container": first, "gross_mg": 2_000}])
    first.refresh_from_db()
    assert (first.place, ledger.quantity_at(item, other)) == (other, 1_000)


def test_one_drum_is_not_weighed_twice(item: Item, shed: Place) -> None:
    first, second = item.lot.containers.all()
    for facts in (
        {"weighed": [{"container": one, "gross_mg": 2_000} for one in (first, first, second)]},
        {"weighed": [{"container": first, "gross_mg": 2_000}], "absent": [first, second]},
    ):
        with pytest.raises(Refused, match="twice"):
            do(counting.count_by_weight, item=item, place=shed, **facts)


def test_an_amount_that_is_more_than_usual_is_asked_about_once(shed: Place) -> None:
    item = make.lot(make.acid(most_at_once=25 * make.KG), shed)
    with pytest.raises(Refused) as refusal:
        do(counting.count, item=item, place=shed, quantity=26 * make.KG)
    assert refusal.value.code == "did_you_mean"
    assert "5" not in refusal.value.sentence.replace("25", "")  # a counter is not told what the book says
    assert do(counting.count, item=item, place=shed, quantity=26 * make.KG, confirmed=True)["counted"] == 26 * make.KG
    assert do(counting.count, item=item, place=shed, quantity=26 * make.KG)["difference"] == 0
