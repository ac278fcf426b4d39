"""The shelf's proofs: holdings, edges and the rest computed again from movements, every difference as a sentence."""

import heapq
import itertools
from collections import defaultdict
from collections.abc import Iterable, Iterator

from django.db.models import BigIntegerField, Case, Exists, F, OuterRef, Q, QuerySet, Sum, Value, When
from django.db.models.functions import Coalesce

from coop.registry import proofs
from inventory.models import Container, Edge, Freed, Hold, Holding, Incident, Item, Movement, Place, Question

_REVERSED = Q(reverses__isnull=False)


@proofs.register("inventory.holdings")
def holdings() -> Iterator[str]:
    """What every item has in every real place is what came in less what went out; boundaries hold nothing."""
    for (item, place), rows in itertools.groupby(heapq.merge(*_in_and_out()), key=lambda row: row[:2]):
        parts = [row[2:] for row in rows]
        has, should = sum(kept for kept, _moved in parts), sum(moved for _kept, moved in parts)
        if has != should:
            yield f"holding of item {item} in place {place} is {has}, the movements say {should}"
    for item, place in Holding.objects.filter(place__kind__in=Place.BOUNDARIES).values_list("item", "place"):
        yield f"item {item} has a holding in place {place}, which is a boundary"


def _in_and_out() -> Iterator[Iterator[tuple[int, int, int, int]]]:
    """By item and place, one after the other: what is kept; what came in; what went out, below zero."""
    for end, sign in (("target", 1), ("source", -1)):
        moved = Movement.objects.exclude(**{f"{end}__kind__in": Place.BOUNDARIES}).values_list("item", end)
        sums = moved.annotate(total=Sum("quantity")).order_by("item", end)
        yield _signed(sums.iterator(chunk_size=2000), sign)
    kept = Holding.objects.order_by("item", "place").values_list("item", "place", "quantity")
    yield ((item, place, quantity, 0) for item, place, quantity in kept.iterator(chunk_size=2000))


def _signed(sums: Iterable[tuple[int, int, int]], sign: int) -> Iterator[tuple[int, int, int, int]]:
    for item, place, total in sums:
        yield item, place, 0, sign * int(total)


@proofs.register("inventory.edges")
def edges() -> Iterator[str]:
    """What of each parent is in each child is what movements brought there, less what they took back."""
    right: dict[tuple[int, int], tuple[int, int]] = defaultdict(lambda: (0, 0))
    for backwards in (False, True):
        sign = -1 if backwards else 1
        for parent, child, mass, pieces in _moved_into(backwards):
            was = right[parent, child]
            right[parent, child] = was[0] + sign * int(mass), was[1] + sign * int(pieces)
    kept = {
        (row[0], row[1]): (row[2], row[3]) for row in Edge.objects.values_list("parent", "child", "mass_mg", "pieces")
    }
    for pair in sorted(right.keys() | kept.keys()):
        has, should = kept.get(pair, (0, 0)), right.get(pair, (0, 0))
        if has != should:
            said, right_ones = (f"{mass} mg and {pieces} pieces" for mass, pieces in (has, should))
            yield f"edge {pair[0]} to {pair[1]} is {said}, the movements say {right_ones}"


def _moved_into(backwards: bool) -> QuerySet[Movement, tuple[int, int, int, int]]:
    """Rows (parent, child, mg, pieces); a reversal is read from its target to its source."""
    source, target = ("target", "source") if backwards else ("source", "target")
    is_tub = Q(**{f"{source}__kind": Place.Kind.BENCH}) & ~Q(**{f"{source}__item": F("item")})
    parent = Case(When(is_tub, then=F(f"{source}__item_id")), default=F("item_id"), output_field=BigIntegerField())
    zero = Value(0, BigIntegerField())
    rows = (
        Movement.objects.filter(
            _REVERSED if backwards else ~_REVERSED,
            **{f"{target}__kind__in": (Place.Kind.BENCH, Place.Kind.USED), f"{target}__item__isnull": False},
        )
        .exclude(**{f"{target}__item": F("item")})
        .exclude(**{f"{source}__kind": Place.Kind.FOUND})
        .annotate(parent=parent, child=F(f"{target}__item_id"))
        .exclude(parent=F("child"))
        .order_by()
    )
    return rows.values_list("parent", "child").annotate(
        mass=Coalesce(Sum("quantity", filter=Q(item__unit="mass")), zero),
        pieces=Coalesce(Sum("quantity", filter=Q(item__unit="pieces")), zero),
    )


