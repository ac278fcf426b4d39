"""What became of a thing, and how much of it stands where: shares by mass, milligrams by bag, losses."""

import dataclasses
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence

from django.db.models import Q, Sum
from django.utils.translation import gettext as _

from inventory import ancestry, holds, threads
from inventory.models import Item, Material, Movement, Place
from inventory.science.shares import WHOLE, EdgeMass, share_of
from members.science import reach as science

SOME = 5000
Kind = Item.Kind
_BENCH, _USED, _MADE = Place.Kind.BENCH, Place.Kind.USED, Place.Kind.MADE
_STRIPS = (Kind.BAG, Kind.SAMPLE, Kind.SOAK)


@dataclasses.dataclass(frozen=True)
class Part:
    """Some of a reached thing in one place: its mass of solution, and the milligrams of the traced thing in it."""

    kind: str
    where: str
    mass_mg: int
    of_it_mg: int | None


@dataclasses.dataclass(frozen=True)
class Reached:
    """One thing made, through whatever, from the traced one. Shares are parts of 10^18."""

    item: Item
    words: str
    is_held: bool
    share: int | None
    of_acid: int | None
    strips: int | None
    each_mg: int | None
    parts: tuple[Part, ...] = ()

    @property
    def mass_mg(self) -> int:
        return sum(part.mass_mg for part in self.parts)

    @property
    def of_it_mg(self) -> int | None:
        known = [part.of_it_mg for part in self.parts if part.of_it_mg is not None]
        return sum(known) if known else None


@dataclasses.dataclass(frozen=True)
class Reach:
    """Everything downstream, oldest first. `drawn_mg`: what went of the thing into others, None if it has no mass."""

    rows: list[Reached]
    drawn_mg: int | None
    edges: list[EdgeMass]

    @property
    def ids(self) -> set[int]:
        return {row.item.pk for row in self.rows}


def reach_of(item: Item) -> Reach:
    """Everything made from the item, in a number of queries that does not grow with what it reaches."""
    ids = ancestry.down([item.pk])
    edges = ancestry.edges_into(ids - {item.pk})
    items = {row.pk: row for row in _items(ids)}
    by_mass = any(edge.parent == item.pk and edge.mass_mg > 0 for edge in edges)
    share = _shares(item, edges, by_mass)
    made = _pieces_made(ids, items)
    tubs = {pk for pk, one in items.items() if one.kind == Kind.SOAK}
    drawn = sum(edge.mass_mg for edge in edges if edge.parent == item.pk) if by_mass else None
    strips = science.contents(edges, made, tubs)
    nodes, places = _rested(ids - {item.pk}, tubs), {}
    if nodes:
        places = {place.pk: place for place in Place.objects.filter(pk__in={place for _node, place in nodes})}
    rest = {node: content for node, content in strips.items() if node != item.pk}
    found = science.ends(drawn or 0, rest, nodes, share if by_mass else dict.fromkeys(ids, WHOLE))
    parts = _parts(found, items, places, by_mass)
    held, words = holds.held_ids(), threads.words_of(items.values())
    acids = _of_acid(item, ids - {item.pk}) if by_mass else {}
    rows = [
        Reached(
            item=one,
            words=words[one.pk],
            is_held=one.pk in held,
            share=share.get(one.pk),
            of_acid=acids.get(one.pk),
            strips=made.get(one.pk),
            each_mg=_each(strips.get(one.pk), share.get(one.pk), made.get(one.pk)) if by_mass else None,
            parts=tuple(parts.get(one.pk, ())),
        )
        for one in sorted(items.values(), key=lambda row: (row.made_at, row.pk))
        if one.pk != item.pk
    ]
    return Reach(rows, drawn, edges)


def _items(ids: Collection[int]) -> Iterator[Item]:
    for some in _slices(ids):
        yield from Item.objects.filter(pk__in=some).select_related("material")


def _slices(ids: Collection[int]) -> Iterator[list[int]]:
    wanted = sorted(ids)
    for start in range(0, len(wanted), SOME):
        yield wanted[start : start + SOME]


def _shares(item: Item, edges: Sequence[EdgeMass], by_mass: bool) -> dict[int, int]:
    """Shares by mass; for what is counted in pieces and gave no mass, by pieces."""
    if by_mass:
        return share_of(item.pk, edges)
    return share_of(item.pk, [EdgeMass(edge.parent, edge.child, 0, edge.pieces) for edge in edges if edge.pieces > 0])


