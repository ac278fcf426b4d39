"""Drums on the page of their lot and over the API: weighed, moved, emptied, and who may."""

from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from coop.command import new_key
from inventory import ledger
from inventory.commands import containers
from inventory.commands.stock import transfer
from inventory.models import Container, Item, Movement, Place
from tests.makers import inventory as make
from tests.makers.api import Api
from tests.makers.coop import coordinator, do, member, sign_in, volunteer

pytestmark = pytest.mark.django_db

DRUMS = [
    {"name": "drum 1", "tare_mg": 1_000_000, "gross_mg": 3_000_000},
    {"name": "drum 2", "tare_mg": 1_000_000, "gross_mg": 4_000_000},
]
G = "\u202fg"


@pytest.fixture
def shed() -> Place:
    return make.shed(name="Mill shed")


@pytest.fixture
def other(shed: Place) -> Place:
    return make.shed(name="Hill shed")


@pytest.fixture
def item(shed: Place) -> Item:
    return make.lot(make.acid(most_at_once=25 * make.KG), shed, quantity=5 * make.KG, containers=DRUMS)


@pytest.fixture
def keeper() -> Any:
    return sign_in(Client(), coordinator("Ida Holm"))


@pytest.fixture
def helper() -> Any:
    return sign_in(Client(), volunteer("Vol Ash"))


def url(name: str, item: Item, *more: Any) -> str:
    return reverse(f"inventory:{name}", args=[item.code_id, *more])


def drum(item: Item, name: str = "drum 1") -> Container:
    found: Container = item.lot.containers.get(name=name)
    return found


def test_the_page_of_a_lot_says_what_is_in_each_drum_and_where_it_stands(keeper: Client, item: Item) -> None:
    do(containers.open_container, container=drum(item))
    do(containers.empty_container, container=drum(item, "drum 2"))
    can = do(containers.add_container, item=item, name="can")
    Container.objects.filter(pk=can.pk).update(place=None)
    page = keeper.get(url("lot", item)).content.decode()
    for words in (f"2\u202f000{G}", "Mill shed", "empty since", "not weighed", "nobody knows"):
        assert words in page, words
    full, empty = drum(item), drum(item, "drum 2")
    for name, one, is_there in (
        ("container_weigh", full, True), ("container_move", full, True), ("container_empty", full, True),
        ("container_open", full, False), ("container_weigh", empty, True), ("container_move", empty, False),
        ("container_empty", empty, False),
    ):  # fmt: skip
        assert (url(name, item, one.pk) in page) is is_there, (name, one)


def test_a_volunteer_weighs_opens_and_empties_and_a_coordinator_moves(
    keeper: Client, helper: Client, item: Item, other: Place
) -> None:
    one, stranger = drum(item), sign_in(Client(), member())
    for name in ("container_open", "container_weigh", "container_empty", "container_move"):
        address = url(name, item, one.pk)
        assert keeper.get(address).status_code == 200, name
        assert helper.get(address).status_code == (403 if name == "container_move" else 200), name
        assert stranger.get(address).status_code == 403, name
        assert Client().get(address).status_code == 302, name
    api = {"open": {}, "weigh": {"gross_g": "2500"}, "empty": {}, "move": {"target": other.pk, "gross_g": "2500"}}
    for name, body in api.items():
        assert Api(member()).send(f"containers/{one.pk}/{name}", **body).status_code == 403, name
        wanted = 403 if name == "move" else 201
        assert Api(volunteer()).send(f"containers/{one.pk}/{name}", **body).status_code == wanted, name
    assert url("container_move", item, one.pk) not in helper.get(url("lot", item)).content.decode()


def test_a_drum_of_another_lot_is_not_there(keeper: Client, item: Item, shed: Place) -> None:
    strange = make.lot(place=shed, containers=DRUMS).lot.containers.first()
    for name in ("container_open", "container_weigh", "container_empty", "container_move"):
        assert keeper.get(url(name, item, strange.pk)).status_code == 404, name
    for name in ("open", "weigh", "empty", "move"):
        assert Api(coordinator()).send(f"containers/{10**9}/{name}").status_code in (400, 404), name


@pytest.mark.parametrize(("text", "net"), [("", 2_000_000), ("2 500", 1_500_000), ("2,5 kg", 1_500_000)])
def test_a_drum_is_moved_on_a_page(keeper: Client, item: Item, other: Place, text: str, net: int) -> None:
    page = keeper.get(url("container_move", item, drum(item).pk))
    assert f"2\u202f000{G}" in page.content.decode()
    assert [one.pk for one in page.context["form"].fields["target"].queryset if one.kind == "shed"] == [other.pk]
    sent = {"key": new_key(), "target": other.pk, "gross_mg": text, "note": "closer"}
    for _tap in range(2):
        assert keeper.post(url("container_move", item, drum(item).pk), sent).status_code == 302
    assert ledger.quantity_at(item, other) == net
    assert drum(item).place == other


@pytest.mark.parametrize("text", ["-1", "NaN", "1e99", "999", "1000", "x", "5000 kg"])
def test_a_gross_that_cannot_be_gets_a_sentence(keeper: Client, item: Item, other: Place, text: str) -> None:
    sent = {"key": new_key(), "target": other.pk, "gross_mg": text}
    assert keeper.post(url("container_move", item, drum(item).pk), sent).status_code == 422
    body = {"target": other.pk, "gross_g": text.removesuffix(" kg") + ("000" if "kg" in text else "")}
    assert Api(coordinator()).send(f"containers/{drum(item).pk}/move", **body).status_code in (400, 422)
    assert drum(item).gross_mg == 3_000_000
    assert Movement.objects.count() == 1


