"""The shelf over the API: the same commands and questions as the pages."""

import base64
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from coop.command import new_key
from inventory import ledger
from inventory.commands.stock import draw
from inventory.models import Container, Hold, Item, Place, Question
from tests.makers import brew, papers
from tests.makers import inventory as make
from tests.makers.coop import coordinator, do, member, sign_in, volunteer

pytestmark = pytest.mark.django_db


class Program:
    """Somebody's program: JSON in and out."""

    def __init__(self, person: Any, fresh: bool = True) -> None:
        self.client = sign_in(Client(), person, fresh=fresh)

    def post(self, view: str, /, *args: Any, key: str = "", **body: Any) -> Any:
        return self.client.post(
            reverse(view, args=args), body, "application/json", headers={"Idempotency-Key": key or new_key()}
        )

    def get(self, name: str, *args: Any, **query: Any) -> Any:
        return self.client.get(reverse(name, args=args), query)


@pytest.fixture
def keeper() -> Program:
    return Program(coordinator("Ida Holm"))


def test_a_sack_comes_in_and_is_used_over_the_api(keeper: Program) -> None:
    supplier = keeper.post("api_supplier_add", name="Calder", lead_days=10).json()["id"]
    material = keeper.post("api_material_add", name="Acid", kind="acid", low_level_g="2000", supplier=supplier).json()
    assert material["low_level_g"] == "2000"
    mill, hill = (keeper.post("api_shed_add", name=name).json()["id"] for name in ("Mill", "Hill"))
    answer = keeper.post(
        "api_receive",
        material=material["id"],
        supplier=supplier,
        place=mill,
        mass_g="25000",
        form="dihydrate",
        assay_w="0,996",
        price="112.50",
        containers=[{"name": "sack", "tare_g": 120, "gross_g": 25120}],
    )
    assert answer.status_code == 201, answer.json()
    code = answer.json()["code"]
    assert answer.json()["lot"]["assay_w"] == "0.996"
    assert keeper.post("api_draw", code, place=mill, mass_g=500).json()["mass_g"] == "500"
    assert keeper.post("api_transfer", code, source=mill, target=hill, mass_g="1000").status_code == 201
    assert keeper.post("api_discard", code, place=hill, mass_g="10", cause="spill").json()["cause"] == "spill"
    counted = keeper.post("api_count", code, place=mill, mass_g="23490").json()
    assert counted["difference"] == -10_000
    movement = counted["movement"]["id"]
    assert keeper.post("api_correct", movement, mass_g="0", note="counted twice").json() == {"movement": None}
    thing = keeper.get("api_item", code).json()
    assert thing["item"]["on_hand_g"] == "24490"
    assert {row["place"]: row["mass_g"] for row in thing["where"]} == {"Mill": "23500", "Hill": "990", "lost": "10"}
    assert keeper.get("api_stock").json()[0]["usable_g"] == "24490"
    lines = keeper.get("api_movements", code=code).json()["results"]
    assert [line["cause"] for line in lines] == ["correct", "count", "spill", "transfer", "draw", "receive"]
    deed = keeper.get("api_deed", lines[-1]["deed"]).json()
    assert (deed["verb"], deed["door"], len(deed["movements"])) == ("inventory.receive", "api", 1)


def test_the_same_key_answers_the_same_again(keeper: Program) -> None:
    item, key = make.lot(quantity=1_000_000), new_key()
    shed = Place.objects.get(kind="shed")
    first = keeper.post("api_draw", item.code_id, key=key, place=shed.pk, mass_g="100")
    again = keeper.post("api_draw", item.code_id, key=key, place=shed.pk, mass_g="100")
    assert first.json() == again.json()
    assert ledger.on_hand(item) == 900_000
    other = keeper.post("api_draw", item.code_id, key=key, place=shed.pk, mass_g="200")
    assert (other.status_code, other.json()["code"]) == (409, "key_used")


def test_an_amount_in_the_wrong_unit_gets_a_sentence(keeper: Program) -> None:
    item = make.lot()
    shed = Place.objects.get(kind="shed")
    for body in ({"pieces": 5}, {}, {"mass_g": "5", "pieces": 5}, {"mass_g": "5 lb"}, {"mass_g": "-1"}):
        answer = keeper.post("api_draw", item.code_id, place=shed.pk, **body)
        assert (answer.status_code, answer.json()["code"]) == (400, "invalid"), body
    assert ledger.on_hand(item) == 5 * make.KG


