"""Set right by name: the wrong movement, its reverse, and the right one all stay."""

import pytest

from coop.command import Refused
from inventory import ledger
from inventory.commands.correcting import correct, settle_question
from inventory.commands.stock import draw
from inventory.models import Item, Movement, Place, Question
from tests.makers import inventory as make
from tests.makers.coop import do

pytestmark = pytest.mark.django_db


@pytest.fixture
def shed() -> Place:
    return make.shed()


@pytest.fixture
def item(shed: Place) -> Item:
    return make.lot(place=shed, quantity=1_000)


def test_a_wrong_amount_is_reversed_and_written_again(item: Item, shed: Place) -> None:
    wrong = do(draw, item=item, place=shed, quantity=900)
    right = do(correct, movement=wrong, quantity=90, note="a nought too many")
    assert ledger.on_hand(item) == 910
    assert (right.quantity, right.replaces, right.cause) == (90, wrong, "draw")
    assert wrong.reversed_by.cause == "correct"


def test_a_correction_says_what_was_wrong(item: Item, shed: Place) -> None:
    wrong = do(draw, item=item, place=shed, quantity=900)
    with pytest.raises(Refused) as refusal:
        do(correct, movement=wrong, quantity=90, note=" ")
    assert (refusal.value.code, refusal.value.facts["field"]) == ("note", "note")
    assert ledger.on_hand(item) == 100


def test_what_corrects_names_what_it_corrects(item: Item, shed: Place) -> None:
    wrong = do(draw, item=item, place=shed, quantity=900)
    right = do(correct, movement=wrong, quantity=90, note="a nought too many")
    assert [right.corrects, wrong.reversed_by.corrects, wrong.corrects] == [wrong, wrong, None]


def test_what_never_happened_is_set_to_zero(item: Item, shed: Place) -> None:
    wrong = do(draw, item=item, place=shed, quantity=900)
    assert do(correct, movement=wrong, quantity=0, note="a slip") is None
    assert ledger.on_hand(item) == 1_000


def test_it_can_be_set_right_again_but_each_movement_once(item: Item, shed: Place) -> None:
    wrong = do(draw, item=item, place=shed, quantity=900)
    right = do(correct, movement=wrong, quantity=90, note="a slip")
    cases = [(wrong, 80, "corrected_already"), (wrong.reversed_by, 80, "is_correction"), (right, 90, "same")]
    for movement, quantity, code in cases:
        with pytest.raises(Refused) as refusal:
            do(correct, movement=movement, quantity=quantity, note="a slip")
        assert refusal.value.code == code
    do(correct, movement=right, quantity=80, note="a slip")
    assert ledger.on_hand(item) == 920


def test_a_lot_that_was_smaller_leaves_found_stock_where_more_was_used(item: Item, shed: Place) -> None:
    do(draw, item=item, place=shed, quantity=900)
    do(correct, movement=item.movements.get(cause="receive"), quantity=800, note="a slip")
    assert ledger.on_hand(item) == 0
    assert Movement.objects.get(cause="found").quantity == 100
    assert Question.objects.get().kind == "found"
    item.lot.refresh_from_db()
    assert item.lot.received_quantity == 800


def test_another_rooms_movement_is_set_right_there(item: Item, shed: Place) -> None:
    move = ledger.Move(item, shed, Place.objects.the(Place.Kind.LOST), 10, "loss")
    movement = ledger.post(item.deed, [move], fact=True).movements[0]
    with pytest.raises(Refused) as refusal:
        do(correct, movement=movement, quantity=5, note="a slip")
    assert refusal.value.code == "elsewhere"


def test_a_question_is_settled_once_and_with_an_answer(item: Item, shed: Place) -> None:
    do(draw, item=item, place=shed, quantity=1_001)
    question = Question.objects.get()
    with pytest.raises(Refused):
        do(settle_question, question=question, answer=" ")
    settled = do(settle_question, question=question, answer="The scale was not at zero.")
    assert settled.settled_by is not None
    with pytest.raises(Refused) as refusal:
        do(settle_question, question=question, answer="again")
    assert refusal.value.code == "settled_already"
