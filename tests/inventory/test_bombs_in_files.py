"""Small files that would fill the memory: refused before the library that cannot be stopped sees them."""

import io
import zipfile

import pytest
import xlsxwriter

from coop import sheets
from coop.command import Refused
from inventory.files import packages, reading

HEADS = ["material", "kind", "supplier", "shed", "amount, g or pieces"]
LINE: list[sheets.Cell] = ["Glycerine", "glycerine", "Smith", "Barn", 5]
SHEET = "xl/worksheets/sheet1.xml"
LONG = b"x" * 1_000_000


@pytest.fixture(autouse=True)
def unread(monkeypatch):
    """The library is never asked, so that a guard that is gone fails a test and not the machine."""
    monkeypatch.setattr(reading, "_of_workbook", lambda content: [])


def package(content, changed):
    """The same package with parts exchanged by a function of their bytes."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            part = old.read(name)
            new.writestr(name, changed[name](part) if name in changed else part)
    return out.getvalue()


def workbook(rows, texts=b"", sheet=SHEET):
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True})
    book.add_worksheet("lots").write_row(0, 0, HEADS)
    book.close()
    content = package(
        out.getvalue(),
        {
            SHEET: lambda part: part.replace(b"</sheetData>", rows + b"</sheetData>"),
            "xl/sharedStrings.xml": lambda part: part.replace(b"</sst>", texts + b"</sst>"),
        },
    )
    return content if sheet == SHEET else moved(content, sheet)


def moved(content, sheet):
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            new.writestr(sheet if name == SHEET else name, old.read(name))
    return out.getvalue()


def ods(cell):
    row = b"<table:table-row>" + cell + b"</table:table-row></table:table>"
    content = sheets.write("ods", HEADS, [LINE])
    return package(content, {"content.xml": lambda part: part.replace(b"</table:table>", row, 1)})


def refused(content):
    assert len(content) < 200_000
    with pytest.raises(Refused) as refusal:
        reading.read(content)
    return refusal.value


def test_one_long_text_that_many_cells_share_is_counted_in_each():
    texts = b"<si><t>" + LONG + b"</t></si>"
    cells = b"".join(b'<row r="%d"><c r="A%d" t="s"><v>5</v></c></row>' % (row, row) for row in range(2, 102))
    assert refused(workbook(cells, texts)).code == "too_large"


@pytest.mark.parametrize("repeat", [b"1000", b"+1000", b"00000000001000", b"99999999999999"])
def test_a_long_text_that_a_table_repeats_is_counted_each_time(repeat):
    cell = b'<table:table-cell table:number-columns-repeated="' + repeat + b'" office:value-type="string"><text:p>'
    assert refused(ods(cell + LONG[:100_000] + b"</text:p></table:table-cell>")).code == "too_large"


def test_spaces_that_stand_for_a_number_are_counted():
    text = b'<text:p>x<text:s text:c="999999999"/></text:p>'
    assert (
        refused(ods(b'<table:table-cell office:value-type="string">' + text + b"</table:table-cell>")).code
        == "too_large"
    )


def test_a_value_without_its_kind_is_counted_too():
    repeated = b'<table:table-cell table:number-columns-repeated="9999999" office:string-value="x"/>'
    assert refused(ods(repeated)).code == "too_large"


@pytest.mark.parametrize("reference", [b"ZZZZZZ2", b"A99999999", b"A4294967295"])
def test_a_cell_beyond_every_sheet_is_far_away(reference):
    row = b'<row r="2"><c r="' + reference + b'"><v>1</v></c></row>'
    assert refused(workbook(row)).code == "too_large"


def test_a_sheet_under_another_name_is_looked_at():
    rows = b'<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'
    assert refused(workbook(rows, sheet="xl/elsewhere/lots.txt")).code == "too_large"


def test_sheets_are_summed():
    content = workbook(b'<row r="500000"><c r="A500000"><v>1</v></c></row>')
    with zipfile.ZipFile(io.BytesIO(content)) as old:
        sheet = old.read(SHEET)
    packages.check_extent({"xl/worksheets/sheet1.xml": sheet})
    with pytest.raises(Refused):
        packages.check_extent({f"xl/worksheets/sheet{number}.xml": sheet for number in (1, 2)})


def test_an_empty_end_may_be_long():
    cell = b'<table:table-cell table:number-columns-repeated="16000"/>'
    packages.check_extent(packages.unpack(ods(cell)))
