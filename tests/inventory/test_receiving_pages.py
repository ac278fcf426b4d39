"""Receiving on pages: a delivery is begun, filled lot by lot, and nothing typed is lost."""

import datetime as dt
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from coop.command import new_key
from inventory import ledger
from inventory.commands.ordering import order as place_order
from inventory.models import Delivery, Item, Order
from tests.makers import inventory as make
from tests.makers import papers
from tests.makers.coop import club, coordinator, do, member, sign_in, volunteer

pytestmark = pytest.mark.django_db

KG = make.KG


@pytest.fixture
def keeper() -> Any:
    return sign_in(Client(), coordinator("Ida Holm"))


def url(name: str, *args: Any, **query: Any) -> str:
    return reverse(f"inventory:{name}", args=args, query=query)


def facts(**more: Any) -> dict[str, Any]:
    return {"key": new_key(), "quantity": "25 kg", "price_cents": "112,50", **more}


def test_who_may_receive_and_who_may_read() -> None:
    delivery = make.delivery()
    lot = delivery.lots.get().item
    strips = make.lot(make.strips())
    read = [url("deliveries"), url("delivery", delivery.pk)]
    write = [
        url("receive_choose"),
        url("delivery_change", delivery.pk),
        url("receive", lot.material_id, delivery=delivery.pk),
        url("lot_change", lot.code_id),
        url("strip_sample", strips.code_id),
    ]
    keeper, helper, stranger = (sign_in(Client(), one()) for one in (coordinator, volunteer, member))
    for address in read + write:
        assert keeper.get(address).status_code == 200, address
        assert helper.get(address).status_code == (200 if address in read else 403), address
        assert stranger.get(address).status_code == 403, address
        assert Client().get(address).status_code == 302, address


def test_before_anything_can_come_in_the_page_says_what_is_missing(keeper: Client) -> None:
    for made, sentence in (
        (make.shed, "First say where things are kept."),
        (make.supplier, "First say who it comes from"),
        (make.acid, "First say what the club keeps."),
    ):
        assert sentence in keeper.get(url("receive_choose")).content.decode()
        made()
    assert "Who brought what?" in keeper.get(url("receive_choose")).content.decode()


def test_a_delivery_is_begun_and_filled_lot_by_lot(keeper: Client) -> None:
    shed, supplier = make.shed(), make.supplier(name="Calder")
    other = make.acid(name="Another acid")
    acid = make.acid(name="Usual acid", supplier=supplier)
    answer = keeper.post(url("receive_choose"), {"key": new_key(), "supplier": supplier.pk, "paper_number": "4711"})
    delivery = Delivery.objects.get()
    assert answer["Location"] == url("delivery", delivery.pk)
    page = keeper.get(answer["Location"])
    assert page.context["materials"] == [acid, other]
    assert f"{url('receive', acid.pk)}?delivery={delivery.pk}" in page.content.decode()
    for material in (acid, other):
        address = url("receive", material.pk, delivery=delivery.pk)
        assert 'name="supplier"' not in keeper.get(address).content.decode()
        done = keeper.post(address, facts(place=shed.pk, form="dihydrate"))
        assert done["Location"] == url("delivery", delivery.pk)
    page = keeper.get(url("delivery", delivery.pk))
    assert page.context["title"] == "2 lots from Calder"
    assert all(lot.item.spaced_code[:4] in page.content.decode() for lot in delivery.lots.all())
    assert {lot.supplier for lot in delivery.lots.all()} == {supplier}
    assert url("delivery_labels", delivery.pk) in page.content.decode()
    assert url("delivery", delivery.pk) in keeper.get(url("receive_choose")).content.decode()  # to carry on with


def test_the_same_note_again_is_asked_about_on_the_page(keeper: Client) -> None:
    make.shed(), make.acid()
    supplier = make.supplier()
    told = {"supplier": supplier.pk, "paper_number": "4711"}
    assert keeper.post(url("receive_choose"), {"key": new_key(), **told}).status_code == 302
    again = keeper.post(url("receive_choose"), {"key": new_key(), **told})
    assert again.status_code == 422
    assert 'type="checkbox" name="confirmed"' in again.content.decode()
    assert keeper.post(url("receive_choose"), {"key": new_key(), "confirmed": "on", **told}).status_code == 302


def test_an_unknown_delivery_is_not_found(keeper: Client) -> None:
    acid = make.acid()
    for asked in ("999", "x", "-1", "9" * 40):
        assert keeper.get(url("receive", acid.pk, delivery=asked)).status_code == 404


def ordered(material: Any, **more: Any) -> Order:
    told = {"quantity": 7_500_000, "expected_on": club().today() + dt.timedelta(days=3), "confirmed": True, **more}
    made: Order = do(place_order, material=material, **told)
    return made


def test_an_open_order_is_offered_and_closed_with_the_lot(keeper: Client) -> None:
    shed, supplier, acid = make.shed(), make.supplier(), make.acid()
    order = ordered(acid, supplier=supplier)
    delivery = make.delivery(lots=0, supplier=supplier)
    assert "7\u202f500\u202fg" in keeper.get(url("delivery", delivery.pk)).content.decode()
    address = url("receive", acid.pk, delivery=delivery.pk)
    page = keeper.get(address).content.decode()
    assert "This is the order of" in page
    told = facts(place=shed.pk, form="dihydrate", order=order.pk)
    assert keeper.post(address, told).status_code == 302
    order.refresh_from_db()
    assert (order.outcome, order.ended_by) == ("arrived", Item.objects.get().deed)
    assert keeper.post(address, told).status_code == 302  # a second tap finds it done
    assert Item.objects.count() == 1
    assert "This is the order of" not in keeper.get(address).content.decode()
    assert keeper.post(address, facts(place=shed.pk, form="dihydrate", order=order.pk)).status_code == 422


