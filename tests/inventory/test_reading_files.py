"""Files that are no tables, or hostile ones: a sentence each, quickly, and never another error."""

import io
import struct
import time
import zipfile
from typing import Any

import pytest
import xlsxwriter
from hypothesis import given
from hypothesis import strategies as st

from coop import sheets, units
from coop.command import Refused
from inventory.files import cells, columns, packages, reading

HEADS = ["material", "kind", "supplier", "shed", "amount, g or pieces"]
LINE: list[Any] = ["Glycerine", "glycerine", "Smith", "Barn", 5]
TABLE = "material;kind;supplier;shed;amount\nGlycérine;glycerine;Smith;Barn;12,5\n"


def workbook(*sheets_of: tuple[str, list[list[Any]]]) -> bytes:
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True})
    for name, lines in sheets_of or (("Sheet1", [HEADS, LINE]),):
        sheet = book.add_worksheet(name)
        for number, line in enumerate(lines):
            sheet.write_row(number, 0, line)
    book.close()
    return out.getvalue()


def refused(content: bytes) -> str:
    with pytest.raises(Refused) as refusal:
        reading.read(content)
    return refusal.value.code


def sentence_of(read: Any, *given: Any) -> str | None:
    """What a reader says against it; None where it reads. Any other error is the test's."""
    try:
        read(*given)
    except (Refused, units.BadUnit) as trouble:
        return str(trouble)
    return None


def part_of(content: bytes, name: str) -> bytes:
    with zipfile.ZipFile(io.BytesIO(content)) as package:
        return package.read(name)


