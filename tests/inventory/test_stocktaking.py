"""A shed counted blind: who begins, what is kept, what wants a second look, and which movements come of it."""

import datetime as dt
from typing import Any

import pytest
from django.utils import timezone

from coop.command import Refused
from inventory import ledger, proofs, stocktakes
from inventory.commands import correcting, stock
from inventory.commands.counting import count as count_one
from inventory.commands.stocktaking import begin_stocktake, count_in, end_stocktake, leave_stocktake
from inventory.models import Container, Count, Item, Movement, Place, Question, Stocktake
from tests.makers import inventory as make
from tests.makers.coop import coordinator, do, volunteer

pytestmark = pytest.mark.django_db

KG = make.KG
DRUMS = [
    {"name": "drum 1", "tare_mg": 1 * KG, "gross_mg": 3 * KG},
    {"name": "drum 2", "tare_mg": 1 * KG, "gross_mg": 4 * KG},
]


@pytest.fixture
def shed() -> Place:
    return make.shed(name="Mill shed")


@pytest.fixture
def lot(shed: Place) -> Item:
    return make.lot(make.glycerine(most_at_once=25 * KG), shed, quantity=5 * KG)


@pytest.fixture
def take(shed: Place, lot: Item) -> Stocktake:
    made: Stocktake = do(begin_stocktake, volunteer("Ann Ash"), place=shed)
    return made


def counted(take: Stocktake, item: Item, quantity: int, times: int = 1, **facts: Any) -> Count:
    made: list[Count] = [do(count_in, facts.pop("by", None), stocktake=take, item=item, quantity=quantity, **facts)
            for _time in range(times)]  # fmt: skip
    return made[-1]


def refused(command: Any, code: str, **call: Any) -> Refused:
    with pytest.raises(Refused) as caught:
        do(command, **call)
    assert caught.value.code == code, caught.value.sentence
    return caught.value


def test_who_begins_where_one_is_open_counts_along(shed: Place, take: Stocktake) -> None:
    again = do(begin_stocktake, volunteer("Ben Elm"), place=shed, note="me too")
    assert again == take
    assert again.begun_by.actor.name == "Ann Ash"
    assert Stocktake.objects.count() == 1
    do(leave_stocktake, stocktake=take, reason="too cold")
    assert do(begin_stocktake, place=shed) != take


def test_a_bench_and_a_closed_shed_are_not_counted(shed: Place, lot: Item) -> None:
    refused(begin_stocktake, "place", place=Place.objects.the(Place.Kind.DESTROYED))
    Place.objects.filter(pk=shed.pk).update(is_closed=True)
    refused(begin_stocktake, "place", place=Place.objects.get(pk=shed.pk))


def test_a_count_writes_nothing_into_the_book(take: Stocktake, lot: Item) -> None:
    row = counted(take, lot, 4_900_000)
    assert (row.quantity, row.book, row.difference, row.movement) == (4_900_000, 5 * KG, -100_000, None)
    assert ledger.on_hand(lot) == 5 * KG


def test_both_of_two_counts_are_kept_and_the_last_stands(take: Stocktake, lot: Item) -> None:
    counted(take, lot, 4 * KG)
    counted(take, lot, 4_900_000)
    thing = stocktakes.read(take).counted[0]
    assert [one.quantity for one in thing.counts] == [4 * KG, 4_900_000]
    assert (thing.difference, thing.wants_second_look) == (-100_000, False)


def test_what_is_no_count_is_refused(take: Stocktake, lot: Item, shed: Place) -> None:
    drum = make.lot(place=shed, quantity=5 * KG, containers=DRUMS).lot.containers.first()
    known = {"stocktake": take, "item": lot}
    refused(count_in, "nothing", **known)
    refused(count_in, "quantity", **known, quantity=-1)
    refused(count_in, "quantity", **known, loose=-1)
    refused(count_in, "quantity", **known, quantity=1, loose=1)
    refused(count_in, "container", **known, weighed=[{"container": drum, "gross_mg": 2 * KG}])
    strips = make.lot(make.strips(), shed)
    refused(count_in, "unit", stocktake=take, item=strips, weighed=[{"container": drum, "gross_mg": 2 * KG}])
    assert not Count.objects.exists()


