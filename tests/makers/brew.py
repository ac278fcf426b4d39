"""Mixes, soaks, bags and returned solution straight on the ledger, as the bench writes them but without its rules."""

from collections.abc import Sequence
from typing import Any

from coop.command import command
from coop.models import Deed
from inventory import ledger
from inventory.models import Holding, Item, Movement, Place
from tests.makers.coop import do

Kind = Item.Kind
Cause = Movement.Cause
Move = ledger.Move
Input = tuple[Item, Place, int]


def _made() -> Place:
    return Place.objects.the(Place.Kind.MADE)


def _weigh_in(item: Item, place: Place, quantity: int, mix: Item) -> list[Move]:
    bench, used = Place.objects.bench_of(mix), Place.objects.used_in(mix)
    return [
        Move(item, place, used, quantity, Cause.WEIGH_IN),
        Move(mix, _made(), bench, quantity, Cause.MIX),
    ]


def _liquid(soak: Item, target: Place, mass_mg: int, cause: str) -> list[Move]:
    """So much of the liquid in a tub, of each mix in proportion; the last takes what rounding leaves."""
    tub = Place.objects.bench_of(soak)
    rows = list(Holding.objects.filter(place=tub, item__unit="mass", quantity__gt=0).order_by("item"))
    total, left, moves = sum(row.quantity for row in rows), mass_mg, []
    for number, row in enumerate(rows):
        part = left if number == len(rows) - 1 else mass_mg * row.quantity // total
        moves.append(Move(row.item, tub, target, part, cause))
        left -= part
    return moves


@command("test.mix", gate=True)
def _mix(deed: Deed, *, inputs: Sequence[Input], code: str | None = None) -> Item:
    mix = ledger.new_item(deed, kind=Kind.MIX, unit="mass", code=code)
    moves = [move for item, place, quantity in inputs for move in _weigh_in(item, place, quantity, mix)]
    ledger.post(deed, moves, fact=True)
    return mix


@command("test.add", gate=True)
def _add(deed: Deed, *, mix: Item, item: Item, place: Place, quantity: int) -> None:
    ledger.post(deed, _weigh_in(item, place, quantity, mix), fact=True)


@command("test.soak", gate=True)
def _soak(deed: Deed, *, poured: Sequence[tuple[Item, int]], blanks: Input | None) -> Item:
    soak = ledger.new_item(deed, kind=Kind.SOAK, unit="pieces")
    tub = Place.objects.bench_of(soak)
    moves = [Move(mix, Place.objects.bench_of(mix), tub, mass, Cause.POUR) for mix, mass in poured]
    if blanks is not None:
        item, place, pieces = blanks
        moves.append(Move(item, place, Place.objects.used_in(soak), pieces, Cause.SOAK))
        moves.append(Move(soak, _made(), tub, pieces, Cause.SOAK))
    ledger.post(deed, moves, fact=True)
    return soak


@command("test.bag", gate=True)
def _bag(deed: Deed, *, soak: Item, place: Place, pieces: int, uptake_mg: int, kind: str) -> Item:
    bag = ledger.new_item(deed, kind=Kind(kind), unit="pieces")
    used = Place.objects.used_in(bag)
    moves = [Move(soak, Place.objects.bench_of(soak), used, pieces, Cause.BAG)]
    moves += _liquid(soak, used, uptake_mg, Cause.BAG)
    moves.append(Move(bag, _made(), place, pieces, Cause.BAG))
    ledger.post(deed, moves, fact=True)
    return bag


@command("test.part", gate=True)
def _part(deed: Deed, *, bag: Item, place: Place, pieces: int) -> Item:
    part = ledger.new_item(deed, kind=Kind.BAG, unit="pieces")
    used = Place.objects.used_in(part)
    moves = [Move(bag, place, used, pieces, Cause.SPLIT), Move(part, _made(), place, pieces, Cause.SPLIT)]
    ledger.post(deed, moves, fact=True)
    return part


@command("test.give_back", gate=True)
def _give_back(deed: Deed, *, source: Item, place: Place, mass_mg: int) -> Item:
    back = ledger.new_item(deed, kind=Kind.RETURNED, unit="mass")
    used = Place.objects.used_in(back)
    if source.kind == Kind.SOAK:
        moves = _liquid(source, used, mass_mg, Cause.RETURN_SOLUTION)
    else:
        moves = [Move(source, Place.objects.bench_of(source), used, mass_mg, Cause.RETURN_SOLUTION)]
    total = sum(move.quantity for move in moves)
    moves.append(Move(back, _made(), place, total, Cause.RETURN_SOLUTION))
    ledger.post(deed, moves, fact=True)
    return back


@command("test.go", gate=True)
def _go(deed: Deed, *, moves: Sequence[Move], fact: bool) -> list[Movement]:
    return ledger.post(deed, moves, fact=fact).movements


@command("test.correct", gate=True)
def _correct(deed: Deed, *, movement: Movement, quantity: int) -> None:
    ledger.correct(deed, movement, quantity)


def mix(*inputs: Input, **more: Any) -> Item:
    """A mix of (item, place, milligrams) each."""
    made: Item = do(_mix, inputs=list(inputs), **more)
    return made


def add(mix: Item, item: Item, place: Place, quantity: int) -> None:
    do(_add, mix=mix, item=item, place=place, quantity=quantity)


def soak(*poured: tuple[Item, int], blanks: Input | None = None) -> Item:
    """A tub with (mix, milligrams) each poured over the blanks."""
    made: Item = do(_soak, poured=list(poured), blanks=blanks)
    return made


def bag(soak: Item, place: Place, pieces: int, uptake_mg: int, kind: str = "bag") -> Item:
    made: Item = do(_bag, soak=soak, place=place, pieces=pieces, uptake_mg=uptake_mg, kind=kind)
    return made


def part(bag: Item, place: Place, pieces: int) -> Item:
    made: Item = do(_part, bag=bag, place=place, pieces=pieces)
    return made


def give_back(source: Item, place: Place, mass_mg: int) -> Item:
    """Returned solution out of a tub or out of a mix."""
    made: Item = do(_give_back, source=source, place=place, mass_mg=mass_mg)
    return made


def go(*moves: Move, fact: bool = True) -> list[Movement]:
    done: list[Movement] = do(_go, moves=list(moves), fact=fact)
    return done


def set_right(movement: Movement, quantity: int) -> None:
    do(_correct, movement=movement, quantity=quantity)
