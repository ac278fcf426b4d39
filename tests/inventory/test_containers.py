"""Drums, cans and sacks: each stands somewhere, and moves with what is in it."""

import datetime as dt
import importlib
from typing import Any

import pytest
from django.apps import apps
from django.db import IntegrityError, transaction

from coop.command import Refused
from inventory import ledger, proofs
from inventory.commands import containers
from inventory.commands.correcting import correct
from inventory.commands.counting import count_by_weight
from inventory.commands.incidents import spill
from inventory.commands.settings import change_shed
from inventory.commands.stock import draw, find, transfer
from inventory.models import Container, Item, Movement, Place, Question
from tests.makers import brew
from tests.makers import inventory as make
from tests.makers.coop import club, do

pytestmark = pytest.mark.django_db

DRUMS = [
    {"name": "drum 1", "tare_mg": 1_000, "gross_mg": 3_000},
    {"name": "drum 2", "tare_mg": 1_000, "gross_mg": 4_000},
]


@pytest.fixture
def shed() -> Place:
    return make.shed(name="Mill shed")


@pytest.fixture
def item(shed: Place) -> Item:
    return make.lot(place=shed, quantity=5_000, containers=DRUMS)


def drum(item: Item, name: str = "drum 1") -> Container:
    found: Container = item.lot.containers.get(name=name)
    return found


def places(item: Item) -> list[Place | None]:
    return [one.place for one in item.lot.containers.order_by("name")]


def refused(code: str, command: Any, **facts: Any) -> Refused:
    with pytest.raises(Refused) as refusal:
        do(command, **facts)
    assert refusal.value.code == code, refusal.value.sentence
    return refusal.value


def test_what_came_in_stands_where_it_was_put(item: Item, shed: Place) -> None:
    assert places(item) == [shed, shed]


def test_a_container_stands_in_a_shed_to_which_some_of_its_lot_came(item: Item, shed: Place) -> None:
    other = make.shed()
    assert do(containers.add_container, item=item, name="can").place == shed
    refused("place", containers.add_container, item=item, name="pail", place=other)
    do(transfer, item=item, source=shed, target=other, quantity=1_000)
    refused("place", containers.add_container, item=item, name="pail")
    assert do(containers.add_container, item=item, name="pail", place=other).place == other
    refused("container", containers.add_container, item=item, name="drum 1", place=shed)


def test_only_a_lot_stands_in_containers(item: Item, shed: Place) -> None:
    mix = brew.mix((item, shed, 1_000))
    refused("container", containers.add_container, item=mix, name="drum")


def test_a_drum_is_moved_with_what_was_in_it_last(item: Item, shed: Place) -> None:
    other = make.shed()
    movement = do(containers.move_container, container=drum(item), target=other, note="closer to the door")
    assert (movement.quantity, movement.cause, movement.note) == (2_000, "transfer", "drum 1: closer to the door")
    assert (movement.source, movement.target) == (shed, other)
    assert places(item) == [other, shed]
    assert ledger.quantity_at(item, shed) == 3_000


def test_a_drum_is_moved_with_what_is_in_it_now(item: Item, shed: Place) -> None:
    other = make.shed()
    do(draw, item=item, place=shed, quantity=500)
    movement = do(containers.move_container, container=drum(item), target=other, gross_mg=2_500)
    assert movement.quantity == 1_500
    assert (drum(item).gross_mg, drum(item).net_mg) == (2_500, 1_500)


def test_more_in_the_drum_than_in_the_book_is_kept_with_a_question(item: Item, shed: Place) -> None:
    do(draw, item=item, place=shed, quantity=4_000)
    assert do(containers.move_container, container=drum(item), target=make.shed(), gross_mg=2_600).quantity == 1_600
    assert Question.objects.get().kind == "found"


def test_a_weight_of_some_time_ago_finds_nothing(item: Item, shed: Place) -> None:
    do(draw, item=item, place=shed, quantity=4_000)
    assert do(containers.move_container, container=drum(item), target=make.shed()).quantity == 1_000
    refused("empty", containers.move_container, container=drum(item, "drum 2"), target=make.shed())
    assert not Question.objects.exists()


def test_what_cannot_be_moved_stays(item: Item, shed: Place) -> None:
    bare = do(containers.add_container, item=item, name="can")
    closed, other = make.shed(), make.shed()
    do(change_shed, shed=closed, is_closed=True)
    closed.refresh_from_db()
    empty = do(containers.empty_container, container=drum(item, "drum 2"))
    lost = Place.objects.the(Place.Kind.LOST)
    for code, facts in (
        ("place", {"container": drum(item), "target": shed}),
        ("place", {"container": drum(item), "target": closed}),
        ("place", {"container": drum(item), "target": lost}),
        ("container", {"container": bare, "target": other}),
        ("container", {"container": bare, "target": other, "gross_mg": 500}),
        ("container", {"container": drum(item), "target": other, "gross_mg": 999}),
        ("empty", {"container": drum(item), "target": other, "gross_mg": 1_000}),
        ("empty", {"container": empty, "target": other}),
    ):
        refused(code, containers.move_container, **facts)
    assert Movement.objects.count() == 1
    do(containers.move_container, container=empty, target=other, gross_mg=2_000)
    assert drum(item, "drum 2").net_mg == 1_000


def test_what_is_counted_in_pieces_is_not_moved_or_counted_by_weight(shed: Place) -> None:
    blanks = make.lot(make.strips(), shed, containers=[{"name": "carton", "tare_mg": 100, "gross_mg": 5_000}])
    carton = drum(blanks, "carton")
    refused("unit", containers.move_container, container=carton, target=make.shed())
    weighed = [{"container": carton, "gross_mg": 5_000}]
    refused("unit", count_by_weight, item=blanks, place=shed, weighed=weighed)
    do(spill, item=blanks, place=shed, quantity=12, what="Wet through.", container=carton)
    assert drum(blanks, "carton").gross_mg == 5_000


