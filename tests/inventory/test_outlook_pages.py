"""The outlook's pages and API: who they open to, what they say, and what nonsense in the address does."""

import datetime as dt
from collections.abc import Iterator

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from coop import registry
from inventory.commands.counting import count
from inventory.models import Item, Material, Order
from inventory.outlook import Demand
from tests.makers import inventory as make
from tests.makers.api import Api
from tests.makers.coop import club, coordinator, deed, do, member, sign_in, volunteer

pytestmark = pytest.mark.django_db
KG = make.KG
TODAY = dt.date(2027, 2, 15)


@pytest.fixture(autouse=True)
def clock() -> Iterator[None]:
    with time_machine.travel(dt.datetime(2027, 2, 15, 9, 0, tzinfo=dt.UTC), tick=False):
        yield


@pytest.fixture
def lot() -> Item:
    supplier = make.supplier(name="Calder Supplies", lead_days=21)
    acid = make.acid(name="Oxalic acid dihydrate", low_level=2 * KG, pack_size=KG, supplier=supplier)
    return make.lot(acid, quantity=5 * KG, best_before=dt.date(2027, 4, 10))


@pytest.fixture
def wanted(monkeypatch: pytest.MonkeyPatch) -> list[Demand]:
    rows: list[Demand] = []
    monkeypatch.setitem(registry.demands._functions, "a-test", lambda day, until: rows)
    return rows


def of(item: Item) -> str:
    return f"/shelf/materials/{item.material_id}/outlook"


def read(url: str, **asks: object) -> str:
    answer = sign_in(Client(), coordinator()).get(url, asks)
    assert answer.status_code == 200, answer.status_code
    html: str = answer.content.decode()
    return html.replace("\u202f", " ").replace("\u00a0", " ")


def test_the_outlook_opens_to_volunteers_and_not_to_members(lot: Item) -> None:
    for person, status in ((volunteer(), 200), (coordinator(), 200), (member(), 403)):
        client = sign_in(Client(), person)
        for url in ("/shelf/outlook", of(lot), "/api/v1/outlook", f"/api/v1/materials/{lot.material_id}/outlook"):
            assert client.get(url).status_code == status, url


def test_a_material_that_is_not_there_is_not_found(lot: Item) -> None:
    client = sign_in(Client(), coordinator())
    assert client.get("/shelf/materials/99999/outlook").status_code == 404
    assert client.get("/api/v1/materials/99999/outlook").status_code == 404


def test_an_empty_shelf_teaches() -> None:
    club()
    assert "here stands what to buy by when" in read("/shelf/outlook")


def test_a_material_without_a_lot_says_so_in_its_title() -> None:
    bare = make.acid(name="Bare")
    assert "Nothing of it on the shelf" in read(f"/shelf/materials/{bare.pk}/outlook")
    assert "nothing of it" in read("/shelf/outlook")


@pytest.mark.parametrize(
    ("asks", "said"),
    [
        ({"until": "soon"}, "“soon” is no day."),
        ({"until": "2026-01-01"}, "Choose a day from today to"),
        ({"until": "9999-12-31"}, "Choose a day from today to"),
        ({"lifted": "99"}, "That hold is not there"),
        ({"lifted": "9" * 40}, "That hold is not there"),
        ({"lifted": "٣"}, "That hold is not there"),
        ({"bench": "bench:1"}, "Say to which day the bench slips."),
        ({"bench": "<script>", "to": "2027-03-01"}, "Write a moved bench like"),
        ({"moved": "bench:1=never"}, "“never” is no day."),
        ({"moved": "bench:1=2020-01-01"}, "A bench moves to today or later."),
        ({"moved": "bench:1=" + "x" * 300}, "is no day."),
    ],
)
def test_nonsense_in_the_address_gets_a_sentence_and_things_as_planned(
    lot: Item, asks: dict[str, str], said: str
) -> None:
    html = read(of(lot), **asks)
    assert said in html
    assert "5 000 g counted today" in html
    assert "<script>" not in html


def test_what_was_typed_stays_in_the_form_where_it_cannot_be_read(lot: Item, wanted: list[Demand]) -> None:
    hold = make.hold(lot)
    wanted.append(Demand(lot.material_id or 0, dt.date(2027, 3, 1), KG, "bench", "bench:1"))
    html = read(of(lot), until="2027-03-15", lifted=[hold.pk, "9" * 5000], to="2020-01-01")
    assert 'value="2027-03-15"' in html
    assert 'value="2020-01-01"' in html
    assert f'value="{hold.pk}" checked' in html


