"""A file as it was handed in becomes rows of plain text cells, or a sentence that says why it cannot be read."""

import csv
import dataclasses
import datetime as dt
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _
from python_calamine import CalamineError, CalamineWorkbook

from coop import wording
from coop.command import Refused
from inventory.files import columns, packages

MOST_BYTES = 5_000_000
MOST_ROWS = 20_000
#: the head is looked for in so many filled rows, since a title may stand above it
HEAD_ROWS = 10
LONGEST = 400
_OLD_OFFICE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_OTHERS = (b"%PDF", b"\x89PNG", b"\xff\xd8\xff", b"GIF8", b"Rar!", b"7z\xbc\xaf", b"\x1f\x8b", b"BM", b"\x7fELF")
#: text that our own files put an apostrophe before, so that no spreadsheet runs it
_GUARDED = ("'=", "'+", "'-", "'@", "'\t", "'\r", "'\n")


@dataclasses.dataclass(frozen=True)
class Row:
    """One filled row: the list it stands in, its number in the sheet, its cells under the words of the columns."""

    sheet: str
    number: int
    cells: dict[str, str]


@dataclasses.dataclass
class Book:
    rows: list[Row]
    #: what was passed over, in sentences
    notes: list[str]


def read(content: bytes) -> Book:
    """The rows of the lists in a CSV, XLSX, ODS, or a zip of CSV files. Refused, with a sentence, for anything else."""
    if len(content) > MOST_BYTES:
        raise Refused(_("The file is larger than 5 MB. Keep only the lists of stock in it."), code="too_large")
    if not content.strip(b"\x00 \t\r\n"):
        raise Refused(_("The file is empty."), code="empty")
    if content.startswith(_OLD_OFFICE):
        raise _old_office(content)
    book = Book([], [])
    sheets = _of_package(content, book) if content.startswith(b"PK") else [("", _of_csv(content, book))]
    seen: dict[str, str] = {}
    for name, lines in sheets:
        _take(book, seen, name, lines)
    if not book.rows:
        raise Refused(
            _("No list of stock was found in it. Take the empty file, fill it in, and keep the words at its head."),
            code="no_list",
        )
    book.rows.sort(key=lambda row: columns.LISTS.index(row.sheet))
    return book


def _old_office(content: bytes) -> Refused:
    if "EncryptedPackage".encode("utf-16-le") in content:
        return packages.locked()
    return Refused(_("This is a spreadsheet of an old kind. Save it as XLSX or ODS and hand that in."), code="old")


def _of_package(content: bytes, book: Book) -> Iterable[tuple[str, Iterable[Sequence[Any]]]]:
    parts = packages.unpack(content)
    if b"encryption-data" in parts.get("META-INF/manifest.xml", b""):
        raise packages.locked()
    if "content.xml" in parts or any(name.lower().endswith("workbook.xml") for name in parts):
        packages.check_extent(parts)
        return _of_workbook(packages.repacked(parts))
    papers = [(name, part) for name, part in parts.items() if name.lower().endswith((".csv", ".txt"))]
    if not papers:
        raise Refused(_("This is a package without a spreadsheet in it. Hand in a CSV, XLSX or ODS."), code="kind")
    return [(re.sub(r".*/|\.\w+$", "", name), _of_csv(part, book)) for name, part in papers]


def _of_workbook(content: bytes) -> Iterator[tuple[str, Iterable[Sequence[Any]]]]:
    try:
        workbook = CalamineWorkbook.from_filelike(io.BytesIO(content))
        for name in workbook.sheet_names:
            yield name, workbook.get_sheet_by_name(name).to_python(skip_empty_area=False)
    except (CalamineError, ValueError, OSError, KeyError, IndexError):
        raise packages.damaged() from None
    except BaseException as trouble:  # the library is not Python: its own panics are no Exception
        if type(trouble).__name__ == "PanicException":
            raise packages.damaged() from None
        raise


def _of_csv(content: bytes, book: Book) -> Iterator[Sequence[str]]:
    text = _decoded(content, book)
    sign = max(",;\t", key=lambda one: _known_words(text, one))
    try:
        yield from csv.reader(io.StringIO(text, newline=""), delimiter=sign)
    except csv.Error:
        raise Refused(
            _("The file cannot be read as a table. Save it as CSV from the spreadsheet, or as XLSX or ODS."),
            code="kind",
        ) from None


