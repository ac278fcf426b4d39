"""Cost follows the matter: what everything made of bought lots costs, in whole micro-cents that sum exactly.

A lot costs its price by what was received of it; without a price it is a gift and costs nothing. A mix costs what went
in, by milligram of the charge. Solution that comes back, from pail or tub, carries its mass at that unit cost (from a
tub with several mixes at theirs, weighted by what was poured). What does not come back, residue and losses with it, is
borne by the soaks in proportion to what was poured into them. A soak costs its shares of its mixes and its blanks, less
what its returned solution carries; its bags share that by pieces, retained samples and spoiled strips carry nothing.
Nothing goes below zero: where more came back than was in, it carries all there is, and `is_capped` says so.

Where a thing is shared out, the parts are rounded by largest remainder, so that for every thing
`into == returned + carried + waiting + kept + written_off`.
"""

import dataclasses
from collections import defaultdict
from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import NamedTuple

from inventory.science.shares import EdgeMass, in_order, split

MICRO = 10**6
LOT, MIX, SOAK, BAG, SAMPLE, RETURNED = "lot", "mix", "soak", "bag", "sample", "returned"
_STRIPS = (BAG, SAMPLE)


class Price(NamedTuple):
    """What a lot cost in cents, and how much of it was received: milligrams or pieces."""

    cents: int
    received: int

    @property
    def each(self) -> Fraction:
        """Micro-cents a milligram or a piece; a gift, and a lot of which nothing came, costs nothing."""
        return Fraction(self.cents * MICRO, self.received) if self.cents > 0 and self.received > 0 else Fraction(0)


class Waiting(NamedTuple):
    """What stands on the bench yet: solution in a pail or tub, strips in a tub."""

    mass_mg: int = 0
    pieces: int = 0


@dataclasses.dataclass(frozen=True)
class Cost:
    """Micro-cents of one thing.

    `into` is all that went in, `by_parent` the parts it consists of. `returned` is carried on by solution that came
    back, `carried` by what was made of the rest (soaks, bags, parts of a bag, for returned solution the mixes it went
    into), `waiting` stands on the bench (`in_tub` of it is solution
    in the tub of a soak), `kept` is in the thing itself, `written_off` in nothing any more. `each` is
    micro-cents a milligram or a piece, None where there is nothing to divide by.
    """

    kind: str
    into: int = 0
    in_tub: int = 0
    returned: int = 0
    carried: int = 0
    waiting: int = 0
    kept: int = 0
    written_off: int = 0
    each: Fraction | None = None
    by_parent: Mapping[int, int] = dataclasses.field(default_factory=dict)
    is_capped: bool = False

    @property
    def total(self) -> int:
        """What the thing costs: all that went in, for a soak less what its returned solution carries."""
        return self.into - self.returned if self.kind == SOAK else self.into

    @property
    def strips(self) -> int:
        """What the strips of a soak bear: without the solution that stands in the tub yet."""
        return self.total - self.in_tub

    def of(self, quantity: int) -> Fraction | None:
        """Micro-cents of so many milligrams or pieces."""
        return None if self.each is None else self.each * quantity


class _Node(NamedTuple):
    """A thing with its edges, while its cost is worked out."""

    kind: str
    ins: list[EdgeMass]
    outs: list[EdgeMass]
    kinds: Mapping[int, str]
    waiting: Waiting

    @property
    def mass_in(self) -> int:
        return sum(edge.mass_mg for edge in self.ins)

    @property
    def pieces_in(self) -> int:
        return sum(edge.pieces for edge in self.ins)

    def outs_to(self, *kinds: str) -> list[EdgeMass]:
        return [edge for edge in self.outs if self.kinds.get(edge.child) in kinds]

    def outs_but(self, *kinds: str) -> list[EdgeMass]:
        return [edge for edge in self.outs if self.kinds.get(edge.child) not in kinds]


class _Shared(NamedTuple):
    """What a thing's cost became, edge by edge, and what stayed."""

    parts: dict[EdgeMass, int]
    cost: Cost


def costs(
    edges: Iterable[EdgeMass],
    kinds: Mapping[int, str],
    prices: Mapping[int, Price],
    waiting: Mapping[int, Waiting] | None = None,
    nodes: Iterable[int] = (),
) -> dict[int, Cost]:
    """The cost of everything in the edges and in `nodes`, after all it was made from. Raises Circle.

    `edges` hold every edge into and, but for lots, out of whatever is asked for and its ancestors. A kind is one of the
    constants here; what has no edge into it and is no lot costs nothing.
    """
    left = _merged(edges)
    ins: dict[int, list[EdgeMass]] = defaultdict(list)
    outs: dict[int, list[EdgeMass]] = defaultdict(list)
    for edge in left:
        ins[edge.child].append(edge)
        outs[edge.parent].append(edge)
    on_edge: dict[EdgeMass, int] = {}
    each: dict[int, Fraction] = {}
    found: dict[int, Cost] = {}
    for pk in in_order(left, nodes):
        node = _Node(kinds.get(pk, ""), ins[pk], outs[pk], kinds, (waiting or {}).get(pk, Waiting()))
        given = {edge: on_edge.get(edge, 0) for edge in node.ins}
        if node.kind == LOT:
            shared = _lot(node, prices.get(pk, Price(0, 0)))
        elif node.kind == SOAK:
            shared = _soak(node, given, each)
        elif node.kind in _STRIPS:
            shared = _strips(node, given)
        else:
            shared = _solution(node, given)
        on_edge |= shared.parts
        each[pk] = _solution_each(node, given, each) if node.kind == SOAK else shared.cost.each or Fraction(0)
        found[pk] = shared.cost
    return found


