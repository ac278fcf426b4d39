"""XLSX and ODS are zip packages: unpacked here byte by byte under a limit, before any library sees them."""

import io
import re
import struct
import zipfile
import zlib
from collections.abc import Iterator
from xml.parsers import expat

from django.utils.translation import gettext as _

from coop.command import Refused

MOST_UNPACKED = 60_000_000
MOST_PARTS = 2_000
#: a rectangle of cells that holds all filled ones may not be larger: the library keeps it whole
MOST_CELLS = 3_000_000
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
    """Refused where filled cells lie so far apart that the table between them would not fit in memory."""
    for name, part in parts.items():
        is_sheet = name == "content.xml" or re.search(r"worksheets/[^/]+\.xml$", name, re.IGNORECASE)
        if is_sheet and _Extent().of(part) > MOST_CELLS:
            raise Refused(
                _("There are filled cells very far from the table. Delete the rows and columns beyond it."),
                code="too_large",
            )


class _Extent:
    """Rows times columns that the filled cells of one sheet span, read without building anything."""

    def __init__(self) -> None:
        self.rows = self.columns = self.row = self.column = 0
        self.row_repeat = self.cell_repeat = 1
        self.reference = ""
        self.depth_filled = 0
        self.total = 0

    def of(self, part: bytes) -> int:
        parser = expat.ParserCreate()
        parser.buffer_text = True
        parser.StartElementHandler = self._start
        parser.StartDoctypeDeclHandler = self._no_doctype
        try:
            parser.Parse(part, True)
        except expat.ExpatError:
            raise damaged() from None
        return max(self.total, self.rows * self.columns)

    def _no_doctype(self, *_given: object) -> None:
        raise damaged()

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        name = tag.rpartition(":")[2]
        if name == "row":
            self.row, self.column = _count(attributes.get("r"), self.row + 1), 0
        elif name == "c":
            self._at(attributes.get("r", ""))
        elif name in ("v", "is"):
            self._filled(1, 1)
        elif name == "table":
            self.row = 0
        elif name == "table-row":
            self.row_repeat = _count(attributes.get("table:number-rows-repeated"), 1)
            self.row, self.column = self.row + self.row_repeat, 0
        elif name in ("table-cell", "covered-table-cell"):
            repeat = _count(attributes.get("table:number-columns-repeated"), 1)
            self.column += repeat
            if "office:value-type" in attributes or "table:formula" in attributes:
                self._filled(self.row_repeat, repeat)

    def _at(self, reference: str) -> None:
        found = re.fullmatch(r"([A-Za-z]{1,3})(\d{1,7})", reference)
        if found is None:
            self.column += 1
            return
        column = 0
        for letter in found[1].upper():
            column = column * 26 + ord(letter) - 64
        self.column, self.row = column, int(found[2])

    def _filled(self, down: int, across: int) -> None:
        self.rows, self.columns = max(self.rows, self.row), max(self.columns, self.column)
        self.total += down * across


def _count(text: str | None, otherwise: int) -> int:
    return int(text) if text and text.isascii() and text.isdigit() and len(text) < 10 else otherwise


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