def _decoded(content: bytes, book: Book) -> str:
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return content.decode("utf-16", "replace")
    for kind, highs in (("utf-16-le", content[1::2]), ("utf-16-be", content[::2])):
        if len(content) % 2 == 0 and highs.count(0) > len(highs) * 2 // 3:
            return content.decode(kind, "replace")
    if content.startswith(_OTHERS) or 0 in content:
        raise Refused(_("This is no table, whatever its name says. Hand in a CSV, XLSX or ODS."), code="kind")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        book.notes.append(_("The text is not UTF-8; it was read as Latin-1. Look at letters with accents."))
        return content.decode("latin-1")


def _known_words(text: str, sign: str) -> tuple[int, int]:
    """How many heads would be known with this sign between the cells, in the lines where the head may be."""
    best = (0, 0)
    for line in text.lstrip().splitlines()[:HEAD_ROWS]:
        titles = [title.strip().strip('"') for title in line[:5000].split(sign)]
        known = max(len({columns.word_of(title, sheet)[0] for title in titles} - {""}) for sheet in columns.LISTS)
        best = max(best, (known, len(titles)))
    return best


def _take(book: Book, seen: dict[str, str], name: str, lines: Iterable[Sequence[Any]]) -> None:
    """Add the rows of one sheet to the book, where it is one of our lists."""
    heads: list[tuple[str, str]] = []
    sheet, tried = "", 0
    for number, line in enumerate(lines, start=1):
        if not any(value not in ("", None) and _plain(value) for value in line):
            continue
        if not sheet:
            titles = [_plain(value) for value in line]
            sheet, tried = columns.list_of(name, titles), tried + 1
            if not sheet and tried == HEAD_ROWS:
                break
            if sheet:
                heads = _heads(book, sheet, titles)
                _once(seen, sheet, name)
            continue
        cells = dict(_cells(heads, line))
        if cells:
            book.rows.append(Row(sheet, number, cells))
        if len(book.rows) > MOST_ROWS:
            raise Refused(
                _("There are more than %(most)s rows in it. Hand it in in two parts.")
                % {"most": wording.figure(MOST_ROWS)},
                code="too_large",
            )
    if not sheet and tried and name:
        book.notes.append(_("The sheet “%(name)s” was passed over.") % {"name": name[:40]})


def _once(seen: dict[str, str], sheet: str, name: str) -> None:
    if sheet in seen:
        raise Refused(
            _("Two sheets hold the list of %(list)s: “%(one)s” and “%(other)s”. Put it into one.")
            % {"list": sheet, "one": seen[sheet][:40], "other": name[:40]},
            code="twice",
        )
    seen[sheet] = name


def _heads(book: Book, sheet: str, titles: list[str]) -> list[tuple[str, str]]:
    """For each column its word and unit; "" for what is passed over."""
    heads: list[tuple[str, str]] = []
    unknown = []
    for title in titles:
        word, unit = columns.word_of(title, sheet)
        if word and word in {one for one, _unit in heads}:
            raise Refused(
                _("The list of %(list)s has the column “%(word)s” twice. Leave one of them.")
                % {"list": sheet, "word": word},
                code="twice",
            )
        if title and not word:
            unknown.append(title[:30])
        heads.append((word, unit))
    if unknown:
        book.notes.append(
            _("In the list of %(list)s these columns were passed over: %(words)s.")
            % {"list": sheet, "words": ", ".join(unknown[:6])}
        )
    return heads


def _cells(heads: list[tuple[str, str]], line: Sequence[Any]) -> Iterator[tuple[str, str]]:
    for (word, unit), value in zip(heads, line, strict=False):
        text = _plain(value) if word else ""
        if text and word in columns.AMOUNTS and unit in ("kg", "mg") and re.fullmatch(r"[\d\s.,']+", text):
            text = f"{text} {unit}"
        if text:
            yield word, text


def _plain(value: Any) -> str:
    """A cell as text: a point before decimals, ISO days; the apostrophe that our own files add is taken off."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return _figure(value)
    if isinstance(value, dt.datetime):
        return value.date().isoformat()
    if isinstance(value, dt.date | dt.time | dt.timedelta):
        return value.isoformat() if not isinstance(value, dt.timedelta) else str(value)
    text = str(value)[: LONGEST * 4]
    if text.startswith(_GUARDED):
        text = text[1:]
    # a null and a lone half of a pair are no text that a database keeps
    text = text.replace("\x00", "").encode("utf-8", "replace").decode()
    return text.strip()[:LONGEST]


def _figure(value: float) -> str:
    """Fifteen digits, as a spreadsheet shows them: the sixteenth is the machine's, not the trade's."""
    if value != value or value in (float("inf"), float("-inf")):
        return str(value)
    return f"{Decimal(f'{value:.15g}'):f}"
