"""Every table of the site exports what it shows, under its filter; no cell of any kind of file becomes a formula."""

import csv
import io
import re
import zipfile
from typing import Any

import pytest
from django.test import Client
from python_calamine import CalamineWorkbook

from coop import access, sheets
from coop.site.api import patterns
from coop.tables import Shown
from tests.makers.coop import coordinator, sign_in
from tests.makers.world import World

RUNS = ("=", "+", "-", "@", "\t", "\r")


def rows_in(kind: str, content: bytes) -> list[list[Any]]:
    """The rows of a file below its head."""
    if kind == "csv":
        return list(csv.reader(io.StringIO(content.decode("utf-8-sig"), newline="")))[1:]
    return CalamineWorkbook.from_filelike(io.BytesIO(content)).get_sheet_by_index(0).to_python()[1:]


@pytest.mark.slow
@pytest.mark.django_db
def test_every_table_exports_the_rows_it_shows(monkeypatch):
    world = World()
    client = sign_in(Client(), coordinator(is_releaser=True))
    drawn: list[Shown] = []
    real = Shown.rows.fget
    assert real is not None

    def rows(self: Shown) -> Any:
        drawn.append(self)
        return real(self)

    monkeypatch.setattr(Shown, "rows", property(rows))
    seen = {}
    for path, pattern in patterns():
        mark = access.mark_of(pattern.callback)
        if path.startswith(("api/", "sign-out")) or mark is None or mark.who is access.NOBODY:
            continue
        url = world.path(path) if "<" in path else f"/{path}"
        drawn.clear()
        answer = client.get(url)
        if answer.status_code != 200 or not drawn:
            continue
        shown = list(drawn)
        body = answer.content.decode()
        for one in shown:
            seen[url] = check(client, url, body, one)
    assert len(seen) > 15, sorted(seen)


def check(client: Client, url: str, body: str, shown: Shown) -> int:
    """Each kind of file is linked, and holds every row of the filter."""
    for kind, address in shown.files:
        kind = kind.lower()
        link = address.replace("&", "&amp;")
        assert f'href="{link}"' in body, (url, kind)
        answer = client.get(address)
        assert answer["Content-Type"] == sheets.KINDS[kind], (url, kind)
        assert answer["Content-Disposition"].startswith("attachment"), (url, kind)
        rows = rows_in(kind, answer.content)
        assert len(rows) == shown.page.paginator.count, (url, kind)
    if shown.can_filter:
        nothing = client.get(url, {"q": "no such words anywhere", "as": "csv"})
        assert rows_in("csv", nothing.content) == [], url
    return int(shown.page.paginator.count)


@pytest.mark.parametrize("kind", ["csv", "ods", "xlsx"])
@pytest.mark.parametrize("sign", RUNS)
def test_no_text_becomes_a_formula(kind, sign):
    text = f"{sign}HYPERLINK(1)"
    for content in (sheets.write(kind, [text], [[text]]), book_of(kind, text)):
        assert all(not str(cell).startswith(RUNS) for row in rows_in(kind, content) for cell in row)
        if kind != "csv":
            with zipfile.ZipFile(io.BytesIO(content)) as package:
                parts = b"".join(package.read(name) for name in package.namelist() if name.endswith(".xml"))
            assert not re.search(rb"<f[ >]|table:formula", parts)


def book_of(kind: str, text: str) -> bytes:
    content = sheets.write_book(kind, [("one", [text], [[text]])])
    if kind != "csv":
        return content
    with zipfile.ZipFile(io.BytesIO(content)) as package:
        return package.read("one.csv")