def _pieces_made(ids: Collection[int], items: dict[int, Item]) -> dict[int, int]:
    """Strips ever made of each thing that is counted in strips, net of corrections."""
    made = {pk: 0 for pk, one in items.items() if one.kind in _STRIPS}
    for some in _slices(made):
        for place, sign in (("source", 1), ("target", -1)):
            rows = Movement.objects.filter(item_id__in=some, **{f"{place}__kind": _MADE}).order_by()
            for pk, total in rows.values_list("item_id").annotate(Sum("quantity")):
                made[pk] += sign * int(total)
    return made


def _rested(ids: Collection[int], tubs: Collection[int]) -> dict[tuple[int, int], int]:
    """Net milligrams by (thing, place) of all solution that is not in strips: on shelves, in tubs, lost, unexplained.

    Solution in a tub belongs to the soak, whichever mixes it came from, and so does what was lost from there.
    """
    found: dict[tuple[int, int], int] = defaultdict(int)
    seen: set[tuple[int, ...]] = set()
    for some in _slices(ids):
        in_tubs = [pk for pk in some if pk in tubs]
        at_tub = Q(source__kind=_BENCH, source__item__in=in_tubs) | Q(target__kind=_BENCH, target__item__in=in_tubs)
        rows = Movement.objects.filter(Q(item_id__in=some) | at_tub, item__unit="mass").order_by()
        columns = (
            "item_id",
            "source_id",
            "source__kind",
            "source__item_id",
            "target_id",
            "target__kind",
            "target__item_id",
        )
        for pk, source, kind, of, target, target_kind, target_of, total in rows.values_list(*columns).annotate(
            Sum("quantity")
        ):
            if (pk, source, target) in seen:
                continue
            seen.add((pk, source, target))
            out_of_tub = target_of if target_kind == _BENCH and kind not in Place.IN_STORE else pk
            left = of if kind == _BENCH else out_of_tub
            came = target_of if target_kind == _BENCH else of if kind == _BENCH else pk
            if not _is_edge(kind, of) and left in ids:
                found[left, source] -= int(total)
            if not _is_edge(target_kind, target_of) and came in ids:
                found[came, target] += int(total)
    return found


def _is_edge(kind: str, item: int | None) -> bool:
    """Made, received, or used in another thing: told by the edges."""
    return kind in (_MADE, Place.Kind.SUPPLIER) or (kind == _USED and item is not None)


def _parts(
    found: Iterable[science.End], items: dict[int, Item], places: dict[int, Place], by_mass: bool
) -> dict[int, list[Part]]:
    """The ends of each thing, in words; what was found and what went unexplained is one figure with its sign."""
    merged: dict[int, dict[tuple[str, str], list[int]]] = defaultdict(dict)
    for end in found:
        kind, where = _where(items[end.node], places.get(end.place))
        sums = merged[end.node].setdefault((kind, where), [0, 0])
        sums[0] += end.mass_mg
        sums[1] += end.of_it_mg
    return {
        node: [Part(kind, where, mass, of_it if by_mass else None) for (kind, where), (mass, of_it) in rows.items()]
        for node, rows in merged.items()
    }


def _where(item: Item, place: Place | None) -> tuple[str, str]:
    if place is None:
        return "strips", _("in the strips")
    if place.kind in (Place.Kind.FOUND, Place.Kind.UNEXPLAINED):
        return "unexplained", _("unexplained")
    if place.kind == _BENCH:
        return "bench", _("in the tub") if item.kind == Kind.SOAK else _("in the pail")
    return place.kind, place.words


def _each(content: science.Strips | None, share: int | None, made: int | None) -> int | None:
    """Milligrams of the traced thing in one strip."""
    if content is None or not share or not made:
        return None
    return round(content.whole * share / WHOLE / made)


def _of_acid(item: Item, ids: Collection[int]) -> dict[int, int]:
    """Of the acid in each reached thing, how much came from this lot; nothing for what is no acid."""
    if item.material is None or item.material.kind != Material.Kind.ACID:
        return {}
    found = ancestry.all_shares_up(sorted(ids))
    roots = {root for shares in found.values() for root in shares}
    acids: set[int] = set()
    for some in _slices(roots):
        acids.update(Item.objects.filter(pk__in=some, material__kind=Material.Kind.ACID).values_list("pk", flat=True))
    result = {}
    for pk, shares in found.items():
        whole = sum(part for root, part in shares.items() if root in acids)
        if whole and shares.get(item.pk):
            result[pk] = shares[item.pk] * WHOLE // whole
    return result