def test_the_api_refuses_nonsense(lot: Item) -> None:
    head = Api(coordinator())
    for asks, code in (
        ({"until": "1e99"}, "until"),
        ({"lifted": "-1"}, "hold"),
        ({"moved": "bench:1"}, "moved"),
        ({"moved": "bench:77=2027-03-01"}, "moved"),
    ):
        answer = head.client.get(f"/api/v1/materials/{lot.material_id}/outlook", asks)
        assert (answer.status_code, answer.json()["code"]) == (422, code)


def test_the_list_says_what_is_to_be_ordered_first(lot: Item, wanted: list[Demand]) -> None:
    assert "Under" not in read("/shelf/outlook")
    glycerine = make.glycerine(name="Glycerine", low_level=KG, supplier=make.supplier(lead_days=10))
    html = read("/shelf/outlook")
    assert "Order now: Glycerine" in html
    assert html.index(">Glycerine<") < html.index(">Oxalic acid dihydrate<")
    make.lot(glycerine, quantity=3 * KG)
    wanted.append(Demand(glycerine.pk, dt.date(2027, 5, 1), 2_500_000, "bench", "bench:1"))
    assert "Next to order, by Fri 19 March: Oxalic acid dihydrate" in read("/shelf/outlook")


def test_the_list_keeps_its_day_in_links_and_in_files(lot: Item) -> None:
    html = read("/shelf/outlook", until="2027-03-01")
    assert f"{of(lot)}?until=2027-03-01" in html
    file = sign_in(Client(), coordinator()).get("/shelf/outlook", {"until": "2027-03-01", "as": "csv"})
    assert "Oxalic acid dihydrate" in file.content.decode()


def test_each_thing_left_out_is_said_with_its_reason(lot: Item, wanted: list[Demand]) -> None:
    material = Material.objects.get(pk=lot.material_id)
    make.hold(make.lot(material, quantity=KG), reason="wet sack")
    make.lot(material, quantity=KG, best_before=dt.date(2027, 2, 14))
    made = deed()
    Order.objects.create(
        material=material, quantity=7 * KG, ordered_on=TODAY, expected_on=dt.date(2027, 2, 1), deed=made
    )
    wanted += [
        Demand(material.pk, dt.date(2027, 2, 1), KG, "bench", "bench:4", "/bench/4"),
        Demand(material.pk, dt.date(2027, 3, 1), 0, "9 hive doses more asked for, Spring", "round:2"),
    ]
    html = read(of(lot))
    for words in (
        "on hold, not counted",
        "wet sack",
        "past Sun 14 Feb, not counted",
        "7 000 g ordered for Mon 1 Feb have not come, and are not counted.",
        "The bench of Mon 1 Feb is late. It is counted today.",
        "9 hive doses more asked for, Spring: not counted, since nobody entered what a hive dose takes.",
    ):
        assert words in html, words


def test_what_was_counted_last_is_said_by_name(lot: Item) -> None:
    assert "No count of these lots is on record." in read(of(lot))
    place = lot.holdings.get().place
    do(count, volunteer("Jonas Feld"), item=lot, place=place, quantity=4_900_000)
    assert f"Counted in {place.name} today 10:00 by Jonas Feld." in read(of(lot))


def test_a_long_reason_and_strange_letters_stay_words(lot: Item) -> None:
    hold = make.hold(lot, reason="<b>ὀξαλίς</b> " + "草酸" * 100)
    html = read(of(lot), lifted=hold.pk)
    assert "&lt;b&gt;ὀξαλίς" in html
    assert "<b>ὀξαλίς" not in html


def test_more_lots_and_benches_ask_no_more_of_the_database(lot: Item, wanted: list[Demand]) -> None:
    material = Material.objects.get(pk=lot.material_id)
    client = sign_in(Client(), coordinator())

    def queries(url: str) -> int:
        client.get(url)
        with CaptureQueriesContext(connection) as seen:
            assert client.get(url).status_code == 200
        return len(seen)

    before = [queries(url) for url in (of(lot), "/shelf/outlook", "/api/v1/outlook")]
    for number in range(20):
        make.lot(material, quantity=KG)
        make.glycerine()
        wanted.append(Demand(material.pk, dt.date(2027, 4, 1), KG, "bench", f"bench:{number}", "/bench/1"))
    assert [queries(url) for url in (of(lot), "/shelf/outlook", "/api/v1/outlook")] == before
    assert "and 9 more" in read(of(lot))
