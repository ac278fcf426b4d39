"""Tables that sort, filter and page, keep that in the address, and export what they show.

    LOTS = Table("lots", columns=(
        Column("code", _("Code"), "code_id", "code", sort="code_id", link=lambda lot: lot.get_absolute_url()),
        Column("mass", _("On hand"), lambda lot: lot.on_hand_mg, "mass", sort="on_hand_mg"),
    ), search=("code__text", "supplier__name"), order="code")

    def page(request):
        shown = LOTS.from_request(request, Item.objects.lots().select_related("supplier"))
        return shown.file() or render(request, "…", {"table": shown})    # {% table table %}

A queryset is sorted, filtered and cut by the database, in one count and one select, whatever its length; a list is
sorted and searched by what its cells show. In the address: q, sort (-key: downwards), page, a filter's key, and
as=csv|ods|xlsx.
"""

import dataclasses
import datetime as dt
from collections.abc import Callable, Iterable, Iterator, Sequence
from decimal import Decimal
from typing import Any, NamedTuple

from django.core.paginator import Page, Paginator
from django.db.models import Q, QuerySet
from django.http import HttpRequest, HttpResponse, QueryDict
from django.utils import timezone
from django.utils.functional import Promise
from django.utils.translation import gettext as _

from coop import sheets, wording

NUMBERS = frozenset({"mass", "amount", "pieces", "money", "temp", "w", "number", "percent"})
CHUNK = 2000
#: words that may wait for the reader's language
Words = str | Promise


@dataclasses.dataclass(frozen=True)
class Column:
    """One column. `get` is an attribute path ("lot.code") or a function of the row.

    `kind`: text, code, mass (mg), amount (a pair: mg or None, pieces), pieces, money (cents), temp (milli-degrees),
    w and percent (parts per 10^9), number,
    date, moment, state (a pair: shape, word). `sort` is the database field to sort by; "" means it does not sort (in
    a list any text here sorts by the value). `link` gives an address for a row, or "".
    """

    key: str
    title: Words
    get: str | Callable[[Any], Any]
    kind: str = "text"
    sort: str = ""
    link: Callable[[Any], str | None] | None = None
    places: int | None = None
    strong: bool = False

    def value(self, row: Any) -> Any:
        if callable(self.get):
            return self.get(row)
        for step in self.get.split("."):
            row = row.get(step) if isinstance(row, dict) else getattr(row, step, None)
        return row

    def words(self, value: Any) -> str:
        """The value as people read it."""
        if value is None or value == "":
            return ""
        writers: dict[str, Callable[[Any], str]] = {
            "code": wording.code,
            "mass": lambda mass: wording.mass_g(mass, self.places),
            "amount": lambda pair: wording.amount(*pair),
            "pieces": wording.figure,
            "number": lambda number: wording.figure(number, self.places),
            "money": wording.money,
            "temp": lambda temp: wording.temp(temp, self.places),
            "w": wording.fraction,
            "percent": lambda part: wording.percent(part, 10**9, 1 if self.places is None else self.places),
            "date": wording.day,
            "moment": wording.moment,
            "state": lambda pair: str(pair[1]),
        }
        return writers.get(self.kind, str)(value)

    def cell(self, value: Any) -> sheets.Cell:
        """The value as a file keeps it: in the unit of `file_title`, unrounded."""
        if value is None or value == "":
            return None
        if self.kind in ("mass", "temp"):
            return Decimal(value) / 1000
        if self.kind == "amount":
            return Decimal(value[0]) / 1000 if value[0] is not None else value[1]
        if self.kind == "money":
            return Decimal(value) / 100
        if self.kind in ("w", "percent"):
            return Decimal(value) / 10**9
        if self.kind == "state":
            return str(value[1])
        if self.kind == "moment" and isinstance(value, dt.datetime):
            return timezone.localtime(value)
        return value if isinstance(value, int | Decimal | dt.date) and not isinstance(value, bool) else str(value)

    @property
    def file_title(self) -> str:
        unit = {"mass": "g", "amount": _("g or pieces"), "temp": "°C", "percent": _("of 1")}.get(self.kind)
        return f"{self.title}, {unit}" if unit else str(self.title)

    @property
    def classes(self) -> str:
        names = ["number"] if self.kind in NUMBERS else [self.kind] if self.kind in ("code", "date") else []
        return " ".join([*names, *(["is-strong"] if self.strong else [])])


