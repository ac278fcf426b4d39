"""Everything of a demo year goes out as one file and into an empty club: the books agree, in each kind of file.

Not part of the file are containers, papers as PDF, orders, benches, bags and people; holds on a lot itself are.
"""

from collections import defaultdict
from typing import Any

import pytest
from django.core.management import call_command
from django.utils import timezone

from coop.proof import differences
from inventory import costs, holds
from inventory.files import everything
from inventory.models import Holding, HoldSeed, Item, Lot, Material, Movement, Place, StockRow, Supplier
from tests.makers import files

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.slow]


def material_facts() -> set[tuple[Any, ...]]:
    fields = ("name", "kind", "unit", "low_level", "pack_size", "least_at_once", "most_at_once", "per_dose")
    return set(Material.objects.values_list(*fields, "holds_on_arrival", "supplier__name"))


def supplier_facts() -> set[tuple[Any, ...]]:
    return set(Supplier.objects.values_list("name", "address", "phone", "email", "lead_days", "order_weekdays"))


def lot_facts() -> dict[str, tuple[Any, ...]]:
    fields = ("item__material__name", "supplier__name", "supplier_lot", "grade", "form", "assay_ppb",
              "certificate_names_form", "price_cents", "received_quantity", "dry_strip_mg", "uptake_mg",
              "item__best_before", "item__note", "item__unit")  # fmt: skip
    rows = Lot.objects.select_related("item")
    days = {row.item.code_id: timezone.localdate(row.item.made_at) for row in rows}
    return {row[0]: (*row[1:], days[row[0]]) for row in Lot.objects.values_list("item__code_id", *fields)}


def balances() -> dict[tuple[str, str], int]:
    rows = Holding.objects.filter(quantity__gt=0, item__kind="lot", place__kind__in=Place.IN_STORE)
    return {(code, place): held for code, place, held in rows.values_list("item__code_id", "place__name", "quantity")}


def by_material() -> dict[str, int]:
    sums: dict[str, int] = defaultdict(int)
    for row in Holding.objects.filter(item__kind="lot", place__kind__in=Place.IN_STORE).select_related(
        "item__material"
    ):
        sums[str(row.item.material)] += row.quantity
    return dict(sums)


def unit_costs() -> dict[str, Any]:
    """What a milligram or a piece of each lot costs, and the whole of it, as pages and bags work it out."""
    items = Item.objects.filter(kind="lot")
    found = costs.of(items.values_list("pk", flat=True))
    return {item.code_id: (found[item.pk].each, found[item.pk].into) for item in items}


def held() -> set[str]:
    seeds = HoldSeed.objects.filter(hold__lifted_by=None, item__kind="lot")
    return set(seeds.values_list("item__code_id", flat=True))


def what_stands() -> dict[str, Any]:
    return {
        "materials": material_facts(),
        "suppliers": supplier_facts(),
        "lots": lot_facts(),
        "balances": balances(),
        "by material": {name: sum_ for name, sum_ in by_material().items() if sum_},
        "prices": dict(Lot.objects.values_list("item__code_id", "price_cents")),
        "on hold": held(),
    }


@pytest.fixture
def told() -> dict[str, Any]:
    """The demo's year as files of each kind, and what its book says."""
    call_command("tell_demo_story")
    out: dict[str, Any] = {kind: everything.write(kind) for kind in everything.KINDS}
    out["stands"], out["shares"], out["costs"] = what_stands(), lot_shares(), unit_costs()
    return out


def lot_shares() -> dict[str, Any]:
    """Price by what was received: the cost of a gram or a piece."""
    rows = Lot.objects.values_list("item__code_id", "price_cents", "received_quantity")
    return {code: (cents, received) for code, cents, received in rows}


def test_the_books_of_a_demo_year_agree_after_the_round_trip(told):
    stands = told["stands"]
    assert len(stands["lots"]) > 5
    assert len(stands["balances"]) > 5
    assert sum(bool(each) for each, _whole in told["costs"].values()) > 5
    for kind in everything.KINDS:
        call_command("flush", interactive=False, verbosity=0)
        assert not Item.objects.exists()
        file = files.handed_in(told[kind], f"everything.{kind}")
        assert "ledger" in file.trouble, kind
        wrong = StockRow.objects.filter(verdict="wrong").values_list("sheet", "number", "sentence")
        assert list(wrong) == [], kind
        written = files.written(told[kind])
        assert written.state == "written"
        assert what_stands() == stands, kind
        assert lot_shares() == told["shares"], kind
        assert list(differences()) == [], kind
        assert set(Movement.objects.values_list("cause", flat=True)) == {"opening"}
        assert holds.held_ids() == set(Item.objects.filter(code__in=held()).values_list("pk", flat=True))
        before = Movement.objects.count(), Item.objects.count(), Material.objects.count()
        again = files.written(told[kind])
        assert set(files.verdicts(again)) == {"already"}, kind
        assert (Movement.objects.count(), Item.objects.count(), Material.objects.count()) == before
        assert unit_costs() == told["costs"], kind