@pytest.mark.parametrize("quantity", [5_000, 5_000 * KG])
def test_grams_for_kilograms_are_asked_about_once_without_the_book(take: Stocktake, lot: Item, quantity: int) -> None:
    caught = refused(count_in, "did_you_mean", stocktake=take, item=lot, quantity=quantity)
    assert "5\u202f000\u202fg" not in caught.sentence
    assert counted(take, lot, quantity, confirmed=True).quantity == quantity


def test_zero_and_what_is_nearly_right_are_not_asked_about(take: Stocktake, lot: Item) -> None:
    counted(take, lot, 0)
    counted(take, lot, 4_999_000)


def test_drums_are_weighed_tare_off_and_what_is_loose_added(take: Stocktake, shed: Place) -> None:
    item = make.lot(place=shed, quantity=5 * KG, containers=DRUMS)
    one, two = item.lot.containers.order_by("pk")
    weighed = [{"container": one, "gross_mg": 2 * KG}]
    refused(count_in, "container", stocktake=take, item=item, weighed=weighed)
    refused(count_in, "container", stocktake=take, item=item, weighed=weighed * 2, absent=[two])
    refused(count_in, "container", stocktake=take, item=item, weighed=[{"container": one, "gross_mg": 1}])
    for _look in range(2):
        row = do(count_in, stocktake=take, item=item, weighed=weighed, absent=[two], loose=300_000)
    assert row.quantity == 1_300_000
    assert Container.objects.get(pk=two.pk).place == shed
    counted(take, Item.objects.exclude(pk=item.pk).get(), 5 * KG)
    do(end_stocktake, stocktake=take)
    assert Container.objects.get(pk=two.pk).place is None
    assert Container.objects.get(pk=one.pk).gross_mg == 2 * KG


def test_a_drum_that_was_moved_since_keeps_its_place(take: Stocktake, shed: Place, lot: Item) -> None:
    item = make.lot(place=shed, quantity=5 * KG, containers=DRUMS)
    other = make.shed()
    one, two = item.lot.containers.order_by("pk")
    weighed = [{"container": one, "gross_mg": 3 * KG}, {"container": two, "gross_mg": 4 * KG}]
    do(count_in, stocktake=take, item=item, weighed=weighed)
    counted(take, lot, 5 * KG)
    do(stock.transfer, item=item, source=shed, target=other, quantity=5 * KG)
    do(end_stocktake, stocktake=take)
    assert set(item.lot.containers.values_list("place", flat=True)) == {other.pk}


def test_a_difference_is_written_only_after_a_second_look(take: Stocktake, lot: Item) -> None:
    counted(take, lot, 4_900_000)
    caught = refused(end_stocktake, "second_look", stocktake=take)
    assert caught.facts["things"] == [lot.code_id]
    counted(take, lot, 4_800_000)
    do(end_stocktake, stocktake=take)
    movement = Movement.objects.get(cause="count")
    assert (movement.quantity, movement.target.kind, ledger.on_hand(lot)) == (200_000, "unexplained", 4_800_000)
    assert Count.objects.get(movement=movement).quantity == 4_800_000
    assert "Mill shed" in movement.note
    assert "Person" in movement.note


def test_what_is_not_counted_is_named_and_may_be_left(take: Stocktake, lot: Item, shed: Place) -> None:
    refused(end_stocktake, "nothing", stocktake=take)
    other = make.lot(place=shed)
    counted(take, lot, 5 * KG)
    assert refused(end_stocktake, "uncounted", stocktake=take).facts["things"] == [other.code_id]
    done = do(end_stocktake, stocktake=take, leave_uncounted=True, note="cupboard locked")
    assert done.note == f"cupboard locked · Not counted: {other.spaced_code}"
    assert not Movement.objects.filter(cause="count").exists()


def test_what_stands_there_and_is_not_in_the_book_is_found(take: Stocktake, lot: Item) -> None:
    stray = make.lot(quantity=2 * KG)
    counted(take, stray, 70_000, times=2)
    counted(take, lot, 5 * KG)
    do(end_stocktake, stocktake=take)
    assert ledger.quantity_at(stray, take.place) == 70_000
    assert Movement.objects.get(cause="count").source.kind == "found"