def test_containers_certificates_and_questions(keeper: Program) -> None:
    item = make.lot(make.acid(), form="unknown", certificate_names_form=False, quantity=5_000)
    shed = Place.objects.get(kind="shed")
    keeper.post("api_container_add", item.code_id, name="drum", tare_g="1", gross_g="6")
    drum = Container.objects.get()
    assert keeper.post("api_container_open", drum.pk).json()["opened_on"]
    assert keeper.post("api_container_weigh", drum.pk, gross_g="4").json()["net_g"] == "3"
    weighed = [{"container": drum.pk, "gross_g": "4"}]
    assert keeper.post("api_count_by_weight", item.code_id, place=shed.pk, weighed=weighed).json()["counted"] == 3_000
    content = base64.b64encode(papers.pdf()).decode()
    paper = keeper.post("api_certificate", item.code_id, name="a.pdf", content=content, names_form=True).json()
    assert paper["media_type"] == "application/pdf"
    assert keeper.get("api_item", item.code_id).json()["lot"]["is_form_verified"]
    keeper.post("api_draw", item.code_id, place=shed.pk, mass_g="4")
    question = keeper.get("api_questions").json()["results"][0]
    assert (question["kind"], question["is_settled"]) == ("found", False)
    assert keeper.post("api_question_settle", question["id"], answer="The scale.").json()["is_settled"]


def test_holds_begin_reach_and_end(keeper: Program) -> None:
    item, shed = make.lot(), make.shed()
    mix = brew.mix((item, Place.objects.exclude(pk=shed.pk).get(kind="shed"), 400), (make.lot(place=shed), shed, 600))
    hold = keeper.post("api_hold_place", items=[item.code_id], reason="torn sack").json()
    assert hold["begins_at"] == [item.code_id]
    assert {row["code"] for row in keeper.get("api_items", held=True).json()["results"]} == {item.code_id, mix.code_id}
    below = keeper.get("api_went_into", item.code_id).json()
    assert below == [
        {"code": mix.code_id, "kind": "mix", "parts": 4 * 10**17, "share": "0.400000", "is_held": True},
    ]
    above = keeper.get("api_made_from", mix.code_id).json()
    assert sum(row["parts"] for row in above) == 10**18
    assert keeper.post("api_hold_free", hold["id"], item=mix.code_id, reason="titrated").json()["code"] == mix.code_id
    assert keeper.post("api_hold_lift", hold["id"], reason="certificate came").json()["is_lifted"]
    assert keeper.get("api_items", held=True).json()["results"] == []
    assert keeper.get("api_holds", lifted=True).json()["count"] == 1


def test_lifting_needs_a_fresh_code_and_holding_does_not() -> None:
    stale = Program(coordinator(), fresh=False)
    item = make.lot()
    hold = stale.post("api_hold_place", items=[item.code_id], reason="torn sack").json()["id"]
    answer = stale.post("api_hold_lift", hold, reason="fine")
    assert (answer.status_code, answer.json()["code"]) == (403, "fresh_code")
    assert Hold.objects.active().count() == 1


def test_volunteers_read_count_and_hold_and_members_do_none_of_it() -> None:
    item = make.lot()
    shed = Place.objects.get(kind="shed").pk
    helper, stranger = Program(volunteer()), Program(member())
    for name in ("api_stock", "api_items", "api_movements", "api_suppliers", "api_sheds", "api_questions", "api_holds"):
        assert helper.get(name).status_code == 200
        assert stranger.get(name).status_code == 403
        assert Client().get(reverse(name)).status_code in (401, 403)
    assert helper.post("api_count", item.code_id, place=shed, mass_g="5000").status_code == 201
    assert helper.post("api_hold_place", items=[item.code_id], reason="torn").status_code == 201
    assert helper.post("api_draw", item.code_id, place=shed, mass_g="1").status_code == 403
    assert stranger.post("api_count", item.code_id, place=shed, mass_g="1").status_code == 403
    assert helper.get("api_item", "XXXXXXXX").status_code == 404


@pytest.mark.parametrize(
    "name", ["api_stock", "api_items", "api_movements", "api_suppliers", "api_sheds", "api_questions", "api_holds"]
)
def test_three_rows_ask_no_more_queries_than_one(name: str, keeper: Program) -> None:
    acid, shed, supplier = make.acid(), make.shed(), make.supplier()

    def fill() -> None:
        item: Item = make.lot(acid, shed, supplier=supplier, quantity=10)
        do(draw, item=item, place=shed, quantity=11)
        make.hold(item)

    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert keeper.get(name).status_code == 200
        return len(seen)

    fill()
    queries()
    before = queries()
    fill(), fill()
    make.lot(make.acid(), make.shed(), supplier=make.supplier())
    grown = 2 * 1 if name in ("api_stock",) else 0  # one walk for each hold
    assert queries() <= before + grown
    assert Question.objects.count() >= 3
