"""XLSX and ODS are zip packages: unpacked here byte by byte under a limit, before any library sees them."""

import io
import re
import struct
import zipfile
import zlib
from collections.abc import Iterator, Sequence
from itertools import zip_longest
from typing import Protocol
from xml.parsers import expat

from django.utils.translation import gettext as _

from coop.command import Refused

MOST_UNPACKED = 60_000_000
MOST_PARTS = 2_000
#: a rectangle of cells that holds all filled ones may not be larger: the library keeps it whole
MOST_CELLS = 3_000_000
#: all text in the cells: what stands once in the package and in many cells is many texts in memory
MOST_TEXT = 30_000_000
#: stands for every row, column and number of times that is too large for a table anyway
FAR = 10**9
_PIECE = 1 << 18
_WANTED = (".xml", ".rels", ".csv", ".txt", "mimetype")


def unpack(content: bytes) -> dict[str, bytes]:
    """The parts of a package that tables are made of. Refused: too much in it, a password, damaged."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as package:
            parts = package.infolist()
    except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError, struct.error, EOFError):
        raise damaged() from None
    if len(parts) > MOST_PARTS:
        raise _too_much()
    found: dict[str, bytes] = {}
    left = MOST_UNPACKED
    for part in parts:
        if part.flag_bits & 1:
            raise locked()
        if not part.filename.lower().endswith(_WANTED):
            continue
        found[part.filename] = _inflated(content, part, left)
        left -= len(found[part.filename])
    return found


def _inflated(content: bytes, part: zipfile.ZipInfo, most: int) -> bytes:
    """One part, really unpacked, whatever the package says of its size."""
    start = part.header_offset
    if content[start : start + 4] != b"PK\x03\x04" or len(content) < start + 30:
        raise damaged()
    name, extra = struct.unpack("<HH", content[start + 26 : start + 30])
    begin = start + 30 + name + extra
    raw = memoryview(content)[begin : begin + part.compress_size]
    if len(raw) != part.compress_size or part.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise damaged()
    out = bytearray()
    for piece in _pieces(raw, part.compress_type == zipfile.ZIP_DEFLATED):
        out += piece
        if len(out) > most:
            raise _too_much()
    if zlib.crc32(out) != part.CRC:
        raise damaged()
    return bytes(out)


def _pieces(raw: memoryview, is_deflated: bool) -> Iterator[bytes]:
    if not is_deflated:
        yield bytes(raw)
        return
    stream = zlib.decompressobj(-15)
    waiting: bytes | memoryview = raw
    try:
        while waiting and not stream.eof:
            yield stream.decompress(waiting, _PIECE)
            waiting = stream.unconsumed_tail
        yield stream.flush(_PIECE)
    except zlib.error:
        raise damaged() from None


def repacked(parts: dict[str, bytes]) -> bytes:
    """The same parts as a plain package, so that the library reads what was counted and nothing else."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as package:
        for name, part in parts.items():
            package.writestr(name, part)
    return out.getvalue()


def check_extent(parts: dict[str, bytes]) -> None:
    """Refused where filled cells lie so far apart, or hold so much text, that the tables would not fit in memory.

    A sheet is known by what is in it, since a workbook may call it what it likes.
    """
    shared: list[int] = []
    for name, part in parts.items():
        if name.lower().endswith("sharedstrings.xml"):
            lengths = _SharedTexts().lengths(part)
            shared = [max(pair) for pair in zip_longest(shared, lengths, fillvalue=0)]
    cells = text = 0
    for part in parts.values():
        if b"sheetData" in part or b"table-row" in part:
            extent = _Extent(shared)
            _parse(extent, part)
            cells += max(extent.total, extent.rows * extent.columns)
            text += extent.text
            if cells > MOST_CELLS:
                raise Refused(
                    _("There are filled cells very far from the table. Delete the rows and columns beyond it."),
                    code="too_large",
                )
            if text > MOST_TEXT:
                raise Refused(
                    _("There is far too much text in its cells. Keep only the lists of stock in it."), "too_large"
                )


class _Reader(Protocol):
    def start(self, tag: str, attributes: dict[str, str]) -> None: ...
    def end(self, tag: str) -> None: ...
    def characters(self, text: str) -> None: ...