def test_a_drum_is_moved_over_the_api(item: Item, shed: Place, other: Place) -> None:
    api, key = Api(coordinator()), new_key()
    answers = [api.post(f"containers/{drum(item).pk}/move", key=key, target=other.pk) for _time in range(2)]
    assert answers[0] == answers[1]
    assert (answers[0]["mass_g"], answers[0]["note"], answers[0]["target"]) == ("2000", "drum 1", "Hill shed")
    api.refused(f"containers/{drum(item).pk}/move", "place", target=other.pk)
    known = {row["name"]: row for row in api.get(f"items/{item.code_id}")["lot"]["containers"]}
    assert (known["drum 1"]["place"], known["drum 1"]["net_g"]) == (other.pk, "2000")
    added = api.post(f"items/{item.code_id}/containers/add", name="can", place=shed.pk, tare_g="0,5")
    assert (added["place"], added["net_g"]) == (shed.pk, None)
    api.refused(f"items/{item.code_id}/containers/add", "place", name="pail", place=make.shed().pk)
    assert api.post(f"containers/{added['id']}/empty")["net_g"] == "0"


def test_one_drum_is_weighed_by_itself_and_the_book_stays(helper: Client, item: Item) -> None:
    sent = {"key": new_key(), "gross_mg": "2 200", "tare_mg": ""}
    assert helper.post(url("container_weigh", item, drum(item).pk), sent).status_code == 302
    assert (drum(item).net_mg, ledger.on_hand(item)) == (1_200_000, 5_000_000)
    bare = do(containers.add_container, item=item, name="can")
    address = url("container_weigh", item, bare.pk)
    assert helper.post(address, {"key": new_key(), "gross_mg": "500"}).status_code == 422
    assert helper.post(address, {"key": new_key(), "gross_mg": "500", "tare_mg": "100"}).status_code == 302
    assert drum(item, "can").net_mg == 400_000


def test_a_drum_is_emptied_on_a_page(helper: Client, item: Item) -> None:
    sent = {"key": new_key(), "emptied_on": "2099-01-01"}
    assert helper.post(url("container_empty", item, drum(item).pk), sent).status_code == 422
    assert helper.post(url("container_empty", item, drum(item).pk), {"key": new_key()}).status_code == 302
    assert drum(item).net_mg == 0


def test_only_the_drums_of_the_chosen_shed_are_weighed(keeper: Client, item: Item, shed: Place, other: Place) -> None:
    do(containers.move_container, container=drum(item, "drum 2"), target=other)
    one, two = drum(item), drum(item, "drum 2")
    for place, mine, theirs in ((shed, one, two), (other, two, one)):
        page = keeper.get(url("weigh", item), {"place": place.pk})
        names = set(page.context["form"].fields)
        assert {f"drum_{mine.pk}", f"gone_{mine.pk}"} <= names
        assert f"drum_{theirs.pk}" not in names
        assert place.name in page.context["title"]
    sent = {"key": new_key(), "place": other.pk, f"drum_{two.pk}": "3 900"}
    assert keeper.post(url("weigh", item), sent).status_code == 302
    assert (ledger.quantity_at(item, other), ledger.quantity_at(item, shed)) == (2_900_000, 2_000_000)
    empty = {**sent, "key": new_key(), f"drum_{two.pk}": "1000"}
    for _tap in range(2):
        assert keeper.post(url("weigh", item), empty).status_code == 302
    assert (drum(item, "drum 2").net_mg, ledger.quantity_at(item, other)) == (0, 0)
    assert keeper.get(url("weigh", item), {"place": "x" * 50}).status_code == 200
    assert "no drum of it stands here" in keeper.get(url("weigh", item), {"place": make.shed().pk}).content.decode()


def test_a_drum_left_out_is_asked_about_on_the_page(keeper: Client, item: Item, shed: Place) -> None:
    one, two = drum(item), drum(item, "drum 2")
    sent = {"key": new_key(), "place": shed.pk, f"drum_{one.pk}": "3000"}
    answer = keeper.post(url("weigh", item), sent)
    assert answer.status_code == 422
    assert "“drum 2” stands there too" in answer.content.decode()
    for _tap in range(2):
        assert keeper.post(url("weigh", item), {**sent, f"gone_{two.pk}": "on"}).status_code == 302
    assert ledger.on_hand(item) == 2_000_000
    assert drum(item, "drum 2").place is None
    assert f"drum_{two.pk}" in keeper.get(url("weigh", item)).context["form"].fields
    api = Api(coordinator())
    weighed = [{"container": one.pk, "gross_g": "2000"}, {"container": two.pk, "gross_g": "2000"}]
    assert api.post(f"items/{item.code_id}/count-by-weight", place=shed.pk, weighed=weighed)["difference"] == 0


def test_more_drums_ask_no_more_of_the_database(keeper: Client, item: Item, other: Place) -> None:
    def queries(address: str) -> int:
        with CaptureQueriesContext(connection) as seen:
            assert keeper.get(address).status_code == 200
        return len(seen)

    addresses = [url("lot", item), url("weigh", item)]
    for address in addresses:
        queries(address)
    before = [queries(address) for address in addresses]
    do(transfer, item=item, source=drum(item).place, target=other, quantity=1)
    for number in range(3):
        do(containers.add_container, item=item, name=f"can {number}", place=other, tare_mg=5)
    assert [queries(address) for address in addresses] == before
