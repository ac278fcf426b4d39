"""Orders: noted with what the supplier needs, ended once, never moving anything."""

import datetime as dt
from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from coop.command import Refused, new_key
from inventory import outlook
from inventory.commands.ordering import end_order, expect_order, order
from inventory.models import Holding, Material, Movement, Order
from tests.makers import inventory as make
from tests.makers.api import Api
from tests.makers.coop import coordinator, do, member, sign_in, volunteer

pytestmark = pytest.mark.django_db
KG = make.KG
TODAY = dt.date(2027, 2, 15)
DAY = dt.timedelta(days=1)


@pytest.fixture(autouse=True)
def clock() -> Iterator[Any]:
    with time_machine.travel(dt.datetime(2027, 2, 15, 9, 0, tzinfo=dt.UTC), tick=False) as moving:
        yield moving


@pytest.fixture
def acid() -> Material:
    supplier = make.supplier(name="Calder", lead_days=21)
    return make.acid(name="Oxalic acid dihydrate", low_level=2 * KG, pack_size=KG, supplier=supplier)


@pytest.fixture
def keeper() -> Client:
    client: Client = sign_in(Client(), coordinator())
    return client


def refused(command: Any, **facts: Any) -> str:
    with pytest.raises(Refused) as refusal:
        do(command, **facts)
    return refusal.value.code


def test_an_order_takes_the_usual_supplier_and_the_days_it_needs(acid: Material) -> None:
    made = do(order, material=acid, quantity=7 * KG, note=" by telephone ")
    assert (made.supplier, made.ordered_on, made.expected_on) == (acid.supplier, TODAY, TODAY + 21 * DAY)
    assert (made.note, made.outcome, made.ended_by) == ("by telephone", "", None)
    assert not Movement.objects.exists()
    assert not Holding.objects.exists()


def test_another_supplier_and_other_days_can_be_said(acid: Material) -> None:
    other = make.supplier(lead_days=3)
    facts = {"material": acid, "quantity": KG, "supplier": other}
    assert do(order, **facts).expected_on == TODAY + 3 * DAY
    assert do(order, **facts, ordered_on=TODAY - 5 * DAY).expected_on == TODAY - 2 * DAY
    assert do(order, **facts, expected_on=TODAY).expected_on == TODAY


def test_the_outlook_counts_it_on_its_day(acid: Material) -> None:
    do(order, material=acid, quantity=2 * KG)
    found = outlook.for_materials(TODAY, [acid])[0]
    assert [(step.day, step.change) for step in found.projection.steps] == [(TODAY + 21 * DAY, 2 * KG)]
    assert found.projection.buy == 0


def test_what_cannot_be_right_is_refused(acid: Material) -> None:
    nobody = make.acid()
    good: dict[str, Any] = {"material": acid, "quantity": KG}
    wrong: list[tuple[dict[str, Any], str]] = [
        ({"quantity": 0}, "quantity"),
        ({"quantity": -KG}, "quantity"),
        ({"ordered_on": TODAY + DAY}, "ordered_on"),
        ({"ordered_on": dt.date(27, 2, 15)}, "ordered_on"),
        ({"expected_on": TODAY - DAY}, "expected_on"),
        ({"expected_on": dt.date(9999, 12, 31)}, "expected_on"),
        ({"material": nobody}, "expected_on"),
    ]
    for facts, code in wrong:
        assert refused(order, **good | facts) == code, facts
    assert not Order.objects.exists()