def with_part(content: bytes, name: str, part: bytes) -> bytes:
    """The same package with one part exchanged or added."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for one in old.namelist():
            if one != name:
                new.writestr(one, old.read(one))
        new.writestr(name, part)
    return out.getvalue()


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "latin-1"])
@pytest.mark.parametrize("sign", [",", ";", "\t"])
def test_csv_of_each_kind_reads_the_same(encoding, sign):
    text = TABLE.replace(",", ".").replace(";", sign)
    book = reading.read(text.encode(encoding))
    assert [row.cells for row in book.rows] == [
        {"material": "Glycérine", "kind": "glycerine", "supplier": "Smith", "shed": "Barn", "amount": "12.5"}
    ]
    assert bool(book.notes) == (encoding == "latin-1")


def test_utf_16_without_its_mark_is_read_too():
    assert reading.read(TABLE.encode("utf-16-le")).rows[0].cells["material"] == "Glycérine"


@pytest.mark.parametrize("kind", ["xlsx", "ods", "csv"])
def test_workbooks_read_what_we_write(kind):
    content = sheets.write(kind, HEADS, [["=1+1", "glycerine", "-Smith", "@Barn", 5]], "lots")
    cells_of = {"material": "=1+1", "kind": "glycerine", "supplier": "-Smith", "shed": "@Barn", "amount": "5"}
    assert reading.read(content).rows == [reading.Row("lots", 2, cells_of)]


def test_a_head_below_a_title_other_sheets_and_other_columns():
    lines = [["Stock of our club"], [], [*HEADS, "colour"], [*LINE, "amber"]]
    book = reading.read(workbook(("Tabelle1", lines), ("ledger", [["a"], ["b"]])))
    assert [(row.number, row.cells["material"]) for row in book.rows] == [(4, "Glycerine")]
    assert any("colour" in note for note in book.notes)
    assert any("ledger" in note for note in book.notes)


def test_the_unit_at_the_head_counts():
    book = reading.read(workbook(("lots", [[*HEADS[:4], "amount, kg"], LINE])))
    assert book.rows[0].cells["amount"] == "5 kg"


def test_the_machines_sixteenth_digit_is_not_an_amount():
    assert reading.read(workbook(("lots", [HEADS, [*LINE[:4], 0.1 + 0.2]]))).rows[0].cells["amount"] == "0.3"


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"", "empty"),
        (b"  \n\n", "empty"),
        (b"%PDF-1.7 not a table", "kind"),
        (b"\x89PNG\r\n\x1a\n123", "kind"),
        (b"\x00\x01\x02\x03" * 50, "kind"),
        (b"hello, world\n1, 2\n", "no_list"),
        (b"material,kind,supplier,shed,amount\n", "no_list"),
        (b"PK\x03\x04 and then nothing", "damaged"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\x00" * 600, "old"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + "EncryptedPackage".encode("utf-16-le"), "password"),
        (b"material,material,amount\nA,B,5\n", "twice"),
        (b'material,amount\n"' + b"x" * 200_000 + b"\n", "kind"),
        (b"x" * (reading.MOST_BYTES + 1), "too_large"),
    ],
)
def test_what_is_no_table_is_refused(content, code):
    assert refused(content) == code


def test_a_truncated_workbook_is_damaged():
    whole = workbook()
    for part in (0.3, 0.6, 0.95):
        assert refused(whole[: int(len(whole) * part)]) == "damaged"


def test_a_sheet_cut_in_the_middle_is_damaged():
    name = "xl/worksheets/sheet1.xml"
    part = part_of(workbook(), name)
    assert refused(with_part(workbook(), name, part[: len(part) // 2])) == "damaged"


def test_a_package_of_something_else_is_no_table():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as package:
        package.writestr("letter.docx", "x")
    assert refused(out.getvalue()) == "kind"


def test_an_encrypted_ods_asks_for_one_without_password():
    ods = sheets.write("ods", HEADS, [LINE])
    manifest = b"<manifest:encryption-data/>"
    assert refused(with_part(ods, "META-INF/manifest.xml", manifest)) == "password"


def test_an_encrypted_zip_part_asks_for_one_without_password():
    content = bytearray(workbook())
    directory = content.rfind(b"PK\x01\x02")
    while directory >= 0:
        content[directory + 8] |= 1
        directory = content.rfind(b"PK\x01\x02", 0, directory)
    assert refused(bytes(content)) == "password"


def test_a_zip_bomb_is_stopped_at_the_limit():
    bomb = with_part(workbook(), "xl/worksheets/sheet1.xml", b" " * (packages.MOST_UNPACKED + 10))
    assert len(bomb) < 200_000
    began = time.perf_counter()
    assert refused(bomb) == "too_large"
    assert time.perf_counter() - began < 5


def test_a_bomb_in_many_parts_is_summed():
    content = workbook()
    for number in range(4):
        content = with_part(content, f"xl/more{number}.xml", b"0" * (packages.MOST_UNPACKED // 3))
    assert refused(content) == "too_large"


def test_a_bomb_that_lies_about_its_size_is_counted_and_not_believed():
    content = bytearray(with_part(workbook(), "xl/lie.xml", b" " * (packages.MOST_UNPACKED + 10)))
    for sign, place in ((b"PK\x01\x02", 24), (b"PK\x03\x04", 22)):
        at = content.rfind(sign)
        content[at + place : at + place + 4] = struct.pack("<I", 10)
    assert refused(bytes(content)) in ("too_large", "damaged")


def test_a_nested_package_is_not_opened():
    inner = with_part(workbook(), "xl/big.xml", b" " * 50_000_000)
    content = with_part(workbook(), "xl/embeddings/inner.xlsx", inner)
    assert len(reading.read(content).rows) == 1


def test_entities_that_multiply_are_refused():
    name = "xl/worksheets/sheet1.xml"
    part = part_of(workbook(), name).replace(b"<worksheet", b'<!DOCTYPE x [<!ENTITY a "aaaa">]><worksheet', 1)
    assert refused(with_part(workbook(), name, part)) == "damaged"


def test_two_filled_cells_in_far_corners_are_refused_before_memory_is():
    lines = b'<row r="1"><c r="A1"><v>1</v></c></row><row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'
    name = "xl/worksheets/sheet1.xml"
    part = part_of(workbook(), name)
    begin, end = part.index(b"<sheetData>") + 11, part.index(b"</sheetData>")
    assert refused(with_part(workbook(), name, part[:begin] + lines + part[end:])) == "too_large"


def test_a_cell_repeated_a_billion_times_is_refused():
    ods = sheets.write("ods", HEADS, [LINE])
    part = part_of(ods, "content.xml")
    for tag, times in ((b"<table:table-row", b"rows-repeated"), (b"<table:table-cell", b"columns-repeated")):
        part = part.replace(tag, tag + b" table:number-" + times + b'="5000"')
    assert refused(with_part(ods, "content.xml", part)) == "too_large"


def test_a_million_empty_rows_are_passed_over():
    name = "xl/worksheets/sheet1.xml"
    part = part_of(workbook(), name)
    empty = b"".join(b'<row r="%d"/>' % number for number in range(3, 1_000_001))
    content = with_part(workbook(), name, part.replace(b"</sheetData>", empty + b"</sheetData>"))
    began = time.perf_counter()
    assert len(reading.read(content).rows) == 1
    assert len(reading.read(TABLE.encode() + b";;;;\n" * 900_000).rows) == 1
    assert time.perf_counter() - began < 20


def test_too_many_rows_are_said():
    assert refused(b"material,amount\n" + b"A,5\n" * (reading.MOST_ROWS + 1)) == "too_large"


def test_the_empty_files_hold_every_head_and_nothing_to_read():
    for sheet, heads in columns.HEADS.items():
        assert {columns.word_of(head.title, sheet)[0] for head in heads} == {head.word for head in heads}


@given(st.binary(max_size=600))
def test_any_bytes_are_read_or_refused(content):
    said = sentence_of(reading.read, content)
    assert said is None or said


@given(st.lists(st.lists(st.text(max_size=40), max_size=6), max_size=6), st.sampled_from(["csv", "ods", "xlsx"]))
def test_any_text_in_the_cells_is_read_or_refused(lines, kind):
    said = sentence_of(reading.read, sheets.write(kind, HEADS, lines, "lots"))
    assert said is None or said


PARSERS: list[Any] = [
    (cells.amount, "mass"), (cells.amount, "pieces"), (cells.money,), (cells.count, 365), (cells.assay,), (cells.yes,),
    (cells.day,), (cells.kind,), (cells.unit,), (cells.form,), (cells.weekdays,), (cells.name,), (cells.email,),
]  # fmt: skip


@given(st.text(max_size=60) | st.from_regex(r"[0-9 .,/eE+\-]{1,24}( kg| g)?", fullmatch=True))
def test_any_text_in_a_cell_has_a_value_or_a_sentence(text):
    for parse, *more in PARSERS:
        said = sentence_of(parse, text, *more)
        assert said is None or said


@pytest.mark.parametrize(
    ("text", "iso"),
    [
        ("2027-03-15", "2027-03-15"), ("2027-03-15T00:00:00", "2027-03-15"), ("15.3.2027", "2027-03-15"),
        ("15/3/2027", "2027-03-15"), ("3/15/2027", "2027-03-15"), ("4/4/2027", "2027-04-04"),
    ],
)  # fmt: skip
def test_days_in_each_way_of_writing(text, iso):
    assert cells.day(text).isoformat() == iso


@pytest.mark.parametrize("text", ["3/4/2027", "15.3.27", "31.2.2027", "yesterday", "0001-01-01", "٣/٤/2027"])
def test_days_that_are_none_or_two(text):
    with pytest.raises(units.BadUnit):
        cells.day(text)
