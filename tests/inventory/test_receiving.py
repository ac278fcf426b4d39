"""A lot comes in: whole, with its facts, once."""

import datetime as dt

import pytest

from coop.command import Refused
from inventory import holds, ledger
from inventory.commands.receiving import receive
from inventory.models import Item, Movement, Place, Question
from tests.makers import inventory as make
from tests.makers.coop import do

pytestmark = pytest.mark.django_db


def test_a_lot_comes_in_with_its_facts_and_a_code() -> None:
    acid, shed, supplier = make.acid(), make.shed(), make.supplier()
    item = do(
        receive,
        material=acid,
        supplier=supplier,
        quantity=25 * make.KG,
        place=shed,
        supplier_lot=" OX-K ",
        form="dihydrate",
        certificate_names_form=True,
        best_before=dt.date(2028, 9, 30),
        price_cents=11250,
        containers=[{"name": "sack 1", "tare_mg": 120_000, "gross_mg": 25_120_000}],
    )
    assert ledger.on_hand(item) == 25 * make.KG
    assert (item.lot.supplier_lot, item.lot.form, item.lot.is_form_verified) == ("OX-K", "dihydrate", True)
    assert item.lot.containers.get().name == "sack 1"
    movement = item.movements.get()
    assert (movement.source.kind, movement.target, movement.cause) == (Place.Kind.SUPPLIER, shed, "receive")
    assert len(item.code_id) == 8


def test_an_acid_lot_of_unknown_form_is_kept_as_unknown() -> None:
    item = make.lot(make.acid(), form="none", certificate_names_form=False)
    assert item.lot.form == "unknown"
    assert not item.lot.is_form_verified


def test_a_lot_may_be_put_on_hold_on_arrival() -> None:
    item = make.lot(hold_reason="torn sack")
    assert [hold.reason for hold in holds.holds_of(item)] == ["torn sack"]
    assert ledger.on_hand(item) == 5 * make.KG


def test_more_than_usual_is_questioned_and_then_believed() -> None:
    acid = make.acid(most_at_once=50 * make.KG)
    with pytest.raises(Refused) as refusal:
        make.lot(acid, quantity=250 * make.KG)
    assert refusal.value.code == "did_you_mean"
    assert not Item.objects.exists()
    assert ledger.on_hand(make.lot(acid, quantity=250 * make.KG, confirmed=True)) == 250 * make.KG


@pytest.mark.parametrize(
    ("facts", "code"),
    [
        ({"quantity": 0}, "quantity"),
        ({"price_cents": -1}, "price"),
        ({"assay_ppb": 99_600_000_000}, "assay"),
        ({"best_before": dt.date(207, 3, 1)}, "best_before"),
        ({"best_before": dt.date(9999, 12, 31)}, "best_before"),
        ({"containers": [{"name": "a"}, {"name": "a"}]}, "container"),
        ({"containers": [{"name": "a", "tare_mg": 2, "gross_mg": 1}]}, "container"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_written(facts: dict, code: str) -> None:
    with pytest.raises(Refused) as refusal:
        make.lot(**facts)
    assert refusal.value.code == code
    assert not Item.objects.exists()
    assert not Movement.objects.exists()


def test_a_lot_is_not_received_into_a_place_that_is_no_shed() -> None:
    with pytest.raises(Refused) as refusal:
        make.lot(place=Place.objects.the(Place.Kind.LOST))
    assert refusal.value.code == "place"


def test_receiving_asks_no_question() -> None:
    make.lot()
    assert not Question.objects.exists()
