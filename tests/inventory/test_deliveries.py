"""A delivery: several lots that came at once, entered one by one, or whole in one deed."""

import datetime as dt
from typing import Any

import pytest

from coop.command import Refused, new_key
from inventory import ledger
from inventory.commands.ordering import order as place_order
from inventory.commands.receiving import change_delivery, open_delivery, receive, receive_delivery
from inventory.models import Delivery, Item, Order
from tests.makers import inventory as make
from tests.makers import papers
from tests.makers.coop import club, do

pytestmark = pytest.mark.django_db

KG = make.KG


def on_order(material: Any, **facts: Any) -> Order:
    today = club().today()
    facts = {"quantity": 5 * KG, "expected_on": today + dt.timedelta(days=3), "confirmed": True, **facts}
    made: Order = do(place_order, material=material, **facts)
    return made


def test_lots_are_added_to_a_delivery_one_by_one() -> None:
    supplier, shed = make.supplier(), make.shed()
    delivery = do(open_delivery, supplier=supplier, paper_number="  LS 4711 ")
    acid = make.lot(make.acid(), shed, supplier=supplier, delivery=delivery)
    strips = make.lot(make.strips(), shed, supplier=supplier, delivery=delivery)
    assert delivery.paper_number == "LS 4711"
    assert [lot.item for lot in delivery.lots.order_by("pk")] == [acid, strips]
    assert ledger.on_hand(acid) == 5 * KG


def test_what_came_from_somebody_else_is_not_of_this_delivery() -> None:
    delivery = do(open_delivery, supplier=make.supplier())
    with pytest.raises(Refused) as refusal:
        make.lot(delivery=delivery, supplier=make.supplier())
    assert (refusal.value.code, refusal.value.facts["field"]) == ("delivery", "supplier")
    assert not Item.objects.exists()


def test_the_same_note_twice_is_asked_about() -> None:
    supplier = make.supplier()
    do(open_delivery, supplier=supplier, paper_number="4711")
    with pytest.raises(Refused) as refusal:
        do(open_delivery, supplier=supplier, paper_number="4711")
    assert refusal.value.code == "did_you_mean"
    do(open_delivery, supplier=supplier, paper_number="4711", confirmed=True)
    do(open_delivery, supplier=make.supplier(), paper_number="4711")
    do(open_delivery, supplier=supplier), do(open_delivery, supplier=supplier)
    assert Delivery.objects.count() == 5


def whole(**more: Any) -> dict[str, Any]:
    shed = make.shed()
    acid = {"material": make.acid(), "quantity": 25 * KG, "place": shed, "form": "dihydrate", "price_cents": 11_250}
    glycerine = {"material": make.glycerine(), "quantity": 12 * KG, "place": shed, "best_before": dt.date(2030, 1, 1)}
    return {"supplier": make.supplier(), "paper_number": "4711", "lots": [acid, {**glycerine, **more}]}


def test_a_whole_delivery_is_one_deed() -> None:
    delivery = do(receive_delivery, **whole(containers=[{"name": "can"}], hold_reason="wet"))
    items = [lot.item for lot in delivery.lots.order_by("pk")]
    assert {item.deed for item in items} == {delivery.deed}
    assert [ledger.on_hand(item) for item in items] == [25 * KG, 12 * KG]
    assert items[0].lot.supplier == delivery.supplier


@pytest.mark.parametrize(
    ("more", "code"), [({"quantity": 0}, "quantity"), ({"certificate_content": b"%PDF-no"}, "document")]
)
def test_all_of_it_or_nothing(more: dict[str, Any], code: str) -> None:
    with pytest.raises(Refused) as refusal:
        do(receive_delivery, **whole(**more))
    assert (refusal.value.code, refusal.value.facts["lot"]) == (code, 2)
    assert refusal.value.sentence.startswith("Lot 2: ")
    assert not Delivery.objects.exists()
    assert not Item.objects.exists()


