"""Rows to bytes: CSV, XLSX and ODS. Files speak ISO 8601; text that a spreadsheet might run is made harmless.

A cell is a str, int, Decimal, date, aware datetime or None.
"""

import csv
import datetime as dt
import io
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from typing import Any
from xml.sax.saxutils import escape, quoteattr

import xlsxwriter

Cell = str | int | Decimal | dt.date | dt.datetime | None
KINDS = {
    "csv": "text/csv; charset=utf-8",
    "ods": "application/vnd.oasis.opendocument.spreadsheet",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
_RUNS = ("=", "+", "-", "@", "\t", "\r", "\n")


def harmless(cell: Cell) -> Cell:
    """Text that a spreadsheet would run as a formula gets an apostrophe before it; figures stay as they are."""
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(_RUNS) else cell


def write(kind: str, heads: Sequence[str], rows: Iterable[Sequence[Cell]], name: str = "rows") -> bytes:
    """One sheet of the kind "csv", "ods" or "xlsx". Raises KeyError for another."""
    writer = {"csv": _csv, "ods": _ods, "xlsx": _xlsx}[kind]
    safe_rows = ([harmless(cell) for cell in row] for row in rows)
    return writer([harmless(head) for head in heads], safe_rows, name)


Sheet = tuple[str, Sequence[str], Iterable[Sequence[Cell]]]


def write_book(kind: str, book: Sequence[Sheet]) -> bytes:
    """Several sheets, each a name, heads and rows: one workbook "xlsx" or "ods", or a zip of CSV files for "csv"."""
    safe = [(name, [harmless(head) for head in heads], _harmless_rows(rows)) for name, heads, rows in book]
    if kind == "xlsx":
        return _xlsx_book(safe)
    if kind == "ods":
        return _ods_book(safe)
    if kind != "csv":
        raise KeyError(kind)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as package:
        for name, heads, rows in safe:
            package.writestr(f"{name}.csv", _csv(heads, rows, name))
    return out.getvalue()


def _harmless_rows(rows: Iterable[Sequence[Cell]]) -> Iterator[Sequence[Cell]]:
    return ([harmless(cell) for cell in row] for row in rows)


def _written(cell: Cell) -> str:
    if cell is None:
        return ""
    if isinstance(cell, dt.datetime | dt.date):
        return cell.isoformat(timespec="seconds") if isinstance(cell, dt.datetime) else cell.isoformat()
    return str(cell)


def _csv(heads: Sequence[Cell], rows: Iterable[Sequence[Cell]], _name: str) -> bytes:
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow([_written(head) for head in heads])
    writer.writerows([_written(cell) for cell in row] for row in rows)
    return out.getvalue().encode("utf-8-sig")


SafeSheet = tuple[str, Sequence[Cell], Iterable[Sequence[Cell]]]


def _xlsx(heads: Sequence[Cell], rows: Iterable[Sequence[Cell]], name: str) -> bytes:
    return _xlsx_book([(name, heads, rows)])


def _xlsx_book(book_of: Sequence[SafeSheet]) -> bytes:
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"constant_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    bold, date = book.add_format({"bold": True}), book.add_format({"num_format": "yyyy-mm-dd"})
    for name, heads, rows in book_of:
        _xlsx_sheet(book.add_worksheet(name[:31] or "rows"), heads, rows, bold, date)
    book.close()
    return out.getvalue()


def _xlsx_sheet(sheet: Any, heads: Sequence[Cell], rows: Iterable[Sequence[Cell]], bold: Any, date: Any) -> None:
    for place, head in enumerate(heads):
        sheet.write_string(0, place, _written(head), bold)
    for number, row in enumerate(rows, start=1):
        for place, cell in enumerate(row):
            if isinstance(cell, int | Decimal):
                sheet.write_number(number, place, cell)
            elif isinstance(cell, dt.date) and not isinstance(cell, dt.datetime):
                sheet.write_datetime(number, place, dt.datetime.combine(cell, dt.time()), date)
            elif cell is not None:
                sheet.write_string(number, place, _written(cell))
    sheet.freeze_panes(1, 0)


_ODS_HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?>'
    '<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0"'
    ' xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0"'
    ' xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"'
    ' xmlns:style="urn:oasis:names:tc:opendocument:xmlns:style:1.0"'
    ' xmlns:number="urn:oasis:names:tc:opendocument:xmlns:datastyle:1.0" office:version="1.3">'
    '<office:automatic-styles><number:date-style style:name="N1">'
    '<number:year number:style="long"/><number:text>-</number:text>'
    '<number:month number:style="long"/><number:text>-</number:text><number:day number:style="long"/>'
    "</number:date-style>"
    '<style:style style:name="day" style:family="table-cell" style:data-style-name="N1"/></office:automatic-styles>'
    "<office:body><office:spreadsheet>"
)
_ODS_TAIL = "</office:spreadsheet></office:body></office:document-content>"
_ODS_MANIFEST = (
    '<?xml version="1.0" encoding="UTF-8"?>'
    '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0" manifest:version="1.3">'
    f'<manifest:file-entry manifest:full-path="/" manifest:version="1.3" manifest:media-type="{KINDS["ods"]}"/>'
    '<manifest:file-entry manifest:full-path="content.xml" manifest:media-type="text/xml"/></manifest:manifest>'
)


def _ods(heads: Sequence[Cell], rows: Iterable[Sequence[Cell]], name: str) -> bytes:
    return _ods_book([(name, heads, rows)])


def _ods_book(book: Sequence[SafeSheet]) -> bytes:
    """OpenDocument 1.3: a package with one content file, its mimetype first and not compressed."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as package:
        package.writestr("mimetype", KINDS["ods"], zipfile.ZIP_STORED)
        package.writestr("META-INF/manifest.xml", _ODS_MANIFEST)
        with package.open("content.xml", "w", force_zip64=True) as content:
            content.write(_ODS_HEAD.encode())
            for name, heads, rows in book:
                content.write(f"<table:table table:name={quoteattr(name)}>".encode())
                content.write(_ods_row(heads).encode())
                for row in rows:
                    content.write(_ods_row(row).encode())
                content.write(b"</table:table>")
            content.write(_ODS_TAIL.encode())
    return out.getvalue()


def _ods_row(row: Sequence[Cell]) -> str:
    return f"<table:table-row>{''.join(_ods_cell(cell) for cell in row)}</table:table-row>"


def _ods_cell(cell: Cell) -> str:
    if cell is None or cell == "":
        return "<table:table-cell/>"
    written = _written(cell)
    if isinstance(cell, int | Decimal):
        kind = f'office:value-type="float" office:value="{written}"'
    elif isinstance(cell, dt.date) and not isinstance(cell, dt.datetime):
        kind = f'table:style-name="day" office:value-type="date" office:date-value="{written}"'
    else:
        kind = 'office:value-type="string"'
    return f"<table:table-cell {kind}><text:p>{escape(_xml_text(written))}</text:p></table:table-cell>"


def _xml_text(text: str) -> str:
    """Without the control characters that XML cannot hold."""
    return "".join(sign for sign in text if sign >= " " or sign in "\t\n")
