"""The ledger over the API: every filter, pages there and back, and the same balance as on the page."""

import datetime as dt
from typing import Any

import pytest
from django.utils import timezone

from inventory.commands.correcting import correct
from inventory.commands.stock import draw, transfer
from inventory.models import Movement, Place
from tests.makers import inventory as make
from tests.makers.api import Api
from tests.makers.coop import coordinator, do, member, volunteer
from tests.makers.world import World

pytestmark = pytest.mark.django_db


@pytest.fixture
def keeper() -> Api:
    return Api(coordinator("Ada Ash"))


@pytest.fixture
def mill() -> Place:
    return make.shed(name="Mill")


def ids(answer: Any) -> set[int]:
    return {row["id"] for row in answer["results"]}


def test_every_filter_works_and_they_work_together(keeper: Api, mill: Place) -> None:
    hill, bert = make.shed(name="Hill"), coordinator("Bert Birch")
    old = timezone.now() - dt.timedelta(days=10)
    one, two = make.lot(place=mill, quantity=1_000), make.lot(place=hill, quantity=2_000)
    drawn = do(draw, bert, item=one, place=mill, quantity=10, happened_at=old)
    moved = do(transfer, item=two, source=hill, target=mill, quantity=20)
    came = {item: item.movements.get(cause="receive") for item in (one, two)}
    later = (old + dt.timedelta(hours=1)).isoformat()
    for asked, right in (
        ({}, {drawn, moved, *came.values()}),
        ({"material": one.material_id}, {came[one], drawn}),
        ({"code": f"{one.code_id[:4].lower()} {one.code_id[4:]}"}, {came[one], drawn}),
        ({"place": hill.pk}, {came[two], moved}),
        ({"source": hill.pk}, {moved}),
        ({"target": hill.pk}, {came[two]}),
        ({"person": bert.pk}, {drawn}),
        ({"verb": "inventory.transfer"}, {moved}),
        ({"cause": "draw"}, {drawn}),
        ({"deed": moved.deed_id}, {moved}),
        ({"since": later}, {moved, *came.values()}),
        ({"until": later}, {drawn}),
        ({"place": mill.pk, "material": two.material_id, "verb": "inventory.transfer", "since": later}, {moved}),
        ({"person": bert.pk, "material": two.material_id}, set()),
    ):
        assert ids(keeper.get("movements", **asked)) == {row.pk for row in right}, asked


def test_pages_go_there_and_back_and_carry_the_balance(keeper: Api, mill: Place) -> None:
    item = make.lot(place=mill, quantity=50_000)
    drawn = [do(draw, item=item, place=mill, quantity=10) for _number in range(5)]
    do(correct, movement=drawn[0], quantity=100, note="a nought too few")
    right, balance = {}, 0
    for row in Movement.objects.order_by("pk").select_related("source", "target"):
        balance += row.quantity * ((row.target == mill) - (row.source == mill))
        right[row.pk] = f"{balance / 1000:g}"
    answer = keeper.get("movements", code=item.code_id, limit=3)
    first, seen = answer, {}
    assert "all sheds together" in answer["balance"]
    while True:
        seen.update({row["id"]: row["balance_g"] for row in answer["results"]})
        assert all(row["balance_pieces"] is None for row in answer["results"])
        if not answer["older"]:
            break
        answer = keeper.client.get(answer["older"]).json()
    assert seen == right
    while answer["newer"]:
        answer = keeper.client.get(answer["newer"]).json()
    assert answer["results"] == first["results"]
    broken = keeper.get("movements", code=item.code_id, cause="draw")
    assert broken["balance"] == ""
    assert {row["balance_g"] for row in broken["results"]} == {None}


def test_strips_have_a_balance_in_pieces(keeper: Api, mill: Place) -> None:
    item = make.lot(make.strips(), mill, quantity=500)
    (row,) = keeper.get("movements", material=item.material_id, place=mill.pk)["results"]
    assert (row["balance_pieces"], row["balance_g"]) == (500, None)


@pytest.mark.parametrize(
    "asked",
    [
        {"material": "x"}, {"place": "9" * 30}, {"person": "0"}, {"deed": "1e99"}, {"deed": "-1"}, {"since": "soon"},
        {"cause": "nonsense"}, {"before": "x"}, {"after": "9" * 40}, {"limit": "0"}, {"limit": "5000"},
        {"code": "\x00"}, {"balance": "x" * 3000},
    ],
    ids=str,
)  # fmt: skip
def test_what_is_asked_wrongly_gets_a_sentence(keeper: Api, mill: Place, asked: dict[str, str]) -> None:
    answer = keeper.client.get("/api/v1/movements", asked)
    assert (answer.status_code, answer.json()["code"]) == (400, "invalid")


def test_a_volunteer_reads_it_without_members_names() -> None:
    owner = World().people["owner"]
    program = Api(volunteer("Vera Vine"))
    assert owner is not None
    deed = Movement.objects.filter(cause="hand_over").values_list("deed", flat=True)[0]
    for answer in (program.get("movements", limit=200), program.get(f"deeds/{deed}")):
        assert owner.name not in str(answer)
        assert "with a member" in str(answer)
    assert program.client.get("/api/v1/movements", {"person": owner.pk}).status_code == 400


def test_a_deed_says_what_it_is_and_what_it_made(keeper: Api, mill: Place) -> None:
    item = make.lot(place=mill)
    deed = keeper.get(f"deeds/{item.deed_id}")
    assert (deed["what"], deed["door"]) == ("lot received", "page")
    assert [made["words"].partition(",")[0] for made in deed["made"]] == [item.spaced_code]


def test_members_do_not_read_it(mill: Place) -> None:
    item = make.lot(place=mill)
    program = Api(member())
    for path in ("movements", f"deeds/{item.deed_id}"):
        assert program.client.get(f"/api/v1/{path}").status_code == 403
