"""Printed pages: tagged, in one font that knows the club's names, and never code out of what somebody typed."""

import pypdfium2
import pytest
import zxingcpp

from coop import printing
from tests.makers.coop import club

pytestmark = pytest.mark.django_db

PAGE = b"""#import "base.typ": page-of, rows-of
#let data = json("data.json")
#show: page-of.with(data)
#rows-of(data.heads, data.rows, numbers: (1,))
#image("code.svg", width: 3cm, alt: data.title)
"""
NAMES = ["Tāmati Ngāwari", "Łucja Żółć", "Ελένη", "#evil[x] $1$ @here"]


@pytest.fixture
def printed(monkeypatch):
    club(name="Hīnau & Świt Beekeepers")
    source = printing._source
    monkeypatch.setattr(printing, "_source", lambda app, name: PAGE if name == "names" else source(app, name))
    data = {"title": "Names", "lead": "Who is here", "heads": ["Name", "Number"], "rows": [[n, "1"] for n in NAMES]}
    return pypdfium2.PdfDocument(
        printing.pdf("inventory", "names", data, {"code.svg": printing.qr("HTTPS://X.EXAMPLE/C/7")})
    )


def test_names_of_many_tongues_and_signs_print_as_they_were_typed(printed):
    text = printed[0].get_textpage().get_text_range()
    for name in [*NAMES, "Hīnau & Świt Beekeepers", "Who is here"]:
        assert name in text


def test_a_page_is_tagged_and_bears_its_title(printed):
    assert printed.is_tagged()
    assert printed.get_metadata_value("Title") == "Names"


def test_a_qr_code_reads_back(printed):
    found = zxingcpp.read_barcodes(printed[0].render(scale=3).to_pil())
    assert [one.text for one in found] == ["HTTPS://X.EXAMPLE/C/7"]
