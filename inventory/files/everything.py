"""Everything the shelf keeps as one file, in the lists that come in again: suppliers, materials, lots, balances.

The ledger goes along for the reader. Rows come from the database a few thousand at a time.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _

from coop import sheets, wording
from inventory.files import cells, columns
from inventory.models import Holding, HoldSeed, Item, Lot, Material, Movement, Place, Supplier

CHUNK = 2000
#: a sheet holds a million rows at most, and nobody reads so many: the newest movements
MOST_MOVEMENTS = 200_000
KINDS = ("xlsx", "ods", "csv")
LEDGER_HEADS = (
    "number", "when", "what", "code", "material", "from", "to", "amount", "unit", "deed", "note", "sets right number",
)  # fmt: skip
Cell = sheets.Cell


def lists() -> list[tuple[str, Sequence[str], Callable[[], Iterator[Sequence[Cell]]]]]:
    """The lists in the order they come in: name, heads, rows."""
    rows = {
        columns.SUPPLIERS: _suppliers,
        columns.MATERIALS: _materials,
        columns.LOTS: _lots,
        columns.BALANCES: _balances,
    }
    ours = [(name, [head.title for head in columns.HEADS[name]], rows[name]) for name in columns.LISTS]
    return [*ours, (columns.LEDGER, LEDGER_HEADS, _ledger)]


def write(kind: str) -> bytes:
    """The whole shelf as "xlsx", "ods", or "csv": one CSV for each list, in a zip."""
    return sheets.write_book(kind, [(name, heads, rows()) for name, heads, rows in lists()])


def empty(kind: str) -> bytes:
    """The lists without a row, each head explained below it in words that are passed over."""
    return sheets.write_book(
        kind,
        [
            *((name, [head.title for head in columns.HEADS[name]], []) for name in columns.LISTS),
            (columns.READ_ME, ["list", "column", "what it means"], _explained()),
        ],
    )


def empty_lots() -> bytes:
    """The list of lots alone, as CSV: enough for a plain case."""
    return sheets.write("csv", [head.title for head in columns.HEADS[columns.LOTS]], [], "lots")


def _explained() -> Iterator[Sequence[Cell]]:
    for name in columns.LISTS:
        for head in columns.HEADS[name]:
            yield name, head.title, str(head.line)


def _amount(quantity: int | None, unit: str) -> Cell:
    if quantity is None:
        return None
    return Decimal(quantity) / 1000 if unit == "mass" else quantity


def _counted(unit: str) -> str:
    return "grams" if unit == "mass" else "pieces"


def _yes(value: bool) -> Cell:
    return "yes" if value else None


def _suppliers() -> Iterator[Sequence[Cell]]:
    for row in Supplier.objects.order_by("name").iterator(CHUNK):
        yield row.name, row.address, row.phone, row.email, row.lead_days, row.order_weekdays


def _materials() -> Iterator[Sequence[Cell]]:
    for row in Material.objects.select_related("supplier").order_by("name").iterator(CHUNK):
        levels = (row.low_level, row.pack_size)
        range_of = (row.least_at_once, row.most_at_once, row.per_dose)
        yield (
            row.name,
            cells.KIND_WORDS[Material.Kind(row.kind)],
            _counted(row.unit),
            *(_amount(level, row.unit) for level in levels),
            row.supplier.name if row.supplier else None,
            *(_amount(level, row.unit) for level in range_of),
            "yes" if row.holds_on_arrival else "no",
        )


def _lots() -> Iterator[Sequence[Cell]]:
    held = _held()
    rows = Lot.objects.select_related("item__material", "supplier").order_by("item_id")
    for lot in rows.iterator(CHUNK):
        item, material = lot.item, lot.item.material
        assert material is not None
        yield (
            item.code_id,
            material.name,
            cells.KIND_WORDS[Material.Kind(material.kind)],
            _counted(item.unit),
            lot.supplier.name,
            lot.supplier_lot,
            lot.grade,
            None if lot.form == Lot.Form.NONE else lot.form,
            None if lot.assay_ppb is None else Decimal(lot.assay_ppb) / 10**9,
            _yes(lot.certificate_names_form),
            timezone.localdate(item.made_at),
            item.best_before,
            _amount(lot.received_quantity, item.unit),
            Decimal(lot.price_cents) / 100,
            _amount(lot.dry_strip_mg, "mass"),
            _amount(lot.uptake_mg, "mass"),
            "; ".join(held.get(item.pk, ()))[:300],
            None,
            None,
            "yes",
            item.note,
        )


def _held() -> dict[int, list[str]]:
    """Why each lot is on hold itself."""
    found: dict[int, list[str]] = defaultdict(list)
    seeds = HoldSeed.objects.filter(hold__lifted_by=None, item__kind=Item.Kind.LOT).order_by("pk")
    for item, reason in seeds.values_list("item_id", "hold__reason"):
        found[item].append(reason)
    return found


def _balances() -> Iterator[Sequence[Cell]]:
    rows = Holding.objects.filter(quantity__gt=0, item__kind=Item.Kind.LOT, place__kind__in=Place.IN_STORE)
    rows = rows.select_related("item__material", "item__lot__supplier", "place").order_by("item_id", "place_id")
    for row in rows.iterator(CHUNK):
        item = row.item
        assert item.material is not None
        yield (
            item.code_id,
            item.material.name,
            item.lot.supplier.name,
            item.lot.supplier_lot,
            item.best_before,
            row.place.name if row.place.kind == Place.Kind.SHED else "quarantine",
            _amount(row.quantity, item.unit),
            "yes",
        )


def left_out() -> int | None:
    """The number of the newest movement that the list of the ledger leaves out; None where all are in it."""
    numbers = Movement.objects.order_by("-pk").values_list("pk", flat=True)
    return numbers[MOST_MOVEMENTS : MOST_MOVEMENTS + 1].first()


def cut_words() -> str:
    """What is said where the ledger does not go into a file whole."""
    return _("Only the newest %(most)s movements are in this list. Older ones are on the page of the ledger.") % {
        "most": wording.figure(MOST_MOVEMENTS)
    }


def _ledger() -> Iterator[Sequence[Any]]:
    oldest = left_out()
    if oldest:
        yield oldest, None, cut_words(), *[None] * (len(LEDGER_HEADS) - 3)
    rows = Movement.objects.select_related("item__material", "source", "target").order_by("pk")
    rows = rows.filter(pk__gt=oldest) if oldest else rows
    for row in rows.iterator(CHUNK):
        when: dt.datetime = timezone.localtime(row.happened_at)
        yield (
            row.pk,
            when,
            str(row.get_cause_display()),
            row.item.code_id,
            row.item.material.name if row.item.material else str(row.item.get_kind_display()),
            str(row.source.get_kind_display()) if row.source.kind != Place.Kind.SHED else row.source.name,
            str(row.target.get_kind_display()) if row.target.kind != Place.Kind.SHED else row.target.name,
            _amount(row.quantity, row.item.unit),
            "g" if row.item.unit == "mass" else "pieces",
            row.deed_id,
            row.note,
            row.reverses_id or row.replaces_id,
        )
