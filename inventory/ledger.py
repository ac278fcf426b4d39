"""The ledger's one writer. Commands hand it moves; it keeps movements, holdings, edges and questions together.

Lock order: the command's Deed, the gate where an edge is written, then holdings by (item, place). Every holding
changes by a conditional update, so it can never go below zero; boundaries have none. What is short is refused for a
request and becomes found stock, by name, for a fact.
"""

import dataclasses
import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Sequence

from django.db.models import BigIntegerField, Case, F, Sum, Value, When
from django.db.models.lookups import Exact, GreaterThanOrEqual
from django.utils import timezone
from django.utils.translation import gettext as _

from coop import codes, wording
from coop.command import Refused
from coop.models import Code, Deed
from inventory import ancestry
from inventory.models import Edge, Freed, Holding, Item, Material, Movement, Place, Question

Cause = Movement.Cause
#: holdings changed by one statement
SOME = 250


@dataclasses.dataclass(frozen=True)
class Move:
    """Something to go from one place to another: milligrams or pieces, as the item is counted."""

    item: Item
    source: Place
    target: Place
    quantity: int
    cause: str
    note: str = ""
    reverses: Movement | None = None
    replaces: Movement | None = None


@dataclasses.dataclass(frozen=True)
class Posting:
    movements: list[Movement]
    found: list[Movement]
    questions: list[Question]


@dataclasses.dataclass(frozen=True)
class Part:
    """One edge's change: signed milligrams and pieces of a parent in a child."""

    parent_id: int
    child_id: int
    mass_mg: int
    pieces: int


def post(deed: Deed, moves: Sequence[Move], *, fact: bool) -> Posting:
    """Write the moves. Refused (code "short") when a request takes more than is there; a fact finds the rest."""
    questions: list[Question] = []
    kept = [_out_of_circle(deed, move, questions, fact) for move in moves if move.quantity]
    parts = _parts(kept)
    if parts and not getattr(deed, "has_gate", False):
        raise RuntimeError("a command that writes an edge needs the gate")
    deltas = _deltas(kept)
    holdings = _lock_holdings(deltas)
    missing = _missing(kept, deltas, holdings)
    if missing and not fact:
        raise _short(*missing[0], holdings)
    finds = [_find(move, quantity) for move, quantity in missing]
    _apply(_deltas([*kept, *finds]), holdings)
    movements = _write(deed, [*finds, *kept])
    found = movements[: len(finds)]
    _change_edges(deed, parts)
    questions += [_ask_found(deed, move, movement) for (move, _quantity), movement in zip(missing, found, strict=True)]
    return Posting(movements[len(finds) :], found, questions)


def new_item(
    deed: Deed,
    *,
    kind: Item.Kind,
    unit: str,
    code: str | None = None,
    material: Material | None = None,
    best_before: dt.date | None = None,
    made_at: dt.datetime | None = None,
    note: str = "",
) -> Item:
    """A new item with a fresh code, or with a pre-printed one that nothing bears yet (else Refused)."""
    return Item.objects.create(
        code=_free_code(code) if code else codes.new_code(),
        kind=kind,
        unit=unit,
        material=material,
        best_before=best_before,
        deed=deed,
        made_at=made_at or deed.happened_at,
        note=note,
    )


def correct(deed: Deed, movement: Movement, quantity: int, note: str = "") -> Posting:
    """Reverse a movement and write the right one (none for 0); once per movement. What is then short is found stock."""
    if Movement.objects.filter(reverses=movement).exists():
        raise Refused(
            _("This movement was corrected already. Correct the movement that replaced it."), code="corrected_already"
        )
    if movement.reverses_id is not None:
        raise Refused(
            _("This movement is itself a correction. Correct the one that replaced it."), code="is_correction"
        )
    back = Move(
        movement.item, movement.target, movement.source, movement.quantity, Cause.CORRECT, note, reverses=movement
    )
    moves = [back]
    if quantity:
        moves.append(
            Move(movement.item, movement.source, movement.target, quantity, movement.cause, note, replaces=movement)
        )
    return post(deed, moves, fact=True)


def quantity_at(item: Item, place: Place) -> int:
    """Milligrams or pieces of an item in one real place."""
    row = Holding.objects.filter(item=item, place=place).values_list("quantity", flat=True).first()
    return row or 0


def lock(item: Item, place: Place) -> int:
    """The same with the holding locked until the command ends, so that it can be compared; made where absent."""
    return _lock_holdings({(item.pk, place.pk): 0})[item.pk, place.pk].quantity


