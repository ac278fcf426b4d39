"""Drawn, moved, discarded: facts are kept, and what the book did not know becomes found stock."""

from typing import Any

import pytest

from coop.command import Refused
from inventory import ledger, proofs
from inventory.commands.stock import discard, draw, find, transfer
from inventory.models import Holding, Movement, Place, Question
from tests.makers import inventory as make
from tests.makers.coop import do

pytestmark = pytest.mark.django_db


@pytest.fixture
def shed() -> Place:
    return make.shed(name="Mill shed")


def test_what_is_drawn_leaves_the_shelf(shed: Place) -> None:
    item = make.lot(place=shed, quantity=2000)
    movement = do(draw, item=item, place=shed, quantity=500, note="a trial")
    assert ledger.on_hand(item) == 1500
    assert (movement.target.kind, movement.cause, movement.note) == ("used", "draw", "a trial")
    assert not Question.objects.exists()


def test_more_than_the_book_held_becomes_found_stock_with_a_question(shed: Place) -> None:
    item = make.lot(place=shed, quantity=480)
    do(draw, item=item, place=shed, quantity=500)
    assert ledger.on_hand(item) == 0
    found = Movement.objects.get(cause="found")
    assert (found.quantity, found.target, found.source.kind) == (20, shed, "found")
    question = Question.objects.get()
    assert (question.kind, question.movement, question.item) == ("found", found, item)


def test_drawing_from_what_is_on_hold_is_kept_and_questioned(shed: Place) -> None:
    item = make.lot(place=shed, hold_reason="torn sack")
    do(draw, item=item, place=shed, quantity=500)
    question = Question.objects.get()
    assert question.kind == "held"
    assert "torn sack" in question.text


def test_a_transfer_moves_between_sheds_and_makes_or_loses_nothing(shed: Place) -> None:
    other = make.shed()
    item = make.lot(place=shed, quantity=2000)
    do(transfer, item=item, source=shed, target=other, quantity=1500)
    assert dict(item.holdings.values_list("place", "quantity")) == {shed.pk: 500, other.pk: 1500}
    assert ledger.on_hand(item) == 2000


def test_what_is_on_hold_may_be_carried_to_quarantine(shed: Place) -> None:
    item = make.lot(place=shed, hold_reason="torn sack")
    do(transfer, item=item, source=shed, target=Place.objects.the(Place.Kind.QUARANTINE), quantity=5 * make.KG)
    assert ledger.on_hand(item) == 0


@pytest.mark.parametrize(("cause", "end"), [("discard", "destroyed"), ("spill", "lost")])
def test_discarded_is_destroyed_and_spilt_is_lost(shed: Place, cause: str, end: str) -> None:
    item = make.lot(place=shed, quantity=2000)
    do(discard, item=item, place=shed, quantity=2000, cause=cause)
    assert Holding.objects.get(item=item, quantity=2000).place.kind == end


def test_a_fact_that_cannot_be_understood_is_refused(shed: Place) -> None:
    item, closed, lost = make.lot(place=shed), make.shed(), Place.objects.the(Place.Kind.LOST)
    Place.objects.filter(pk=closed.pk).update(is_closed=True)
    closed.refresh_from_db()
    wrong = [
        (draw, {"place": shed, "quantity": 0}, "quantity"),
        (draw, {"place": lost, "quantity": 1}, "place"),
        (transfer, {"source": shed, "target": shed, "quantity": 1}, "place"),
        (transfer, {"source": shed, "target": lost, "quantity": 1}, "place"),
        (transfer, {"source": shed, "target": closed, "quantity": 1}, "place"),
        (discard, {"place": shed, "quantity": 1, "cause": "count"}, "cause"),
    ]
    for command, facts, code in wrong:
        with pytest.raises(Refused) as refusal:
            do(command, item=item, **facts)
        assert refusal.value.code == code
    assert ledger.on_hand(item) == 5 * make.KG


def test_a_request_takes_no_more_than_there_is(shed: Place) -> None:
    item = make.lot(place=shed, quantity=480)
    deed = item.deed
    move = ledger.Move(item, shed, Place.objects.the(Place.Kind.LOST), 500, "loss")
    with pytest.raises(Refused) as refusal:
        ledger.post(deed, [move], fact=False)
    assert refusal.value.facts == {"short": 20, "on_hand": 480}
    assert ledger.on_hand(item) == 480


def test_what_nobody_had_in_the_book_comes_in_with_its_question_settled(shed: Place) -> None:
    item = make.lot(place=shed, quantity=480)
    movement = do(find, item=item, place=shed, quantity=500, note=" Behind the door. ")
    assert (movement.source.kind, movement.target, movement.cause) == ("found", shed, "found")
    assert ledger.on_hand(item) == 980
    question = Question.objects.get()
    assert (question.movement, question.answer, question.settled_by) == (movement, "Behind the door.", movement.deed)
    assert list(proofs.questions()) == []


@pytest.mark.parametrize(
    ("facts", "code"), [({"note": " "}, "note"), ({"quantity": 0}, "quantity"), ({"quantity": -1}, "quantity")]
)
def test_found_stock_needs_an_amount_and_a_word(shed: Place, facts: dict[str, Any], code: str) -> None:
    item = make.lot(place=shed, quantity=480)
    with pytest.raises(Refused) as refusal:
        do(find, **({"item": item, "place": shed, "quantity": 5, "note": "there"} | facts))
    assert refusal.value.code == code
    assert ledger.on_hand(item) == 480


@pytest.mark.parametrize("command", [draw, discard, find, transfer])
def test_kilograms_for_grams_are_asked_about_once(shed: Place, command: Any) -> None:
    item = make.lot(make.acid(most_at_once=25 * make.KG), shed)
    facts: dict[str, Any] = {"item": item, "quantity": 500 * make.KG, "note": "by the look of it"}
    facts |= {"source": shed, "target": make.shed()} if command is transfer else {"place": shed}
    with pytest.raises(Refused) as refusal:
        do(command, **facts)
    assert (refusal.value.code, refusal.value.facts["field"]) == ("did_you_mean", "quantity")
    assert do(command, **facts, confirmed=True).quantity == 500 * make.KG


def test_what_the_book_has_is_taken_without_being_asked(shed: Place) -> None:
    item = make.lot(make.acid(most_at_once=make.KG), shed, confirmed=True)
    assert do(draw, item=item, place=shed, quantity=5 * make.KG).quantity == 5 * make.KG