def test_nothing_more_goes_into_a_stocktake_that_ended(take: Stocktake, lot: Item) -> None:
    counted(take, lot, 5 * KG)
    do(end_stocktake, coordinator("Ida Holm"), stocktake=take)
    for command, facts in (
        (end_stocktake, {}), (leave_stocktake, {"reason": "x"}), (count_in, {"item": lot, "quantity": 1}),
    ):  # fmt: skip
        assert "Ida Holm" in refused(command, "ended", stocktake=take, **facts).sentence


def test_given_up_it_leaves_the_book_alone(take: Stocktake, lot: Item) -> None:
    counted(take, lot, 1 * KG, times=2)
    refused(leave_stocktake, "reason", stocktake=take, reason=" ")
    assert do(leave_stocktake, stocktake=take, reason="too cold").state == "left"
    assert ledger.on_hand(lot) == 5 * KG


def test_what_moves_after_a_count_does_not_matter(take: Stocktake, lot: Item, shed: Place) -> None:
    other = make.shed()
    do(stock.transfer, item=lot, source=shed, target=other, quantity=1 * KG)
    counted(take, lot, 3_900_000, times=2)
    do(stock.draw, item=lot, place=shed, quantity=500_000)
    do(stock.transfer, item=lot, source=other, target=shed, quantity=1 * KG)
    do(end_stocktake, stocktake=take)
    assert ledger.quantity_at(lot, shed) == 3_900_000 - 500_000 + 1 * KG


def test_more_drawn_than_the_book_held_was_there_when_it_was_counted(take: Stocktake, lot: Item, shed: Place) -> None:
    counted(take, lot, 5_100_000, times=2)
    do(stock.draw, item=lot, place=shed, quantity=5_100_000)
    do(end_stocktake, stocktake=take)
    assert ledger.quantity_at(lot, shed) == 0


def test_a_draw_typed_in_late_is_not_taken_off_twice(take: Stocktake, lot: Item, shed: Place) -> None:
    counted(take, lot, 4 * KG)
    before = timezone.now() - dt.timedelta(hours=1)
    do(stock.draw, item=lot, place=shed, quantity=1 * KG, happened_at=before)
    do(end_stocktake, stocktake=take)
    assert ledger.quantity_at(lot, shed) == 4 * KG
    assert Count.objects.get().book == 4 * KG


def test_a_correction_of_what_was_before_is_not_written_twice(take: Stocktake, lot: Item, shed: Place) -> None:
    counted(take, lot, 4 * KG)
    received = Movement.objects.get(cause="receive", item=lot)
    do(correcting.correct, movement=received, quantity=4 * KG, note="short by a sack")
    do(end_stocktake, stocktake=take)
    assert ledger.quantity_at(lot, shed) == 4 * KG


def test_what_was_counted_by_itself_meanwhile_is_not_written_twice(take: Stocktake, lot: Item, shed: Place) -> None:
    counted(take, lot, 4 * KG)
    do(count_one, item=lot, place=shed, quantity=4 * KG)
    do(end_stocktake, stocktake=take)
    assert ledger.quantity_at(lot, shed) == 4 * KG


def test_what_a_sheet_said_may_be_typed_in_later(shed: Place) -> None:
    now = timezone.now()
    item = make.lot(place=shed, quantity=5 * KG, happened_at=now - dt.timedelta(hours=3))
    take = do(begin_stocktake, place=shed)
    do(stock.draw, item=item, place=shed, quantity=1 * KG, happened_at=now - dt.timedelta(hours=1))
    row = counted(take, item, 4_900_000, times=2, happened_at=now - dt.timedelta(hours=2))
    assert row.book == 5 * KG
    do(end_stocktake, stocktake=take)
    assert ledger.quantity_at(item, shed) == 3_900_000


def test_nothing_is_asked_of_the_books_afterwards(take: Stocktake, lot: Item) -> None:
    counted(take, lot, 4 * KG, times=2)
    do(end_stocktake, stocktake=take)
    assert [*proofs.holdings(), *proofs.edges()] == []
    assert not Question.objects.exists()
