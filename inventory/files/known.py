"""The book as a file is held against it: names, lots, opening balances. A fixed number of questions for any file."""

import dataclasses
from collections import defaultdict
from collections.abc import Collection, Iterator
from typing import Any

from django.utils import timezone

from coop.models import Code
from inventory.files.plan import Thing, key_of
from inventory.models import Holding, HoldSeed, Item, Lot, Material, Movement, Place, Supplier

SOME = 5000
QUARANTINE = "quarantine"
#: the deed by which files are written
WRITES = "inventory.write_file"
MATERIAL_FACTS = (
    "kind", "unit", "low_level", "pack_size", "least_at_once", "most_at_once", "per_dose", "holds_on_arrival",
)  # fmt: skip
SUPPLIER_FACTS = ("address", "phone", "email", "lead_days", "order_weekdays")
LOT_FACTS = (
    "supplier_lot", "grade", "form", "assay_ppb", "certificate_names_form", "price_cents", "received_quantity",
    "dry_strip_mg", "uptake_mg",
)  # fmt: skip


@dataclasses.dataclass
class Known:
    """One lot of the book."""

    pk: int
    code: str
    material_id: int
    supplier_id: int
    facts: dict[str, Any]
    #: whether a file put it into the book; only then its opening balance is a file's to set right
    is_from_file: bool


class Shelf:
    """What the book holds, read once."""

    def __init__(self) -> None:
        self.suppliers = {
            key_of(row.name): Thing(row.name, {name: getattr(row, name) for name in SUPPLIER_FACTS}, row.pk)
            for row in Supplier.objects.all()
        }
        self.materials = {key_of(row.name): _material(row) for row in Material.objects.select_related("supplier")}
        self.sheds = {
            key_of(row.name): Thing(row.name, {"is_closed": row.is_closed}, row.pk)
            for row in Place.objects.filter(kind=Place.Kind.SHED)
        }
        self.by_code: dict[str, Known] = {}
        self.by_names: dict[tuple[int, int, str], list[Known]] = defaultdict(list)
        fields = ("item_id", "item__code_id", "item__material_id", "supplier_id", "item__deed__verb")
        of_item = ("item__best_before", "item__note", "item__made_at")
        for row in Lot.objects.values_list(*fields, *of_item, *LOT_FACTS).iterator(chunk_size=SOME):
            facts = dict(zip(("best_before", "note", "received_on", *LOT_FACTS), row[5:], strict=True))
            facts["received_on"] = timezone.localdate(facts["received_on"])
            known = Known(row[0], row[1], row[2] or 0, row[3], facts, row[4] == WRITES)
            self.by_code[known.code] = known
            self.by_names[known.material_id, known.supplier_id, key_of(facts["supplier_lot"])].append(known)
        self.openings: dict[tuple[int, int], tuple[int, int]] = {}
        self.opened: dict[int, int] = defaultdict(int)
        self.holdings: dict[tuple[int, int], int] = {}
        self.in_store: dict[int, int] = defaultdict(int)
        self.opened_in: dict[int, set[int]] = defaultdict(set)
        #: lots that are or were on hold themselves
        self.ever_held: set[int] = set()
        self.taken: set[str] = set()
        quarantine = Place.objects.filter(kind=Place.Kind.QUARANTINE, is_the_one=True)
        self._quarantine = quarantine.values_list("pk", flat=True).first()

    def look_at(self, lots: Collection[int], codes: Collection[str]) -> None:
        """Read the balances of these lots, and which of these codes something else bears."""
        for some in _slices(sorted(lots)):
            opening = Movement.objects.filter(item__in=some, cause=Movement.Cause.OPENING, reversed_by=None)
            for pk, item, place, quantity in opening.filter(reverses=None).values_list(
                "pk", "item_id", "target_id", "quantity"
            ):
                self.openings[item, place] = pk, quantity
                self.opened[item] += quantity
                self.opened_in[item].add(place)
            held = Holding.objects.filter(item__in=some, place__kind__in=Place.IN_STORE)
            for item, place, quantity in held.values_list("item", "place", "quantity"):
                self.holdings[item, place] = quantity
                self.in_store[item] += quantity
            self.ever_held.update(HoldSeed.objects.filter(item__in=some).values_list("item_id", flat=True))
        for some in _slices(sorted(codes)):
            bearing = Item.objects.filter(code__in=some).exclude(kind=Item.Kind.LOT)
            self.taken.update(bearing.values_list("code_id", flat=True))

    def shed_id(self, key: str) -> int | None:
        """The place behind a shed's name; quarantine is one too. None for one that is not there yet."""
        thing = self.sheds.get(key)
        if thing is not None:
            return thing.pk
        return self._quarantine if key == QUARANTINE else None


def _material(row: Material) -> Thing:
    facts = {name: getattr(row, name) for name in MATERIAL_FACTS}
    return Thing(row.name, {**facts, "supplier": key_of(row.supplier.name) if row.supplier else ""}, row.pk)


def free_codes(texts: Collection[str]) -> set[str]:
    """Which of these codes the club has as rows already, printed or not."""
    known: set[str] = set()
    for some in _slices(sorted(texts)):
        known.update(Code.objects.filter(text__in=some).values_list("text", flat=True))
    return known


def _slices(values: list[Any]) -> Iterator[list[Any]]:
    for start in range(0, len(values), SOME):
        yield values[start : start + SOME]
