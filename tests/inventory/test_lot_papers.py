"""What was typed about a lot is set right: with a reason, on record, with a question on what was made of it."""

import datetime as dt
from typing import Any

import pytest

from coop.command import Refused
from inventory import holds
from inventory.commands.lots import change_lot
from inventory.models import Amendment, Item, Place, Question
from tests.makers import brew
from tests.makers import inventory as make
from tests.makers.coop import do

pytestmark = pytest.mark.django_db


def used(**facts: Any) -> tuple[Item, Item]:
    """A lot of acid, and a mix it went into."""
    shed = make.shed()
    acid = make.lot(place=shed, **facts)
    return acid, brew.mix((acid, shed, 400), (make.lot(make.glycerine(), shed), shed, 600))


def test_a_change_keeps_what_stood_there_before() -> None:
    item, other = make.lot(supplier_lot="OX-L", price_cents=100), make.supplier()
    change = do(
        change_lot,
        item=item,
        reason="the bill came",
        supplier=other,
        supplier_lot=" OX-K ",
        price_cents=11_250,
        best_before=dt.date(2030, 1, 1),
        grade="",
    )
    item.refresh_from_db(), item.lot.refresh_from_db()
    assert (item.lot.supplier, item.lot.supplier_lot, item.lot.price_cents) == (other, "OX-K", 11_250)
    assert item.best_before == dt.date(2030, 1, 1)
    assert {*change.before} == {*change.after} == {"supplier", "supplier_lot", "price_cents", "best_before"}
    assert (change.before["price_cents"], change.after["best_before"]) == (100, "2030-01-01")


@pytest.mark.parametrize("form", ["unknown", "anhydrous"])
def test_a_used_lot_that_is_not_the_dihydrate_after_all_asks_about_what_was_made_of_it(form: str) -> None:
    acid, mix = used()
    soak = brew.soak((mix, 500))
    do(change_lot, item=acid, form=form, reason="the label says so")
    acid.lot.refresh_from_db()
    assert (acid.lot.form, acid.lot.is_form_verified, acid.lot.certificate_names_form) == (form, False, False)
    [question] = Question.objects.filter(kind="papers")
    assert (question.item, question.item == soak) == (mix, False)
    assert acid.spaced_code in question.text
    assert "the label says so" in question.text


def test_another_assay_of_a_used_lot_asks_as_well_and_other_facts_do_not() -> None:
    acid, mix = used(assay_ppb=990_000_000)
    do(change_lot, item=acid, grade="pure", price_cents=5, reason="read again")
    assert not Question.objects.exists()
    do(change_lot, item=acid, assay_ppb=940_000_000, reason="a slip of the pen")
    assert Question.objects.get().item == mix


def test_a_lot_not_used_yet_asks_nothing() -> None:
    do(change_lot, item=make.lot(), form="unknown", reason="no paper")
    assert not Question.objects.exists()


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"grade": "pure", "reason": "  "}, "reason"),
        ({}, "same"),
        ({"form": "dihydrate"}, "same"),
        ({"form": "none"}, "form"),
        ({"assay_ppb": 0}, "assay"),
        ({"price_cents": -1}, "price"),
        ({"best_before": dt.date(207, 3, 1)}, "best_before"),
        ({"received_quantity": 5}, "fixed"),
    ],
)
def test_what_cannot_be_is_refused_and_changes_nothing(changes: dict[str, Any], code: str) -> None:
    item = make.lot()
    with pytest.raises(Refused) as refusal:
        do(change_lot, item=item, **{"reason": "read again", **changes})
    assert refusal.value.code == code
    assert not Amendment.objects.exists()


def test_only_acid_has_a_form() -> None:
    with pytest.raises(Refused) as refusal:
        do(change_lot, item=make.lot(make.glycerine()), form="dihydrate", reason="x")
    assert refusal.value.code == "form"


def test_a_lot_of_a_delivery_keeps_the_supplier_of_the_delivery() -> None:
    item = make.delivery().lots.get().item
    with pytest.raises(Refused) as refusal:
        do(change_lot, item=item, supplier=make.supplier(), reason="read again")
    assert refusal.value.code == "delivery"


def test_a_hold_is_not_lifted_by_better_papers() -> None:
    item = make.lot(hold_reason="no paper", form="unknown")
    do(change_lot, item=item, form="dihydrate", reason="the paper came")
    assert holds.holds_of(item)
    assert Place.objects.filter(holdings__item=item).count() == 1