def _lot(node: _Node, price: Price) -> _Shared:
    """What went out of a lot costs by what was received; each edge is rounded alone, so that a later one moves none."""
    parts = {edge: _half_up(price.each * (edge.mass_mg or edge.pieces)) for edge in node.outs}
    whole = max(price.cents, 0) * MICRO
    return _Shared(parts, Cost(LOT, into=whole, kept=whole, each=price.each))


def _solution(node: _Node, given: dict[EdgeMass, int]) -> _Shared:
    """A mix, or returned solution: what goes into a soak is borne by the soaks, with all that is lost on the way."""
    into, mass = sum(given.values()), node.mass_in
    back, bears = node.outs_but(SOAK), node.outs_to(SOAK)
    wanted = Fraction(into * sum(edge.mass_mg for edge in back), mass) if mass else Fraction(0)
    returned = min(_half_up(wanted), into)
    parts = _share(returned, back, [edge.mass_mg for edge in back])
    rest = into - returned
    weights = [edge.mass_mg for edge in bears]
    if node.kind == RETURNED:
        still = max(mass - sum(weights) - sum(edge.mass_mg for edge in back), 0)
    else:
        still = node.waiting.mass_mg
    borne, stays = _with_rest(rest, bears, weights, still)
    ends: dict[str, int] = {}
    if node.kind == RETURNED:
        ends = {"carried": returned + sum(borne.values()), "kept": rest - sum(borne.values())}
    else:
        carried = sum(borne.values())
        ends = {"returned": returned, "carried": carried, "waiting": stays, "written_off": rest - carried - stays}
    return _Shared(
        parts | borne,
        Cost(
            node.kind,
            into=into,
            each=Fraction(into, mass) if mass else None,
            by_parent=_by_parent(given),
            is_capped=wanted > into,
            **ends,
        ),
    )


def _soak(node: _Node, given: dict[EdgeMass, int], each: Mapping[int, Fraction]) -> _Shared:
    """Solution back carries its own; the rest and the blanks are shared by the strips in bags and still in the tub."""
    into, liquid = sum(given.values()), sum(cost for edge, cost in given.items() if edge.mass_mg > 0)
    back = node.outs_but(*_STRIPS)
    masses = [edge.mass_mg for edge in back]
    unit = _solution_each(node, given, each)
    wanted = unit * sum(masses)
    returned = min(_half_up(wanted), liquid)
    in_tub = min(_half_up(unit * node.waiting.mass_mg), liquid - returned)
    parts = _share(returned, back, masses)
    rest = into - returned - in_tub
    bags = node.outs_to(BAG)
    counts = [edge.pieces for edge in bags]
    bagged, stays = _with_rest(rest, bags, counts, node.waiting.pieces)
    strips, carried = sum(counts) + node.waiting.pieces, sum(bagged.values())
    return _Shared(
        parts | bagged,
        Cost(
            SOAK,
            into=into,
            returned=returned,
            carried=carried,
            waiting=in_tub + stays,
            in_tub=in_tub,
            written_off=rest - carried - stays,
            each=Fraction(rest, strips) if strips else None,
            by_parent=_by_parent(given),
            is_capped=wanted > liquid,
        ),
    )


def _strips(node: _Node, given: dict[EdgeMass, int]) -> _Shared:
    """A bag, or a part of one: it keeps what it gave to no other bag. A retained sample was given nothing."""
    into, made = sum(given.values()), node.pieces_in
    counts = [edge.pieces for edge in node.outs]
    parts, _stays = _with_rest(into, node.outs, counts, max(made - sum(counts), 0))
    carried = sum(parts.values())
    return _Shared(
        parts,
        Cost(
            node.kind,
            into=into,
            carried=carried,
            kept=into - carried,
            each=Fraction(into, made) if made else None,
            by_parent=_by_parent(given),
            is_capped=sum(counts) > made,
        ),
    )


def _solution_each(node: _Node, given: dict[EdgeMass, int], each: Mapping[int, Fraction]) -> Fraction:
    """Micro-cents a milligram of what was poured into a tub: the unit costs of its mixes, weighted by the pours."""
    poured = node.mass_in
    if not poured:
        return Fraction(0)
    return sum((each.get(edge.parent, Fraction(0)) * edge.mass_mg for edge in given), Fraction(0)) / poured


def _merged(edges: Iterable[EdgeMass]) -> list[EdgeMass]:
    """One edge for each pair, in a fixed order, without those that nothing is left on."""
    sums: dict[tuple[int, int], tuple[int, int]] = {}
    for edge in edges:
        mass, pieces = sums.get((edge.parent, edge.child), (0, 0))
        sums[edge.parent, edge.child] = (mass + edge.mass_mg, pieces + edge.pieces)
    return [EdgeMass(*pair, *both) for pair, both in sorted(sums.items()) if both[0] > 0 or both[1] > 0]


def _share(total: int, edges: list[EdgeMass], weights: list[int]) -> dict[EdgeMass, int]:
    if not any(weights):
        return dict.fromkeys(edges, 0)
    return dict(zip(edges, split(total, weights), strict=True))


def _with_rest(total: int, edges: list[EdgeMass], weights: list[int], rest: int) -> tuple[dict[EdgeMass, int], int]:
    """`total` shared over the edges and what stays; what stays is 0 where there is nobody to share with."""
    if not any(weights) and not rest:
        return dict.fromkeys(edges, 0), 0
    *parts, stays = split(total, [*weights, rest])
    return dict(zip(edges, parts, strict=True)), stays


def _by_parent(given: dict[EdgeMass, int]) -> dict[int, int]:
    return {edge.parent: cost for edge, cost in given.items()}


def _half_up(value: Fraction) -> int:
    return (2 * value.numerator + value.denominator) // (2 * value.denominator)