@proofs.register("inventory.no_circle")
def no_circle() -> Iterator[str]:
    """Nothing is made from itself: taking away what has no parent left, again and again, takes away everything."""
    children: dict[int, list[int]] = defaultdict(list)
    parents: dict[int, int] = defaultdict(int)
    left = Edge.objects.filter(Q(mass_mg__gt=0) | Q(pieces__gt=0)).values_list("parent", "child")
    for parent, child in left.iterator():
        children[parent].append(child)
        parents[child] += 1
    free = [item for item in children if not parents[item]]
    while free:
        for child in children.pop(free.pop(), ()):
            parents[child] -= 1
            if not parents[child]:
                free.append(child)
    rest = sorted(item for item, count in parents.items() if count)
    if rest:
        yield f"made from themselves, or from what is: items {rest[:20]}"


@proofs.register("inventory.corrections")
def corrections() -> Iterator[str]:
    """A reversal is its movement turned round, of the same item and amount; what replaces stands beside a reversal."""
    turned = Q(
        item=F("reverses__item"),
        source=F("reverses__target"),
        target=F("reverses__source"),
        quantity=F("reverses__quantity"),
    )
    for pk in Movement.objects.filter(_REVERSED).exclude(turned).values_list("pk", flat=True):
        yield f"movement {pk} is not the reverse of the movement it names"
    reversal = Movement.objects.filter(reverses=OuterRef("replaces"))
    for pk in Movement.objects.filter(replaces__isnull=False).exclude(Exists(reversal)).values_list("pk", flat=True):
        yield f"movement {pk} replaces one that was not reversed"


@proofs.register("inventory.items")
def items() -> Iterator[str]:
    """Every lot has its facts and came from somewhere, and nobody but a lot has a lot's facts."""
    for pk in Item.objects.filter(kind=Item.Kind.LOT, lot=None).values_list("pk", flat=True):
        yield f"item {pk} is a lot without a lot's facts"
    for pk in Item.objects.exclude(kind=Item.Kind.LOT).exclude(lot=None).values_list("pk", flat=True):
        yield f"item {pk} has a lot's facts and is none"
    for pk in Movement.objects.filter(item__unit="").values_list("pk", flat=True):
        yield f"movement {pk} has no unit"


@proofs.register("inventory.questions")
def questions() -> Iterator[str]:
    """Every found-stock movement that a fact made has its question, and a settled one has an answer."""
    asked = Question.objects.filter(movement=OuterRef("pk"))
    found = Movement.objects.filter(cause=Movement.Cause.FOUND, reverses=None, replaces=None)
    for pk in found.exclude(Exists(asked)).values_list("pk", flat=True):
        yield f"found stock in movement {pk} has no question"
    for pk in Question.objects.exclude(settled_by=None).filter(answer="").values_list("pk", flat=True):
        yield f"question {pk} is settled without an answer"


@proofs.register("inventory.containers")
def containers() -> Iterator[str]:
    """A container stands in a store place, and one that is not empty in one to which some of its lot was brought.

    The book may have nothing left there: a drum stays where it stands until somebody weighs, moves or empties it.
    """
    placed = Container.objects.exclude(place=None)
    for pk in placed.exclude(place__kind__in=Place.IN_STORE).values_list("pk", flat=True):
        yield f"container {pk} stands in a place that is no store"
    brought = Movement.objects.filter(item_id=OuterRef("lot_id"), target_id=OuterRef("place_id"))
    for pk in placed.filter(~Exists(brought), emptied_on=None).values_list("pk", flat=True):
        yield f"container {pk} stands where none of its lot ever came"


@proofs.register("inventory.incidents")
def incidents() -> Iterator[str]:
    """What an incident names was spilt, in the same deed."""
    spilt = Q(movement__cause=Movement.Cause.SPILL, movement__deed=F("deed"))
    for pk in Incident.objects.exclude(movement=None).exclude(spilt).values_list("pk", flat=True):
        yield f"incident {pk} names a movement that is no spill of the same deed"


@proofs.register("inventory.holds")
def holds() -> Iterator[str]:
    """A hold begins somewhere, and a lifted one says when and why."""
    for pk in Hold.objects.filter(seeds=None).values_list("pk", flat=True):
        yield f"hold {pk} begins at nothing"
    unclear = Q(lifted_by=None, lifted_at__isnull=False) | Q(lifted_by__isnull=False, lifted_at=None)
    for pk in Hold.objects.filter(unclear).values_list("pk", flat=True):
        yield f"hold {pk} is half lifted"
    for pk in Freed.objects.filter(reason="").values_list("pk", flat=True):
        yield f"freed {pk} has no reason"