@dataclasses.dataclass(frozen=True)
class Filter:
    """A choice over the table. `field` is a database lookup; `choices` are pairs (value, word), or a function."""

    key: str
    title: Words
    field: str
    choices: Sequence[tuple[Any, Any]] | Callable[[], Iterable[tuple[Any, Any]]]

    def pairs(self) -> list[tuple[str, str]]:
        pairs = self.choices() if callable(self.choices) else self.choices
        return [(str(value), str(word)) for value, word in pairs]


@dataclasses.dataclass(frozen=True)
class Table:
    """What a list page shows; made once, at the top of its module. `name` becomes the file's name."""

    name: str
    columns: Sequence[Column]
    filters: Sequence[Filter] = ()
    search: Sequence[str] = ()
    order: str = ""
    per_page: int = 50
    nothing: Words = ""
    caption: Words = ""
    row_class: Callable[[Any], str] | None = None

    def from_request(self, request: HttpRequest, rows: QuerySet[Any] | Sequence[Any]) -> "Shown":
        """The rows as the address asks for them. What the address has wrong is passed over."""
        asked = request.GET
        chosen = {}
        for one in self.filters:
            pairs = one.pairs()
            value = asked.get(one.key, "")
            chosen[one.key] = (one, pairs, value if value in dict(pairs) else "")
        kept = self._matching(
            rows, [(one, value) for one, _pairs, value in chosen.values() if value], asked.get("q", "").strip()
        )
        sort = self._known_sort(asked.get("sort", "")) or self._known_sort(self.order)
        ordered = self._sorted(kept, sort)
        page = Paginator(ordered, self.per_page).get_page(asked.get("page"))
        return Shown(self, request.path, asked, page, ordered, sort, list(chosen.values()))

    def _known_sort(self, asked: str) -> str:
        key = asked.removeprefix("-")
        return asked if any(column.key == key and column.sort for column in self.columns) else ""

    def _matching(self, rows: Any, wanted: list[tuple[Filter, str]], text: str) -> Any:
        text = text.replace("\x00", "")[:100]
        if isinstance(rows, QuerySet):
            for one, value in wanted:
                rows = rows.filter(**{one.field: value})
            return rows.filter(self._any_of(text)) if text and self.search else rows
        for one, value in wanted:
            column = Column(one.key, "", one.field)
            rows = [row for row in rows if str(column.value(row)) == value]
        return [row for row in rows if self._mentions(row, text)] if text else rows

    def _any_of(self, text: str) -> Q:
        found = Q()
        for field in self.search:
            plain = "".join(text.split()) if field.endswith(("code", "code_id", "code__text")) else text
            found |= Q(**{f"{field}__icontains": plain})
        return found

    def _mentions(self, row: Any, text: str) -> bool:
        words = " ".join(f"{column.words(value)} {value}" for column in self.columns for value in [column.value(row)])
        return text.casefold() in words.replace("\u00a0", " ").casefold()

    def _sorted(self, rows: Any, sort: str) -> Any:
        key = sort.removeprefix("-")
        column = next((one for one in self.columns if one.key == key), None)
        if column is None:
            return rows if not isinstance(rows, QuerySet) or rows.ordered else rows.order_by("pk")
        if isinstance(rows, QuerySet):
            return rows.order_by(f"-{column.sort}" if sort.startswith("-") else column.sort, "pk")
        known = [row for row in rows if column.value(row) not in (None, "")]
        unknown = [row for row in rows if column.value(row) in (None, "")]
        return sorted(known, key=column.value, reverse=sort.startswith("-")) + unknown