def _parse(reader: _Reader, part: bytes) -> None:
    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartElementHandler, parser.EndElementHandler = reader.start, reader.end
    parser.CharacterDataHandler = reader.characters
    parser.StartDoctypeDeclHandler = _no_doctype
    try:
        parser.Parse(part, True)
    except expat.ExpatError:
        raise damaged() from None


def _no_doctype(*_given: object) -> None:
    raise damaged()


class _SharedTexts:
    """How long each text is that the cells of a workbook share."""

    def __init__(self) -> None:
        self.found: list[int] = []

    def lengths(self, part: bytes) -> list[int]:
        _parse(self, part)
        return self.found

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        if tag.rpartition(":")[2] == "si":
            self.found.append(0)

    def end(self, tag: str) -> None:
        pass

    def characters(self, text: str) -> None:
        if self.found:
            self.found[-1] += len(text)


class _Extent:
    """What the filled cells of one sheet span, and how much text they hold, read without building anything."""

    def __init__(self, shared: Sequence[int]) -> None:
        self.shared = shared
        self.rows = self.columns = self.row = self.column = 0
        self.row_repeat = self.cell_repeat = 1
        self.total = self.text = self.length = 0
        self.is_shared = False
        self.index = ""

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        name = tag.rpartition(":")[2]
        if name == "row":
            self.row, self.column = _count(attributes.get("r"), self.row + 1), 0
        elif name == "c":
            self.is_shared, self.index, self.length = attributes.get("t") == "s", "", 0
            self._at(attributes.get("r", ""))
        elif name in ("v", "is"):
            self._filled(1, 1)
        elif name == "table":
            self.row = 0
        elif name == "table-row":
            self.row_repeat = _count(attributes.get("table:number-rows-repeated"), 1)
            self.row, self.column = self.row + self.row_repeat, 0
        elif name in ("table-cell", "covered-table-cell"):
            self._cell_of_ods(attributes)
        elif name == "s":  # so many spaces
            self.length += _count(attributes.get("text:c"), 1)

    def end(self, tag: str) -> None:
        name = tag.rpartition(":")[2]
        if name == "c":
            index = _count(self.index.strip(), FAR) if self.is_shared else FAR
            self.text += self.shared[index] if index < len(self.shared) else self.length
        elif name in ("table-cell", "covered-table-cell"):
            self.text += self.length * self.row_repeat * self.cell_repeat

    def characters(self, text: str) -> None:
        self.length += len(text)
        if self.is_shared and len(self.index) < 20:
            self.index += text

    def _cell_of_ods(self, attributes: dict[str, str]) -> None:
        self.cell_repeat = _count(attributes.get("table:number-columns-repeated"), 1)
        self.column += self.cell_repeat
        values = [value for name, value in attributes.items() if name.startswith("office:")]
        self.length = sum(map(len, values))
        if values or "table:formula" in attributes:
            self._filled(self.row_repeat, self.cell_repeat)
        else:
            self.cell_repeat = (
                0  # the library reads no text without a value, and an empty end may be as long as it likes
            )

    def _at(self, reference: str) -> None:
        if not reference:
            self.column += 1
            return
        found = re.fullmatch(r"([A-Za-z]{1,3})(\d{1,7})", reference)
        if found is None:
            self.column = self.row = FAR
            return
        column = 0
        for letter in found[1].upper():
            column = column * 26 + ord(letter) - 64
        self.column, self.row = column, int(found[2])

    def _filled(self, down: int, across: int) -> None:
        self.rows, self.columns = max(self.rows, self.row), max(self.columns, self.column)
        self.total += down * across


def _count(text: str | None, otherwise: int) -> int:
    """A number as the library reads it; one that is too long stands for far too many."""
    found = re.fullmatch(r"\+?0*(\d+)", text, re.ASCII) if text else None
    if found is None:
        return otherwise
    return int(found[1]) if len(found[1]) < 10 else FAR


def damaged() -> Refused:
    return Refused(
        _("The file is damaged or not whole. Save it again from the spreadsheet and hand it in once more."),
        code="damaged",
    )


def locked() -> Refused:
    return Refused(
        _("The file is protected by a password. Save it without one and hand it in once more."), code="password"
    )


def _too_much() -> Refused:
    return Refused(_("Unpacked, the file is larger than 60 MB. Keep only the lists of stock in it."), code="too_large")