def test_grams_for_kilograms_are_asked_about_and_ticked(keeper: Client) -> None:
    shed, supplier = make.shed(), make.supplier()
    acid = make.acid(least_at_once=1 * KG, most_at_once=50 * KG)
    told = facts(quantity="25", place=shed.pk, supplier=supplier.pk, form="dihydrate", grade="pure")
    answer = keeper.post(url("receive", acid.pk), told)
    page = answer.content.decode().replace("\u202f", " ")
    assert answer.status_code == 422
    assert "Did you mean 25 kg?" in page
    assert 'type="checkbox" name="confirmed"' in page
    assert 'value="pure"' in page
    assert keeper.post(url("receive", acid.pk), {**told, "quantity": "25 kg"}).status_code == 302
    assert ledger.on_hand(Item.objects.get()) == 25 * KG


@pytest.mark.parametrize(
    "content",
    [
        b"just text",
        b"%PDF-1.7 cut",
        papers.pdf()[:200],
        papers.picture()[:60] + b"rubbish",
        b"",
        b"%PDF-" + b"x" * 1_000_001,
    ],
)
def test_a_paper_that_is_none_gets_a_sentence_and_the_form_stays_as_typed(keeper: Client, content: bytes) -> None:
    shed, supplier, acid = make.shed(), make.supplier(), make.acid()
    told = facts(place=shed.pk, supplier=supplier.pk, form="dihydrate", grade="chemically pure", name_1="sack")
    told["certificate"] = SimpleUploadedFile("paper.pdf", content, "application/pdf")
    answer = keeper.post(url("receive", acid.pk), told)
    assert answer.status_code == 422
    page = answer.content.decode()
    assert answer.context["form"].errors["certificate"]
    for typed in ('value="chemically pure"', 'value="25 kg"', 'value="112,50"', 'value="sack"', told["key"]):
        assert typed in page
    assert not Item.objects.exists()


@pytest.mark.parametrize(
    ("content", "kind"), [(papers.pdf(), "application/pdf"), (papers.picture("JPEG"), "image/jpeg")]
)
def test_a_certificate_comes_in_with_the_lot_and_is_given_back_safely(
    keeper: Client, content: bytes, kind: str
) -> None:
    shed, supplier, acid = make.shed(), make.supplier(), make.acid()
    told = facts(place=shed.pk, supplier=supplier.pk, form="unknown", certificate_names_form="on")
    told["certificate"] = SimpleUploadedFile("../Ż<script>.txt", content, "text/html")
    assert keeper.post(url("receive", acid.pk), told).status_code == 302
    lot = Item.objects.get().lot
    assert lot.is_form_verified
    paper = keeper.get(url("certificate", lot.item.code_id.lower()))
    assert (paper.content, paper["Content-Type"]) == (content, kind)
    assert paper["X-Content-Type-Options"] == "nosniff"
    assert paper["Content-Disposition"].startswith(f'attachment; filename="certificate-{lot.item.code_id}.')


HOSTILE = ["-5", "NaN", "1e99", "1,000.5", "", "x" * 200, "٢٥", "二十五", "25 lb", "0", "infinity"]


@pytest.mark.parametrize("text", HOSTILE)
def test_what_is_no_amount_gets_a_sentence(keeper: Client, text: str) -> None:
    shed, supplier, acid = make.shed(), make.supplier(), make.acid()
    told = facts(place=shed.pk, supplier=supplier.pk, form="dihydrate", quantity=text, supplier_lot="ΩЖ字")
    answer = keeper.post(url("receive", acid.pk), told)
    if answer.status_code == 302:  # digits of another script are digits
        assert ledger.on_hand(Item.objects.get()) == 25_000
    else:
        assert answer.status_code == 422
        assert 'value="ΩЖ字"' in answer.content.decode()
        assert not Item.objects.exists()


def test_names_of_two_hundred_characters_get_a_sentence(keeper: Client) -> None:
    make.acid(), make.shed()
    answer = keeper.post(
        url("receive_choose"), {"key": new_key(), "supplier": make.supplier().pk, "paper_number": "x" * 200}
    )
    assert answer.status_code == 422
    assert not Delivery.objects.exists()


def test_another_supplier_of_the_delivery_is_set_on_a_page(keeper: Client) -> None:
    delivery, other = make.delivery(), make.supplier()
    told = {"key": new_key(), "supplier": other.pk, "paper_number": "4712"}
    assert keeper.post(url("delivery_change", delivery.pk), told).status_code == 302
    assert delivery.lots.get().supplier == other


@pytest.mark.parametrize("name", ["deliveries", "delivery"])
def test_three_rows_ask_no_more_queries_than_one(keeper: Client, name: str) -> None:
    supplier, shed, acid = make.supplier(), make.shed(), make.acid()
    delivery = make.delivery(supplier=supplier, place=shed, material=acid, hold_reason="wet")  # a hold is walked once
    ordered(acid, supplier=supplier)
    address = url(name, *([delivery.pk] if name == "delivery" else []))

    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert keeper.get(address).status_code == 200
        return len(seen)

    queries()
    before = queries()
    for _number in range(2):
        make.lot(make.acid(), make.shed(), supplier=supplier, delivery=delivery)
        make.delivery(lots=2)
        ordered(make.glycerine(), supplier=supplier)
    assert queries() == before
