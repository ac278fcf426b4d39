"""manage.py prove names every difference, and says nothing where there is none."""

import io
import re

import pytest
from django.core.management import call_command
from django.db import connection

from coop import triggers
from inventory import proofs
from inventory.models import Edge, Hold, Holding, Item, Lot, Movement, Place, Question
from tests.makers import brew
from tests.makers import inventory as make

pytestmark = pytest.mark.django_db


@pytest.fixture
def mix() -> Item:
    shed = make.shed()
    return brew.mix((make.lot(place=shed, quantity=500), shed, 400))


def test_honest_books_prove(mix: Item) -> None:
    out = io.StringIO()
    names = [
        f"inventory.{one}" for one in ("holdings", "edges", "no_circle", "corrections", "items", "questions", "holds")
    ]
    call_command("prove", *names, stdout=out)
    assert out.getvalue().count("agrees") == len(names)


def test_a_wrong_holding_and_one_at_a_boundary_are_named(mix: Item) -> None:
    Holding.objects.filter(item=mix).update(quantity=399)
    assert list(proofs.holdings()) == [
        f"holding of item {mix.pk} in place {mix.holdings.get().place_id} is 399, the movements say 400"
    ]
    triggers.lift()
    Holding.objects.create(item=mix, place=Place.objects.the(Place.Kind.MADE), quantity=0)
    assert any("boundary" in sentence for sentence in proofs.holdings())
    out, err = io.StringIO(), io.StringIO()
    with pytest.raises(SystemExit) as leaving:
        call_command("prove", "inventory.holdings", stdout=out, stderr=err)
    assert leaving.value.code == 1
    assert "the movements say 400" in out.getvalue()
    assert "2 differences" in err.getvalue()


def test_a_wrong_edge_and_a_circle_are_named(mix: Item) -> None:
    edge = Edge.objects.get()
    Edge.objects.create(parent=edge.child, child=edge.parent, mass_mg=1)
    assert list(proofs.edges()) == [
        f"edge {edge.child_id} to {edge.parent_id} is 1 mg and 0 pieces, the movements say 0 mg and 0 pieces"
    ]
    assert list(proofs.no_circle()) == [
        f"made from themselves, or from what is: items {sorted([edge.parent_id, edge.child_id])}"
    ]


def test_a_found_movement_without_its_question_is_named() -> None:
    shed = make.shed()
    brew.mix((make.lot(place=shed, quantity=500), shed, 501))
    assert list(proofs.questions()) == []
    Question.objects.all().delete()
    assert list(proofs.questions()) == [
        f"found stock in movement {Movement.objects.get(cause='found').pk} has no question"
    ]


def test_a_reversal_that_is_none_is_named(mix: Item) -> None:
    movement = Movement.objects.get(cause="weigh_in")
    brew.set_right(movement, 300)
    triggers.lift()
    with connection.cursor() as cursor:
        cursor.execute("UPDATE inventory_movement SET quantity = 7 WHERE reverses_id = %s", [movement.pk])
    assert list(proofs.corrections()) == [
        f"movement {movement.reversed_by.pk} is not the reverse of the movement it names"
    ]


def test_a_lot_without_facts_and_a_hold_that_begins_at_nothing_are_named() -> None:
    hold, item = make.hold(make.lot()), make.lot()
    Lot.objects.filter(item=item).delete()
    hold.seeds.all().delete()
    Hold.objects.update(lifted_at=item.made_at)
    assert list(proofs.items()) == [f"item {item.pk} is a lot without a lot's facts"]
    assert list(proofs.holds()) == [f"hold {hold.pk} begins at nothing", f"hold {hold.pk} is half lifted"]


def test_a_proof_that_is_not_there_is_told() -> None:
    out, err = io.StringIO(), io.StringIO()
    with pytest.raises(SystemExit) as leaving:
        call_command("prove", "nonsense", stdout=out, stderr=err)
    assert leaving.value.code == 2
    call_command("prove", "--list", stdout=out)
    assert "inventory.holdings" in out.getvalue()


def test_it_says_how_much_it_went_through_how_long_it_took_and_how_much_memory(mix: Item) -> None:
    out = io.StringIO()
    call_command("prove", "inventory.holdings", stdout=out)
    count = Movement.objects.count()
    last = out.getvalue().splitlines()[-1]
    assert re.fullmatch(rf"Went through {count} movements in \d+\.\d\d s, with \d+ MB at most\.", last), last
