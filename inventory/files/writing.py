"""A plan becomes rows of the book: materials and lots in bulk, amounts through the ledger. Called by one command."""

import datetime as dt
from collections.abc import Iterator, Sequence
from itertools import islice

from django.utils.translation import gettext as _

from coop import codes
from coop.models import Code, Deed, the_club
from inventory import ledger, openings
from inventory.commands import lots as papers
from inventory.files.known import QUARANTINE, free_codes
from inventory.files.plan import LotRow, Plan, Thing
from inventory.models import Hold, HoldSeed, Item, Lot, Material, Movement, Place, Supplier

SOME = 500


def write(deed: Deed, plan: Plan, name: str) -> list[LotRow]:
    """Write everything a plan asks for; returns its new lots. `name` is the file's, for notes."""
    suppliers = {key: _supplier(thing) for key, thing in plan.suppliers.items()}
    for thing in plan.materials.values():
        _material(thing, suppliers)
    sheds = _sheds(plan)
    new = [row for row in plan.lots if row.pk is None]
    items = _lots(deed, new)
    known = Item.objects.select_related("material").in_bulk(
        [row.pk for row in plan.lots if row.pk is not None and row.pk not in items and row.openings]
    )
    was = {pk: openings.opened(pk) for pk in known}
    _open(deed, plan, items | known, sheds)
    for pk, quantity in was.items():
        openings.follow(pk, quantity)
    reason = _("in the file “%(name)s”") % {"name": name[:80]}
    for row in plan.lots:
        if row.changes:
            lot = Lot.objects.select_related("item__material").get(pk=row.pk)
            papers.amend(deed, lot, dict(row.changes), reason)
    _correct(deed, plan, reason)
    return new


def _supplier(thing: Thing) -> int:
    if thing.pk is None:
        thing.pk = Supplier.objects.create(name=thing.name, **thing.facts).pk
    elif thing.changes:
        Supplier.objects.filter(pk=thing.pk).update(**thing.changes)
    return thing.pk


def _material(thing: Thing, suppliers: dict[str, int]) -> None:
    facts = dict(thing.facts if thing.pk is None else thing.changes)
    if "supplier" in facts:
        facts["supplier_id"] = suppliers[facts.pop("supplier")]
    if thing.pk is None:
        thing.pk = Material.objects.create(name=thing.name, **facts).pk
    elif facts:
        Material.objects.filter(pk=thing.pk).update(**facts)


def _sheds(plan: Plan) -> dict[str, Place]:
    """The places behind the keys that openings name."""
    for thing in plan.sheds.values():
        thing.pk = Place.objects.create(kind=Place.Kind.SHED, name=thing.name).pk
    wanted = {key for row in plan.lots for key in row.openings}
    found = {" ".join(one.name.split()).casefold(): one for one in Place.objects.filter(kind=Place.Kind.SHED)}
    if QUARANTINE in wanted and QUARANTINE not in found:
        found[QUARANTINE] = Place.objects.the(Place.Kind.QUARANTINE)
    return found


def _lots(deed: Deed, rows: Sequence[LotRow]) -> dict[int, Item]:
    """New lots with their items and codes, in bulk; a code that stands on a label already is taken along."""
    given = {row.code for row in rows if row.code}
    missing = given - free_codes(given)
    Code.objects.bulk_create([Code(text=text) for text in sorted(missing)], batch_size=SOME)
    fresh = iter(codes.new_codes(sum(not row.code for row in rows)))
    zone = the_club().tz
    items = []
    for row in rows:
        row.code = row.code or next(fresh)
        came = row.received_on
        made_at = min(dt.datetime.combine(came, papers.NOON, zone), deed.happened_at) if came else deed.happened_at
        items.append(
            Item(
                code_id=row.code,
                kind=Item.Kind.LOT,
                unit=row.material.facts["unit"],
                material_id=row.material.pk,
                deed=deed,
                made_at=made_at,
                **{name: row.facts[name] for name in papers.ITEM_FIELDS},
            )
        )
    made = Item.objects.bulk_create(items, batch_size=SOME)
    for row, item in zip(rows, made, strict=True):
        row.pk = item.pk
    Lot.objects.bulk_create([_lot(row) for row in rows], batch_size=SOME)
    _hold(deed, rows)
    return {item.pk: item for item in made}


def _lot(row: LotRow) -> Lot:
    facts = {name: value for name, value in row.facts.items() if name not in papers.ITEM_FIELDS}
    if facts["received_quantity"] is None:
        facts["received_quantity"] = sum(row.openings.values())
    assert row.pk is not None
    assert row.supplier.pk is not None
    return Lot(item_id=row.pk, supplier_id=row.supplier.pk, **facts)


def _hold(deed: Deed, rows: Sequence[LotRow]) -> None:
    """One hold for each reason, over all lots of the file that name it."""
    for reason in sorted({row.hold for row in rows if row.hold}):
        hold = Hold.objects.create(reason=reason, placed_by=deed, placed_at=deed.happened_at)
        HoldSeed.objects.bulk_create(
            [HoldSeed(hold=hold, item_id=row.pk) for row in rows if row.pk is not None and row.hold == reason]
        )


def _open(deed: Deed, plan: Plan, items: dict[int, Item], sheds: dict[str, Place]) -> None:
    """Opening balances as movements from the supplier's side, a few hundred at a time."""
    door = Place.objects.the(Place.Kind.SUPPLIER)
    moves = (
        ledger.Move(items[row.pk], door, sheds[key], quantity, Movement.Cause.OPENING)
        for row in plan.lots
        for key, quantity in row.openings.items()
        if quantity and row.pk is not None
    )
    for some in _pieces(moves):
        ledger.post(deed, some, fact=True)


def _pieces(moves: Iterator[ledger.Move]) -> Iterator[list[ledger.Move]]:
    while some := list(islice(moves, SOME)):
        yield some


def _correct(deed: Deed, plan: Plan, reason: str) -> None:
    """Opening balances set right by name: the wrong movement is reversed, the right one written, and both stay."""
    movements = Movement.objects.select_related("item__material", "source", "target").in_bulk(list(plan.corrections))
    for pk, quantity in plan.corrections.items():
        was = openings.opened(movements[pk].item_id)
        ledger.correct(deed, movements[pk], quantity, reason)
        openings.follow(movements[pk].item_id, was)
