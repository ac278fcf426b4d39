"""The shopping list: what to buy from whom, with what was paid last; as page, file, paper and over the API."""

import datetime as dt
import io
import re
from collections.abc import Iterator
from typing import Any

import pypdfium2
import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory import shopping
from inventory.commands.ordering import order
from inventory.models import Material, Place, Supplier
from inventory.pages.shopping import headline, printed
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
def shed() -> Place:
    return make.shed()


@pytest.fixture
def calder() -> Supplier:
    return make.supplier(name="Calder & Söhne", lead_days=21, phone="+33 1 99 00 44 44", address="3 Quay Road")


@pytest.fixture
def acid(calder: Supplier, shed: Place) -> Material:
    """500 g there of 2 000 g wanted: 1 500 g short, two packs; paid last 45.00 for 4 kg."""
    acid = make.acid(name="Oxalic acid dihydrate", low_level=2 * KG, pack_size=KG, supplier=calder)
    make.lot(acid, shed, quantity=4 * KG, price_cents=4500, supplier=calder, best_before=TODAY - DAY)
    make.lot(acid, shed, quantity=KG // 2, price_cents=0, supplier=calder)
    return acid


@pytest.fixture
def twine() -> Material:
    return make.material("other", name="Twine", unit="pieces", low_level=3)


def test_packs_price_and_sum_are_worked_out(acid: Material, twine: Material) -> None:
    """2 000 g at 4500 / 4 000 cents a gram are 22.50; the gift that came later tells no price."""
    found = shopping.shopping_list(TODAY)
    first, last = found.baskets
    assert (first.supplier, last.supplier) == (acid.supplier, None)
    line = first.lines[0]
    assert (line.packs, line.quantity, line.cents, line.order_by, line.is_now) == (
        2,
        2 * KG,
        2250,
        dt.date(2027, 1, 25),
        True,
    )
    assert (last.lines[0].packs, last.lines[0].quantity, last.lines[0].cents) == (None, 3, None)
    assert (found.cents, found.without_price) == (2250, 1)
    assert headline(found) == "Two materials to buy, one of them now"


def test_the_usual_supplier_is_asked_before_what_somebody_else_took_last(
    acid: Material, shed: Place, clock: Any
) -> None:
    clock.shift(DAY)
    make.lot(acid, shed, quantity=10, price_cents=10_000, best_before=TODAY - DAY)
    assert shopping.last_paid([acid])[acid.pk].cents == 4500
    acid.supplier = make.supplier()
    acid.save()
    assert shopping.last_paid([acid])[acid.pk].cents == 10_000


def test_what_is_on_its_way_is_not_bought_twice_and_what_is_late_is_told(acid: Material) -> None:
    late = do(order, material=acid, quantity=KG, ordered_on=TODAY - 40 * DAY)
    assert [one.pk for one in shopping.shopping_list(TODAY).lines[0].on_order] == [late.pk]
    do(order, material=acid, quantity=2 * KG)
    assert shopping.shopping_list(TODAY).baskets == []
    assert headline(shopping.shopping_list(TODAY)) == "Nothing has to be bought"


def test_more_materials_ask_the_database_no_more_often(acid: Material, calder: Supplier) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as seen:
            shopping.shopping_list(TODAY)
        return len(seen)

    few = asked()
    for _number in range(3):
        make.lot(make.glycerine(low_level=9 * KG, supplier=calder), price_cents=100)
    assert asked() == few


@pytest.fixture
def address(acid: Material, twine: Material) -> str:
    return reverse("inventory:shopping")


def test_the_page_says_what_to_buy_from_whom(address: str) -> None:
    do(order, material=Material.objects.get(name="Twine"), quantity=1, expected_on=TODAY + DAY)
    shown = sign_in(Client(), coordinator()).get(address).content.decode()
    for words in (
        "Two materials to buy",
        "3 Quay Road",
        "tel:+33199004444",
        "22.50",
        "No supplier set",
        "Note the order",
    ):
        assert words in shown
    assert "1 piece expected Tue 16 Feb" in shown
    read = sign_in(Client(), volunteer()).get(address).content.decode()
    assert "22.50" in read
    assert "Note the order" not in read
    assert sign_in(Client(), member()).get(address).status_code == 403


@pytest.mark.parametrize("kind", ["csv", "ods", "xlsx"])
def test_every_file_holds_what_the_page_shows(address: str, kind: str) -> None:
    answer = sign_in(Client(), volunteer()).get(address, {"as": kind})
    assert answer["Content-Disposition"] == f'attachment; filename="shopping-list.{kind}"'
    if kind == "csv":
        rows = answer.content.decode("utf-8-sig").splitlines()
        assert rows[0].startswith("Supplier,Material,Packs,")
        assert rows[1].startswith("Calder & Söhne,Oxalic acid dihydrate,2,1000,2000,2027-01-25,")
        assert "22.5" in rows[1]
        assert rows[2].startswith("no supplier set,Twine,,,3,")
        assert len(rows) == 3


def test_a_day_that_cannot_be_read_is_said(address: str) -> None:
    client = sign_in(Client(), volunteer())
    for until in ("soon", "2020-01-01", "9999-12-31", "2027-02-30"):
        shown = client.get(address, {"until": until})
        assert shown.status_code == 200
        assert "Tue 31 August" in shown.content.decode()
        assert client.get(reverse("inventory:shopping_paper"), {"until": until}).status_code == 200
    assert "Mon 1 March" in client.get(address, {"until": "2027-03-01"}).content.decode()


def test_the_paper_reads_back_with_everything_needed_on_the_telephone(address: str) -> None:
    answer = sign_in(Client(), volunteer()).get(reverse("inventory:shopping_paper"))
    assert answer["Content-Type"] == "application/pdf"
    paper = pypdfium2.PdfDocument(io.BytesIO(answer.content))
    text = " ".join(paper[0].get_textpage().get_text_range().replace("\u202f", " ").split())
    for words in (
        "Shopping list", "Calder & Söhne", "3 Quay Road · +33 1 99 00 44 44", "Oxalic acid dihydrate",
        "2 packs of 1 000 g, 2 000 g", "now", "22.50", "No supplier set", "Twine", "3 pieces", "Willow Bank Beekeepers",
        "22.50 EUR and 1 thing without a known price",
    ):  # fmt: skip
        assert words in text, words
    assert paper.get_metadata_value("Title") == "Shopping list"
    assert paper.is_tagged()


def test_a_long_list_of_strange_names_prints_on_more_pages() -> None:
    supplier = make.supplier(name="#" + "Ł" * 100, address="@x " * 60)
    for number in range(40):
        make.acid(name=f"{number} " + "W" * 110, low_level=KG, supplier=supplier)
    paper = pypdfium2.PdfDocument(printed(shopping.shopping_list(TODAY)))
    assert len(paper) > 1
    text = "".join(page.get_textpage().get_text_range() for page in paper)
    assert all(re.search(rf"\b{number}\s+W", text) for number in range(40))


def test_an_empty_list_prints_a_sentence() -> None:
    make.acid()
    paper = pypdfium2.PdfDocument(printed(shopping.shopping_list(TODAY)))
    assert "Nothing has to be bought." in paper[0].get_textpage().get_text_range()


def test_the_api_gives_the_same_figures(acid: Material, twine: Material) -> None:
    found = Api(volunteer()).get("shopping-list")
    assert (found["expected_price"], found["without_price"], found["until"]) == ("22.5", 1, "2027-08-31")
    first, last = found["suppliers"]
    assert (first["supplier"], last["supplier"]) == (acid.supplier_id, None)
    line = first["lines"][0]
    assert (line["mass_g"], line["packs"], line["expected_price"], line["is_now"]) == ("2000", 2, "22.5", True)
    assert (last["lines"][0]["pieces"], last["lines"][0]["expected_price"]) == (3, None)
    client = Api(volunteer()).client
    assert client.get("/api/v1/shopping-list?until=never").json()["code"] == "until"
    assert Api(member()).client.get("/api/v1/shopping-list").status_code == 403