def lock_all(items: Iterable[Item], place: Place) -> dict[int, int]:
    """The same for several things in one place: item id to what is there."""
    rows = _lock_holdings({(item.pk, place.pk): 0 for item in sorted(items, key=lambda one: one.pk)})
    return {item: row.quantity for (item, _place), row in rows.items()}


def on_hand(item: Item) -> int:
    """Milligrams or pieces of an item in sheds."""
    total = Holding.objects.filter(item=item, place__kind=Place.Kind.SHED).aggregate(total=Sum("quantity"))["total"]
    return int(total or 0)


def amount(quantity: int, item: Item) -> str:
    """A quantity in words, in the unit the item is counted in."""
    if item.unit == "mass":
        return wording.amount(quantity, None)
    is_strip = item.material_id is None or item.material is None or item.material.kind == "strip"
    return wording.amount(None, quantity, "strip" if is_strip else "piece")


def edge_of(item: Item, source: Place, target: Place, quantity: int) -> Part | None:
    """What a movement adds to which edge: a place that names an item makes it the child; a tub parents its liquid."""
    child = target.item_id if target.kind in (Place.Kind.BENCH, Place.Kind.USED) else None
    if child is None or child == item.pk or source.kind == Place.Kind.FOUND:
        return None  # what is found in a tub was poured before: it is no new input
    from_tub = source.kind == Place.Kind.BENCH and source.item_id is not None and source.item_id != item.pk
    parent = source.item_id if from_tub else item.pk
    if parent == child or parent is None:
        return None
    is_mass = item.unit == "mass"
    return Part(parent, child, quantity if is_mass else 0, 0 if is_mass else quantity)


def _parts(moves: Iterable[Move]) -> dict[tuple[int, int], tuple[int, int]]:
    """Signed change of each edge; a reversal takes back what its original added."""
    sums: dict[tuple[int, int], tuple[int, int]] = defaultdict(lambda: (0, 0))
    for move in moves:
        if move.reverses is None:
            part, sign = edge_of(move.item, move.source, move.target, move.quantity), 1
        else:
            part, sign = edge_of(move.item, move.target, move.source, move.quantity), -1
        if part is not None:
            mass, pieces = sums[part.parent_id, part.child_id]
            sums[part.parent_id, part.child_id] = (mass + sign * part.mass_mg, pieces + sign * part.pieces)
    return dict(sums)


def _deltas(moves: Iterable[Move]) -> dict[tuple[int, int], int]:
    deltas: dict[tuple[int, int], int] = defaultdict(int)
    for move in moves:
        if not move.source.is_boundary:
            deltas[move.item.pk, move.source.pk] -= move.quantity
        if not move.target.is_boundary:
            deltas[move.item.pk, move.target.pk] += move.quantity
    return dict(sorted(deltas.items()))


def _lock_holdings(deltas: dict[tuple[int, int], int]) -> dict[tuple[int, int], Holding]:
    """Rows for every (item, place) touched, made where absent, locked in order."""
    if not deltas:
        return {}
    items, places = {item for item, _place in deltas}, {place for _item, place in deltas}
    wanted = Holding.objects.filter(item_id__in=items, place_id__in=places)
    known = set(wanted.values_list("item_id", "place_id"))
    absent = [Holding(item_id=item, place_id=place) for item, place in deltas if (item, place) not in known]
    if absent:
        Holding.objects.bulk_create(absent, ignore_conflicts=True)
    rows = wanted.select_for_update().order_by("item_id", "place_id")
    return {(row.item_id, row.place_id): row for row in rows if (row.item_id, row.place_id) in deltas}


def _missing(
    moves: Sequence[Move], deltas: dict[tuple[int, int], int], holdings: dict[tuple[int, int], Holding]
) -> list[tuple[Move, int]]:
    """For each holding that would go below zero: the move that takes from it, and by how much it is short."""
    missing = []
    for key, delta in deltas.items():
        short = -(holdings[key].quantity + delta)
        if short > 0:
            taker = next(move for move in moves if (move.item.pk, move.source.pk) == key)
            missing.append((taker, short))
    return missing


def _short(move: Move, quantity: int, holdings: dict[tuple[int, int], Holding]) -> Refused:
    there = holdings[move.item.pk, move.source.pk].quantity
    return Refused(
        _("%(code)s is %(short)s short: %(there)s there, %(asked)s asked for. Nothing was changed.")
        % {
            "code": move.item.spaced_code,
            "short": amount(quantity, move.item),
            "there": amount(there, move.item),
            "asked": amount(there + quantity, move.item),
        },
        code="short",
        short=quantity,
        on_hand=there,
    )


def _find(move: Move, quantity: int) -> Move:
    return Move(move.item, Place.objects.the(Place.Kind.FOUND), move.source, quantity, Cause.FOUND)