def test_a_drum_that_stands_nowhere_goes_from_where_its_lot_lies_if_that_is_one_shed(item: Item, shed: Place) -> None:
    other, third = make.shed(), make.shed()
    Container.objects.update(place=None)
    do(containers.move_container, container=drum(item), target=other)
    assert places(item) == [other, None]
    refused("place", containers.move_container, container=drum(item, "drum 2"), target=third)


def test_kilograms_for_grams_are_asked_about(shed: Place) -> None:
    sack = [{"name": "sack", "tare_mg": 100_000, "gross_mg": 5_100_000}]
    item = make.lot(make.acid(most_at_once=25 * make.KG), shed, containers=sack)
    facts = {"container": drum(item, "sack"), "target": make.shed(), "gross_mg": 5_100 * make.KG}
    assert refused("did_you_mean", containers.move_container, **facts).facts["field"] == "gross_mg"
    assert do(containers.move_container, **facts, confirmed=True).quantity == 5_099_900_000


def test_an_empty_drum_weighed_elsewhere_did_not_come_there_with_its_lot(item: Item, shed: Place) -> None:
    other, first = make.shed(), drum(item)
    do(count_by_weight, item=item, place=other, weighed=[{"container": first, "gross_mg": 1_000}])
    assert (drum(item).place, drum(item).net_mg) == (shed, 0)
    do(containers.weigh_container, container=drum(item), gross_mg=1_500)
    assert list(proofs.containers()) == []


def test_drums_go_along_when_nothing_of_their_lot_is_left(item: Item, shed: Place) -> None:
    other = make.shed()
    do(transfer, item=item, source=shed, target=other, quantity=4_000)
    assert places(item) == [shed, shed]
    do(containers.empty_container, container=drum(item))
    movement = do(transfer, item=item, source=shed, target=other, quantity=1_000)
    assert places(item) == [shed, other]  # what is empty was not carried
    do(correct, movement=movement, quantity=0, note="the other lot")
    assert places(item) == [shed, other]  # some of it is there still, so nobody can tell which drum


def test_drums_come_back_when_the_move_never_happened(item: Item, shed: Place) -> None:
    other = make.shed()
    movement = do(transfer, item=item, source=shed, target=other, quantity=5_000)
    assert places(item) == [other, other]
    do(correct, movement=movement, quantity=0, note="it was another lot")
    assert places(item) == [shed, shed]
    movement = do(transfer, item=item, source=shed, target=other, quantity=4_000)
    do(correct, movement=movement, quantity=5_000, note="all of it")
    assert places(item) == [other, other]


def test_weighing_a_drum_changes_no_stock(item: Item) -> None:
    assert do(containers.weigh_container, container=drum(item), gross_mg=2_200)["net_mg"] == 1_200
    assert ledger.on_hand(item) == 5_000


def test_the_first_opening_and_the_first_emptying_stay(item: Item) -> None:
    for command, day in ((containers.open_container, "opened_on"), (containers.empty_container, "emptied_on")):
        do(command, container=drum(item), **{day: dt.date(2026, 5, 4)})
        do(command, container=drum(item))
        assert getattr(drum(item), day) == dt.date(2026, 5, 4)
        ahead = club().today() + dt.timedelta(days=2)
        refused("day", command, container=drum(item), **{day: ahead})
    assert drum(item).net_mg == 0
    do(containers.weigh_container, container=drum(item), gross_mg=1_700)
    assert (drum(item).emptied_on, drum(item).net_mg) == (None, 700)


def test_a_drum_without_a_tare_or_lighter_than_it_is_refused(item: Item) -> None:
    bare = do(containers.add_container, item=item, name="can")
    refused("container", containers.weigh_container, container=bare, gross_mg=500)
    refused("container", containers.weigh_container, container=drum(item), gross_mg=500)
    refused("container", containers.add_container, item=item, name="pail", tare_mg=5, gross_mg=4)
    assert do(containers.weigh_container, container=bare, gross_mg=500, tare_mg=100)["net_mg"] == 400


def test_a_day_is_the_day_it_happened(item: Item) -> None:
    then = dt.datetime(2026, 5, 4, 12, tzinfo=dt.UTC)
    do(containers.weigh_container, container=drum(item), gross_mg=1_000, happened_at=then)
    assert drum(item).emptied_on == dt.date(2026, 5, 4)


def test_the_database_lets_no_container_stand_with_a_member(item: Item) -> None:
    lost = Place.objects.the(Place.Kind.LOST)
    with pytest.raises(IntegrityError), transaction.atomic():
        Container.objects.update(place=lost)


def test_a_container_where_none_of_its_lot_ever_came_is_named(item: Item, shed: Place) -> None:
    do(draw, item=item, place=shed, quantity=5_000)
    assert list(proofs.containers()) == []  # it stands there, though the book has nothing left
    other = make.shed()
    Container.objects.filter(name="drum 1").update(place=other)
    assert list(proofs.containers()) == [f"container {drum(item).pk} stands where none of its lot ever came"]
    do(find, item=item, place=other, quantity=5, note="under the bench")
    assert list(proofs.containers()) == []


def test_containers_of_old_books_stand_where_their_lot_lies(item: Item, shed: Place) -> None:
    split = make.lot(place=shed, quantity=5_000, containers=DRUMS)
    do(transfer, item=split, source=shed, target=make.shed(), quantity=1_000)
    Container.objects.update(place=None)
    importlib.import_module("inventory.migrations.0003_containers_stand_somewhere").fill(apps, None)
    assert places(item) == [shed, shed]
    assert places(split) == [None, None]