def test_a_whole_delivery_has_a_lot() -> None:
    with pytest.raises(Refused) as refusal:
        do(receive_delivery, supplier=make.supplier(), lots=[])
    assert refusal.value.code == "lots"


def test_a_double_tap_receives_once() -> None:
    facts, key = whole(), new_key()
    assert do(receive_delivery, key=key, **facts) == do(receive_delivery, key=key, **facts)
    assert Item.objects.count() == 2


def test_an_order_arrives_with_its_lot_in_the_same_deed() -> None:
    acid, supplier = make.acid(), make.supplier()
    order = on_order(acid, supplier=supplier)
    item = make.lot(acid, supplier=supplier, order=order)
    order.refresh_from_db()
    assert (order.outcome, order.ended_by) == ("arrived", item.deed)
    assert not Order.objects.open().exists()


def test_what_has_not_come_yet_stays_on_order() -> None:
    """50 kg ordered, 20 come and 29 after them: within a twentieth that is all of it."""
    acid, supplier = make.acid(), make.supplier()
    order = on_order(acid, supplier=supplier, quantity=50 * make.KG)
    make.lot(acid, supplier=supplier, order=order, quantity=20 * make.KG)
    rest = Order.objects.open().get()
    assert (rest.quantity, rest.ordered_on, rest.supplier) == (30 * make.KG, order.ordered_on, supplier)
    make.lot(acid, supplier=supplier, order=rest, quantity=29 * make.KG)
    assert not Order.objects.open().exists()


def test_two_lots_of_one_delivery_count_together_against_their_order() -> None:
    facts = whole()
    acid = facts["lots"][0]
    order = on_order(acid["material"], supplier=facts["supplier"], quantity=3 * acid["quantity"])
    facts["lots"] = [{**acid, "order": order}, {**acid, "order": order}]
    do(receive_delivery, **facts)
    assert Order.objects.open().get().quantity == acid["quantity"]


def test_two_lots_of_a_delivery_may_be_of_one_order() -> None:
    facts = whole()
    acid = facts["lots"][0]
    order = on_order(acid["material"], supplier=facts["supplier"])
    facts["lots"] = [{**acid, "order": order}, {**acid, "order": order}]
    assert do(receive_delivery, **facts).lots.count() == 2


def test_an_order_is_of_its_material_and_supplier_and_arrives_once() -> None:
    acid, supplier = make.acid(), make.supplier()
    order = on_order(acid, supplier=supplier)
    for facts in ({"material": make.acid(), "supplier": supplier}, {"material": acid}):
        with pytest.raises(Refused) as refusal:
            make.lot(order=order, **facts)
        assert refusal.value.code == "order"
    assert Order.objects.open().exists()
    make.lot(acid, supplier=supplier, order=order)
    with pytest.raises(Refused) as refusal:
        make.lot(acid, supplier=supplier, order=order)
    assert refusal.value.code == "order"
    assert Item.objects.count() == 1


def test_another_supplier_of_a_delivery_goes_for_its_lots() -> None:
    delivery, other = make.delivery(lots=2), make.supplier()
    do(change_delivery, delivery=delivery, supplier=other, paper_number="7")
    delivery.refresh_from_db()
    assert (delivery.supplier, delivery.paper_number) == (other, "7")
    assert {lot.supplier for lot in delivery.lots.all()} == {other}


def test_a_certificate_at_the_door_names_the_form() -> None:
    facts = {"material": make.acid(), "supplier": make.supplier(), "place": make.shed(), "quantity": KG}
    item = do(
        receive,
        **facts,
        form="unknown",
        certificate_name="a/b/c.pdf",
        certificate_content=papers.pdf(),
        certificate_names_form=True,
    )
    assert (item.lot.form, item.lot.is_form_verified) == ("dihydrate", True)
    assert item.lot.certificate.media_type == "application/pdf"
    assert item.lot.certificate.deed == item.deed