def _ask_found(deed: Deed, move: Move, found: Movement) -> Question:
    """A found-stock question marks the mix (or soak) the matter went into, not the lot it came from."""
    subject = move.target.item or move.item
    text = _("%(amount)s more of %(code)s went out than the book held.") % {
        "amount": amount(found.quantity, move.item),
        "code": move.item.spaced_code,
    }
    return Question.objects.create(item=subject, kind=Question.Kind.FOUND, text=text, movement=found, deed=deed)


def _apply(deltas: dict[tuple[int, int], int], holdings: dict[tuple[int, int], Holding]) -> None:
    """Change the holdings, many in one statement; each only while it stays at zero or above."""
    changes = [(holdings[key].pk, delta) for key, delta in deltas.items() if delta]
    for start in range(0, len(changes), SOME):
        some = dict(changes[start : start + SOME])
        if _change(some) != len(some):
            raise Refused(
                _("Somebody else took from the same stock at this moment. Nothing was changed; look and try again."),
                code="short",
            )


def _change(changes: dict[int, int]) -> int:
    """How many of the holdings could bear their change; all that could have changed."""
    rows = Holding.objects.filter(pk__in=changes)
    if len(set(changes.values())) == 1:
        delta = next(iter(changes.values()))
        return rows.filter(quantity__gte=-delta).update(quantity=F("quantity") + delta)
    one_of = Case(
        *(When(Exact(F("pk"), pk), then=Value(delta)) for pk, delta in changes.items()), output_field=BigIntegerField()
    )
    if min(changes.values()) < 0:  # what only comes in takes nothing below zero
        rows = rows.filter(GreaterThanOrEqual(F("quantity") + one_of, 0))
    return rows.update(quantity=F("quantity") + one_of)


def _write(deed: Deed, moves: Sequence[Move]) -> list[Movement]:
    now = timezone.now()
    rows = [
        Movement(
            item=move.item,
            source=move.source,
            target=move.target,
            quantity=move.quantity,
            cause=move.cause,
            note=move.note,
            deed=deed,
            happened_at=deed.happened_at,
            recorded_at=now,
            reverses=move.reverses,
            replaces=move.replaces,
        )
        for move in moves
    ]
    return Movement.objects.bulk_create(rows)


def _change_edges(deed: Deed, parts: dict[tuple[int, int], tuple[int, int]]) -> None:
    for (parent, child), (mass, pieces) in sorted(parts.items()):
        Edge.objects.get_or_create(parent_id=parent, child_id=child)
        Edge.objects.filter(parent_id=parent, child_id=child).update(
            mass_mg=F("mass_mg") + mass, pieces=F("pieces") + pieces
        )
    gained = {child for (_parent, child), (mass, pieces) in parts.items() if mass > 0 or pieces > 0}
    _void_freed(deed, gained)


def _void_freed(deed: Deed, gained: set[int]) -> None:
    """Who signed something free signed its contents: an input to it, or to what it is made from, voids that."""
    signed = set(Freed.objects.filter(voided_by=None).values_list("item_id", flat=True)) if gained else set()
    changed = signed & ancestry.down(gained) if signed else set()
    if changed:
        Freed.objects.filter(item_id__in=changed, voided_by=None).update(voided_by=deed)


def _out_of_circle(deed: Deed, move: Move, questions: list[Question], fact: bool) -> Move:
    """A thing cannot be made from itself. A request is refused; a fact is kept out of the ancestry and questioned."""
    if move.reverses is not None:
        return move
    part = edge_of(move.item, move.source, move.target, move.quantity)
    if part is None or not Edge.objects.filter(parent_id=part.child_id).exists():
        return move
    if part.parent_id not in ancestry.down([part.child_id]):
        return move
    text = _("%(code)s was itself made from what it went into. Check the code that was entered.") % {
        "code": move.item.spaced_code
    }
    if not fact:
        raise Refused(text, code="circle")
    assert move.target.item is not None
    questions.append(Question.objects.create(item=move.target.item, kind=Question.Kind.CIRCLE, text=text, deed=deed))
    return dataclasses.replace(move, target=Place.objects.the(Place.Kind.USED))


def _free_code(text: str) -> Code:
    code = codes.check(text)
    row = Code.objects.select_for_update().filter(text=code).first()
    if row is None:
        raise Refused(
            _("%(code)s is not one of this club's codes. Print a sheet of codes first, or leave it empty.")
            % {"code": codes.spaced(code)},
            code="code_unknown",
        )
    if Item.objects.filter(code=row).exists():
        raise Refused(
            _("%(code)s is on something else already. Take another label.") % {"code": codes.spaced(code)},
            code="code_taken",
        )
    return row
