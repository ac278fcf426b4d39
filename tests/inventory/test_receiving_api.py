"""Receiving over the API: the same commands as the pages."""

import base64
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from coop.command import new_key
from inventory.models import Delivery, Item, Material, Supplier
from tests.makers import inventory as make
from tests.makers import papers
from tests.makers.coop import coordinator, member, sign_in, volunteer

pytestmark = pytest.mark.django_db


@pytest.fixture
def keeper() -> Any:
    return sign_in(Client(), coordinator("Ida Holm"))


def post(client: Client, view: str, /, *args: Any, **body: Any) -> Any:
    address = reverse(view, args=args)
    return client.post(address, body, "application/json", headers={"Idempotency-Key": new_key()})


def lots_of(shed: Any) -> list[dict[str, Any]]:
    acid, strips = make.acid(least_at_once=1_000_000), make.strips()
    content = base64.b64encode(papers.pdf()).decode()
    return [
        {"material": acid.pk, "mass_g": "25000", "place": shed.pk, "form": "unknown", "certificate_name": "a.pdf",
         "certificate_content": content, "certificate_names_form": True, "price": "112.50"},
        {"material": strips.pk, "pieces": 400, "place": shed.pk, "supplier_lot": "W 31"},
    ]  # fmt: skip


def test_a_whole_delivery_comes_in(keeper: Client) -> None:
    supplier, lots = make.supplier(), lots_of(make.shed())
    answer = post(keeper, "api_delivery_receive", supplier=supplier.pk, paper_number="4711", lots=lots)
    assert answer.status_code == 201, answer.json()
    told = answer.json()
    assert (told["paper_number"], len(told["lots"])) == ("4711", 2)
    assert told["lots"][0]["lot"]["is_form_verified"]
    assert told["lots"][1]["lot"]["received_pieces"] == 400
    assert keeper.get(reverse("api_delivery", args=[told["id"]])).json() == told
    assert keeper.get(reverse("api_deliveries")).json()["results"] == [told]


def test_one_lot_that_cannot_be_keeps_all_of_it_out(keeper: Client) -> None:
    supplier, lots = make.supplier(), lots_of(make.shed())
    for spoilt, code in (
        ({"mass_g": "25"}, "did_you_mean"),
        ({"certificate_content": base64.b64encode(b"%PDF-no").decode()}, "document"),
        ({"certificate_content": "***"}, "invalid"),
        ({"pieces": 5}, "invalid"),
        ({"mass_g": "1e99"}, "invalid"),
    ):
        answer = post(keeper, "api_delivery_receive", supplier=supplier.pk, lots=[{**lots[0], **spoilt}, lots[1]])
        assert answer.json()["code"] == code
    meant = post(keeper, "api_delivery_receive", supplier=supplier.pk, lots=[lots[1], {**lots[0], "mass_g": "25"}])
    assert (meant.json()["facts"]["meant"], meant.json()["facts"]["lot"]) == (25_000_000, 2)
    assert not Delivery.objects.exists()
    assert not Item.objects.exists()


def test_lots_are_added_to_an_open_delivery(keeper: Client) -> None:
    supplier, shed = make.supplier(), make.shed()
    opened = post(keeper, "api_delivery_open", supplier=supplier.pk).json()
    for lot in lots_of(shed):
        assert post(keeper, "api_receive", supplier=supplier.pk, delivery=opened["id"], **lot).status_code == 201
    told = post(keeper, "api_delivery_change", opened["id"], supplier=make.supplier().pk, paper_number="7").json()
    assert (told["paper_number"], {one["lot"]["supplier"] for one in told["lots"]}) == ("7", {told["supplier"]})


def test_a_lot_is_set_right_and_what_it_was_is_read(keeper: Client) -> None:
    item = make.lot(supplier_lot="OX-L")
    told = post(keeper, "api_lot_change", item.code_id, supplier_lot="OX-K", assay_w="0,994", reason="read again")
    assert told.status_code == 201, told.json()
    assert told.json()["before"] == {"supplier_lot": "OX-L", "assay_ppb": None}
    assert keeper.get(reverse("api_lot_changes", args=[item.code_id])).json() == [told.json()]
    assert post(keeper, "api_lot_change", item.code_id, supplier_lot="OX-K", reason="x").json()["code"] == "same"


def test_strips_are_sampled(keeper: Client) -> None:
    item = make.lot(make.strips())
    told = post(keeper, "api_strip_sample_add", item.code_id, dry_g=["11.6", "12"], wet_g=["24.6", "25.4"]).json()
    assert told["dry"] == {"count": 2, "mean_g": "11.8", "spread_g": "0.283"}
    assert told["uptake"]["mean_g"] == "13.2"
    dry = {"count": 10, "total_g": "118"}
    told = post(keeper, "api_strip_sample_add", item.code_id, dry_together=dry).json()
    assert (told["dry"]["spread_g"], told["uptake"]) == (None, None)
    assert len(keeper.get(reverse("api_strip_samples", args=[item.code_id])).json()) == 2
    both = post(keeper, "api_strip_sample_add", item.code_id, dry_g=["11.8"], dry_together=dry)
    assert both.status_code == 400
    assert post(keeper, "api_strip_sample_add", make.lot().code_id, dry_g=["11.8"]).json()["code"] == "kind"


def test_materials_and_suppliers_take_their_new_facts(keeper: Client) -> None:
    supplier = post(keeper, "api_supplier_add", name="Calder", order_weekdays=[4, 1, 4]).json()
    assert supplier["order_weekdays"] == [1, 4]
    assert Supplier.objects.get().order_weekdays == "14"
    for wrong in ([], [0], [8], "12"):
        assert post(keeper, "api_supplier_change", supplier["id"], order_weekdays=wrong).status_code == 400
    facts = {"least_at_once_g": "1000", "most_at_once_g": "50000", "per_dose_g": "25.3", "holds_on_arrival": True}
    told = post(keeper, "api_material_add", name="Acid", kind="acid", **facts).json()
    assert {name: told[name] for name in facts} == facts
    assert post(keeper, "api_material_change", told["id"], least_at_once_g="60000").json()["code"] == "range"
    assert Material.objects.get().least_at_once == 1_000_000


def test_volunteers_read_coordinators_write_members_stay_out() -> None:
    delivery, strips = make.delivery(), make.lot(make.strips())
    helper, stranger = sign_in(Client(), volunteer()), sign_in(Client(), member())
    for address in (
        reverse("api_deliveries"),
        reverse("api_delivery", args=[delivery.pk]),
        reverse("api_strip_samples", args=[strips.code_id]),
        reverse("api_lot_changes", args=[strips.code_id]),
    ):
        assert helper.get(address).status_code == 200
        assert stranger.get(address).status_code == 403
    for view, args in (
        ("api_delivery_open", []),
        ("api_delivery_receive", []),
        ("api_delivery_change", [delivery.pk]),
        ("api_lot_change", [strips.code_id]),
        ("api_strip_sample_add", [strips.code_id]),
    ):
        for client in (helper, stranger):
            assert post(client, view, *args).status_code == 403
