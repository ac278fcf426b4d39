"""Tables: sort, filter, page, keep it in the address, export what they show."""

import csv
import datetime as dt
import io
from decimal import Decimal

import pytest
import time_machine
from django.test import RequestFactory
from python_calamine import CalamineWorkbook

from coop import sheets
from coop.models import HiveKind
from coop.tables import Column, Filter, Table

KINDS = Table(
    "kinds",
    (Column("name", "Kind", "name", sort="name"), Column("order", "Order", "order", "number", sort="order")),
    filters=(Filter("at", "Order", "order", [(1, "first"), (2, "second")]),),
    search=("name",),
    order="name",
    per_page=2,
)
ROWS = [
    {"name": "Greta", "code": "FWMH4KXY", "mass": 3_250, "on": dt.date(2026, 3, 1), "told": ("fine", "told 09:20")},
    {"name": "=SUM(A1)", "code": "K4V3XFPM", "mass": None, "on": None, "told": ("soon", "to be told")},
    {"name": "Aron", "code": "CYHD77YD", "mass": 1_006_000, "on": dt.date(2025, 3, 1), "told": ("soon", "to be told")},
]
HOLDERS = Table(
    "holders",
    (
        Column("name", "Member", "name", sort="name", link=lambda row: f"/{row['code']}"),
        Column("code", "Bag", "code", "code"),
        Column("mass", "Net", "mass", "mass", sort="mass"),
        Column("on", "Since", "on", "date", sort="on"),
        Column("told", "Told", "told", "state"),
    ),
    order="name",
)


def shown(table, rows, address=""):
    return table.from_request(RequestFactory().get(f"/list?{address}"), rows)


def names(found):
    return [row.cells[0].words for row in found.rows]


@pytest.fixture
def kinds(db):
    HiveKind.objects.all().delete()
    return [HiveKind.objects.create(name=name, order=order) for name, order in (("a", 3), ("b", 2), ("c", 1))]


def test_it_sorts_as_the_address_asks(kinds):
    assert names(shown(KINDS, HiveKind.objects.all(), "sort=order")) == ["c", "b"]
    assert names(shown(KINDS, HiveKind.objects.all(), "sort=-name")) == ["c", "b"]
    assert names(shown(KINDS, HiveKind.objects.all(), "sort=secret")) == ["a", "b"]


def test_it_filters_and_searches(kinds):
    assert names(shown(KINDS, HiveKind.objects.all(), "at=2")) == ["b"]
    assert names(shown(KINDS, HiveKind.objects.all(), "q=C")) == ["c"]
    assert names(shown(KINDS, HiveKind.objects.all(), "at=evil")) == ["a", "b"]
    assert shown(KINDS, HiveKind.objects.all(), "q=zz").is_filtered


def test_it_pages_and_keeps_the_filter_in_the_address(kinds):
    first = shown(KINDS, HiveKind.objects.all(), "sort=name&q=")
    assert (first.before, first.after) == ("", "/list?sort=name&q=&page=2")
    assert names(shown(KINDS, HiveKind.objects.all(), "page=99")) == ["c"]
    assert first.heads[0].direction == "ascending"
    assert "sort=-name" in first.heads[0].url


def test_one_row_costs_the_same_queries_as_three(kinds, django_assert_num_queries):
    for rows in (HiveKind.objects.filter(name="a"), HiveKind.objects.all()):
        with django_assert_num_queries(2):
            names(shown(KINDS, rows))


def test_a_list_sorts_by_value_with_what_is_unknown_last():
    assert names(shown(HOLDERS, ROWS, "sort=-mass")) == ["Aron", "Greta", "=SUM(A1)"]
    assert names(shown(HOLDERS, ROWS, "sort=on")) == ["Aron", "Greta", "=SUM(A1)"]
    assert names(shown(HOLDERS, ROWS, "q=cyhd+77")) == ["Aron"]


@time_machine.travel("2026-06-10T12:00Z")
def test_cells_speak_to_people():
    row = next(shown(HOLDERS, ROWS, "q=greta").rows)
    assert [cell.words for cell in row.cells] == [
        "Greta",
        "FWMH\u00a04KXY",
        "3.25\u202fg",
        "Sun 1 Mar",
        "told 09:20",
    ]
    assert row.cells[0].url == "/FWMH4KXY"
    assert row.cells[4].shape == "fine"


def test_without_as_there_is_no_file():
    assert shown(HOLDERS, ROWS).file() is None
    assert shown(HOLDERS, ROWS, "as=exe").file() is None


def test_a_csv_has_every_row_of_the_filter_in_order_and_runs_nothing(kinds):
    answer = shown(HOLDERS, ROWS, "as=csv&sort=-mass").file()
    lines = list(csv.reader(io.StringIO(answer.content.decode("utf-8-sig"))))
    assert lines[0] == ["Member", "Bag", "Net, g", "Since", "Told"]
    assert lines[1] == ["Aron", "CYHD77YD", "1006", "2025-03-01", "to be told"]
    assert lines[3][0] == "'=SUM(A1)"
    assert answer["Content-Disposition"] == 'attachment; filename="holders.csv"'
    assert len(shown(KINDS, HiveKind.objects.all(), "as=csv").file().content.splitlines()) == 4


@pytest.mark.parametrize("kind", ["ods", "xlsx"])
def test_a_spreadsheet_reads_back_as_it_was_shown(kind):
    content = shown(HOLDERS, ROWS, f"as={kind}").file().content
    sheet = CalamineWorkbook.from_filelike(io.BytesIO(content)).get_sheet_by_index(0).to_python()
    assert sheet[0] == ["Member", "Bag", "Net, g", "Since", "Told"]
    assert sheet[1] == ["'=SUM(A1)", "K4V3XFPM", "", "", "to be told"]
    assert sheet[2] == ["Aron", "CYHD77YD", 1006.0, dt.date(2025, 3, 1), "to be told"]
    assert sheet[3][2] == 3.25


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", "\t=1", "\r=1"])
def test_text_that_a_spreadsheet_would_run_is_made_harmless(text):
    assert sheets.harmless(text) == f"'{text}"


def test_figures_are_left_as_they_are():
    assert sheets.harmless(Decimal("-1.5")) == Decimal("-1.5")
    assert sheets.harmless("a=1") == "a=1"


def test_signs_that_xml_knows_survive():
    for kind in ("ods", "xlsx"):
        content = sheets.write(kind, ["a&b"], [["<b>", "\u00fc \x02"]])
        rows = CalamineWorkbook.from_filelike(io.BytesIO(content)).get_sheet_by_index(0).to_python()
        assert rows[0][0] == "a&b"
        assert rows[1][0] == "<b>"