class ShownCell(NamedTuple):
    title: str
    words: str
    classes: str
    url: str
    shape: str


class ShownRow(NamedTuple):
    cells: list[ShownCell]
    classes: str


class Head(NamedTuple):
    title: str
    classes: str
    url: str
    direction: str


@dataclasses.dataclass(frozen=True)
class Shown:
    """A table as one request asks for it: what `{% table %}` draws and what `file()` writes."""

    table: Table
    path: str
    asked: QueryDict
    page: "Page[Any]"
    ordered: Any
    sort: str
    chosen: Sequence[tuple[Filter, list[tuple[str, str]], str]]

    @property
    def rows(self) -> Iterator[ShownRow]:
        for row in self.page.object_list:
            yield ShownRow(
                [self._cell(column, row) for column in self.table.columns],
                self.table.row_class(row) if self.table.row_class else "",
            )

    def _cell(self, column: Column, row: Any) -> ShownCell:
        value = column.value(row)
        url = (column.link(row) if column.link else "") or ""
        shape = value[0] if column.kind == "state" and value else ""
        return ShownCell(str(column.title), column.words(value), column.classes, url, shape)

    @property
    def heads(self) -> list[Head]:
        return [self._head(column) for column in self.table.columns]

    def _head(self, column: Column) -> Head:
        classes = "number" if column.kind in NUMBERS else ""
        if not column.sort:
            return Head(str(column.title), classes, "", "")
        direction = {column.key: "ascending", f"-{column.key}": "descending"}.get(self.sort, "")
        next_sort = f"-{column.key}" if direction == "ascending" else column.key
        return Head(str(column.title), classes, self.address(sort=next_sort, page=None), direction)

    @property
    def can_sort(self) -> bool:
        return any(column.sort for column in self.table.columns)

    @property
    def total(self) -> str:
        return wording.counted(self.page.paginator.count, "row")

    @property
    def is_filtered(self) -> bool:
        return bool(self.text or any(value for _one, _pairs, value in self.chosen))

    @property
    def text(self) -> str:
        return self.asked.get("q", "").strip()

    @property
    def can_filter(self) -> bool:
        return bool(self.table.search or self.chosen or not isinstance(self.ordered, QuerySet))

    @property
    def others(self) -> list[tuple[str, str]]:
        """What else stands in the address, for the form to carry along."""
        own = {"q", "sort", "page", "as", *(one.key for one, _pairs, _value in self.chosen)}
        return [(key, value) for key, values in self.asked.lists() if key not in own for value in values]

    @property
    def before(self) -> str:
        return self.address(page=self.page.previous_page_number()) if self.page.has_previous() else ""

    @property
    def after(self) -> str:
        return self.address(page=self.page.next_page_number()) if self.page.has_next() else ""

    @property
    def files(self) -> list[tuple[str, str]]:
        return [(kind.upper(), self.address(**{"as": kind, "page": None})) for kind in sheets.KINDS]

    def address(self, **changes: Any) -> str:
        """This page's address with these parts changed; None takes one out."""
        query = self.asked.copy()
        query.pop("as", None)
        for key, value in changes.items():
            if value is None:
                query.pop(key, None)
            else:
                query[key] = str(value)
        return f"{self.path}?{query.urlencode()}" if query else self.path

    def file(self) -> HttpResponse | None:
        """The file that ?as= asks for: every row of this filter and order, not only this page's. None without ?as=."""
        kind = self.asked.get("as", "")
        if kind not in sheets.KINDS:
            return None
        rows = self.ordered.iterator(chunk_size=CHUNK) if isinstance(self.ordered, QuerySet) else self.ordered
        content = sheets.write(
            kind,
            [column.file_title for column in self.table.columns],
            ([column.cell(column.value(row)) for column in self.table.columns] for row in rows),
            self.table.name,
        )
        answer = HttpResponse(content, content_type=sheets.KINDS[kind])
        answer["Content-Disposition"] = f'attachment; filename="{self.table.name}.{kind}"'
        return answer