def test_what_is_no_whole_number_of_packs_is_asked_about_once(acid: Material) -> None:
    for quantity in (KG // 1000, 2_500_000):
        assert refused(order, material=acid, quantity=quantity) == "did_you_mean"
    assert do(order, material=acid, quantity=2_500_000, confirmed=True).quantity == 2_500_000
    assert do(order, material=make.acid(), quantity=5, expected_on=TODAY).quantity == 5


def test_without_packs_the_range_of_the_material_asks_about_the_unit() -> None:
    loose = make.acid(least_at_once=KG, most_at_once=25 * KG)
    for quantity in (5_000, 5_000 * KG):
        assert refused(order, material=loose, quantity=quantity, expected_on=TODAY) == "did_you_mean"
    assert do(order, material=loose, quantity=5_000, expected_on=TODAY, confirmed=True).quantity == 5_000
    assert do(order, material=loose, quantity=5 * KG, expected_on=TODAY).quantity == 5 * KG


def test_an_order_ends_once(acid: Material) -> None:
    made = do(order, material=acid, quantity=KG, note="by telephone")
    ended = do(end_order, order=made, outcome="cancelled", note="out of stock")
    assert (ended.outcome, ended.note) == ("cancelled", "by telephone · out of stock")
    assert ended.ended_by is not None
    for outcome in ("arrived", "cancelled"):
        assert refused(end_order, order=made, outcome=outcome) == "ended_already"
    assert refused(expect_order, order=made, expected_on=TODAY + DAY) == "ended_already"
    assert Order.objects.get().outcome == "cancelled"


def test_how_an_order_ends_is_arrived_or_cancelled(acid: Material) -> None:
    made = do(order, material=acid, quantity=KG, note="n" * 300)
    assert refused(end_order, order=made, outcome="lost") == "outcome"
    assert refused(end_order, order=made, outcome="") == "outcome"
    assert refused(end_order, order=made, outcome="arrived", note="more") == "note"
    assert do(end_order, order=made, outcome="arrived").outcome == "arrived"


def test_the_supplier_may_name_another_day(acid: Material, clock: Any) -> None:
    made = do(order, material=acid, quantity=KG)
    assert do(expect_order, order=made, expected_on=TODAY + 30 * DAY).expected_on == TODAY + 30 * DAY
    assert refused(expect_order, order=made, expected_on=TODAY - DAY) == "expected_on"
    assert refused(expect_order, order=made, expected_on=dt.date(9999, 1, 1)) == "expected_on"


def test_a_double_tap_notes_one_order(acid: Material, keeper: Client) -> None:
    address = reverse("inventory:order_new", args=[acid.pk])
    facts = {"key": new_key(), "quantity": "3 kg", "supplier": acid.supplier_id, "ordered_on": "2027-02-15"}
    first, second = keeper.post(address, facts), keeper.post(address, facts)
    assert (first.status_code, second.status_code, first["Location"]) == (302, 302, second["Location"])
    assert Order.objects.get().quantity == 3 * KG


def test_the_form_begins_with_what_the_outlook_would_buy(acid: Material, keeper: Client) -> None:
    answer = keeper.get(reverse("inventory:order_new", args=[acid.pk]))
    page = answer.content.decode()
    assert 'name="quantity" value="2000"' in page
    assert f'<option value="{acid.supplier_id}" selected>' in page
    do(order, material=acid, quantity=2 * KG)
    page = keeper.get(reverse("inventory:order_new", args=[acid.pk])).content.decode()
    assert 'name="quantity" value' not in page
    assert "on order already, expected Mon 8 Mar" in page


@pytest.mark.parametrize("quantity", ["", "0", "-5", "NaN", "1e99", "inf", "five", "1,2.3", "5 strips", "9" * 50])
def test_what_cannot_be_read_gets_a_sentence(acid: Material, keeper: Client, quantity: str) -> None:
    address = reverse("inventory:order_new", args=[acid.pk])
    answer = keeper.post(address, {"key": new_key(), "quantity": quantity, "ordered_on": "2027-02-15"})
    assert answer.status_code == 422
    assert not Order.objects.exists()


def test_kilograms_for_grams_are_asked_about_on_the_page(acid: Material, keeper: Client) -> None:
    address = reverse("inventory:order_new", args=[acid.pk])
    facts = {"key": new_key(), "quantity": "5", "supplier": acid.supplier_id, "ordered_on": "2027-02-15"}
    answer = keeper.post(address, facts)
    assert answer.status_code == 422
    assert 'type="checkbox" name="confirmed"' in answer.content.decode()
    assert keeper.post(address, facts | {"confirmed": "on"}).status_code == 302


def test_the_list_puts_what_is_late_first_and_says_so(acid: Material, keeper: Client) -> None:
    glycerine = make.glycerine(name="Glycerine", supplier=acid.supplier)
    do(order, material=glycerine, quantity=KG)
    late = do(order, material=acid, quantity=KG, ordered_on=TODAY - 60 * DAY, note="<b>Żółć</b>")
    done = do(order, material=acid, quantity=9 * KG)
    do(end_order, order=done, outcome="arrived")
    page = keeper.get(reverse("inventory:orders")).content.decode()
    assert "<h1>One order is overdue</h1>" in page
    assert "&lt;b&gt;Żółć" in page
    places = [page.index(words) for words in ("overdue, not counted", "expected in 21 days", "arrived</span>")]
    assert places == sorted(places)
    assert late.pk
    only = keeper.get(reverse("inventory:orders"), {"outcome": "arrived", "as": "csv"}).content.decode("utf-8-sig")
    assert only.splitlines()[1].startswith("Oxalic acid dihydrate,9000,Calder,2027-02-15")
    assert len(only.splitlines()) == 2


def test_an_order_is_put_off_and_ended_on_its_pages(acid: Material, keeper: Client) -> None:
    made = do(order, material=acid, quantity=KG)
    keeper.post(reverse("inventory:order_expect", args=[made.pk]), {"key": new_key(), "expected_on": "2027-04-01"})
    made.refresh_from_db()
    assert made.expected_on == dt.date(2027, 4, 1)
    address = reverse("inventory:order_end", args=[made.pk])
    assert keeper.post(address, {"key": new_key(), "outcome": "cancelled"}).status_code == 302
    assert keeper.post(address, {"key": new_key(), "outcome": "arrived"}).status_code == 422
    assert keeper.get(address).status_code == 302
    assert "cancelled" in keeper.get(reverse("inventory:order", args=[made.pk])).content.decode()


def test_volunteers_read_orders_and_coordinators_note_them(acid: Material) -> None:
    made = do(order, material=acid, quantity=KG)
    read = [reverse("inventory:orders"), reverse("inventory:order", args=[made.pk]), reverse("inventory:shopping")]
    write = [
        reverse("inventory:order_new", args=[acid.pk]),
        *(reverse(f"inventory:order_{name}", args=[made.pk]) for name in ("expect", "end")),
    ]
    for who, reads, writes in ((coordinator(), 200, 200), (volunteer(), 200, 403), (member(), 403, 403)):
        client = sign_in(Client(), who)
        assert {client.get(url).status_code for url in read} == {reads}, who
        assert {client.get(url).status_code for url in write} == {writes}, who
        assert {client.post(url).status_code for url in write} == {422 if writes == 200 else 403}, who


def test_the_api_notes_and_ends_orders(acid: Material) -> None:
    keeper, helper, stranger = Api(coordinator()), Api(volunteer()), Api(member())
    body = {"material": acid.pk, "mass_g": "3000"}
    made = keeper.post("orders/note", **body)
    assert (made["expected_on"], made["mass_g"], made["pieces"]) == ("2027-03-08", "3000", None)
    assert keeper.send("orders/note", material=acid.pk, pieces=3).status_code == 400
    keeper.refused("orders/note", "did_you_mean", material=acid.pk, mass_g="2500")
    for other in (helper, stranger):
        assert other.send("orders/note", **body).status_code == 403
    pk = made["id"]
    keeper.post(f"orders/{pk}/expect", expected_on="2027-03-20")
    rows = helper.get("orders", is_open="true")["results"]
    assert [(row["id"], row["expected_on"], row["is_overdue"]) for row in rows] == [(pk, "2027-03-20", False)]
    assert keeper.post(f"orders/{pk}/end", outcome="arrived")["outcome"] == "arrived"
    keeper.refused(f"orders/{pk}/end", "ended_already", outcome="arrived")
    assert helper.get("orders", is_open="true")["results"] == []
    assert stranger.client.get("/api/v1/orders").status_code == 403
    assert keeper.send("orders/999/end", outcome="arrived").status_code == 404


@pytest.mark.parametrize("address", ["/shelf/orders", "/api/v1/orders"])
def test_a_longer_list_asks_the_database_no_more_often(acid: Material, keeper: Client, address: str) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert keeper.get(address).status_code == 200
        return len(seen)

    do(order, material=acid, quantity=KG)
    few = asked()
    for _number in range(2):
        do(order, material=make.acid(supplier=make.supplier()), quantity=KG)
    assert asked() == few
