"""Where the matter of one thing went: through mixes, tubs and returned solution into strips, in milligrams that sum.

Numbers in, frozen dataclasses out. The assumption is that every solution was well mixed: whatever leaves a tub carries
the share that stood in the tub. A part of a bag carries its strips' part of what the bag carries.
"""

import dataclasses
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from fractions import Fraction

from inventory.science.shares import WHOLE, EdgeMass, in_order

#: an end that is no place: the strips of a bag themselves
IN_STRIPS = 0


@dataclasses.dataclass(frozen=True)
class End:
    """Some solution that came to rest: in the strips of a bag, on a shelf, in a tub, lost. `mass_mg` may be below zero
    where more was found than the book knew. `of_it_mg` is how much of the doubted thing it carries."""

    node: int
    place: int
    mass_mg: int
    of_it_mg: int


@dataclasses.dataclass
class Strips:
    """Solution in the strips of one bag, sample or part, in mg: what came into it straight from a tub, all that ever
    came into it, and what each part made of it took along."""

    straight: Fraction = Fraction(0)
    whole: Fraction = Fraction(0)
    parts: list[tuple[int, Fraction]] = dataclasses.field(default_factory=list)

    @property
    def left(self) -> Fraction:
        return self.whole - sum((taken for _child, taken in self.parts), Fraction(0))


def contents(edges: Iterable[EdgeMass], made: Mapping[int, int], tubs: Collection[int]) -> dict[int, Strips]:
    """What stands in the strips of each bag, sample and part; parents come before their parts.

    `made` counts the pieces ever made of each. `tubs` pass solution on by mass, everything else by pieces. Raises
    Circle (inventory.science.shares) for a book that runs in a circle.
    """
    rows = list(edges)
    found = {node: Strips() for node in in_order(rows, made) if node in made and node not in tubs}
    split: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for edge in rows:
        if edge.child in found:
            found[edge.child].straight += edge.mass_mg
        if edge.parent in found and edge.child in found and edge.pieces > 0:
            split[edge.parent].append((edge.child, edge.pieces))
    for node, strips in found.items():
        strips.whole += strips.straight
        for child, pieces in split.get(node, ()):
            taken = strips.whole * pieces / made[node] if made[node] else Fraction(0)
            strips.parts.append((child, taken))
            found[child].whole += taken
    return found


def ends(
    total_mg: int,
    strips: Mapping[int, Strips],
    places: Mapping[tuple[int, int], int],
    share: Mapping[int, int],
) -> list[End]:
    """Every end with its milligrams of the doubted thing, made to sum exactly to `total_mg` (largest remainder).

    Bags come first and their parts divide what the bag has, so that each bag sums too. `strips` is what `contents`
    gives, `places` the net mass by (node, place), `share` parts of 10^18 by node.
    """
    bags = [node for node, one in strips.items() if one.straight and share.get(node)]
    rests = [(key, mass) for key, mass in sorted(places.items()) if mass and share.get(key[0])]
    exact = [strips[node].straight * share[node] / WHOLE for node in bags]
    exact += [Fraction(mass) * share[node] / WHOLE for (node, _place), mass in rests]
    given = whole_parts(total_mg, exact)
    carried: dict[int, int] = defaultdict(int, zip(bags, given, strict=False))
    rows: list[End] = []
    for node, one in strips.items():
        if not share.get(node):
            continue
        kept, *taken = whole_parts(
            carried[node], [mass * share[node] / WHOLE for mass in (one.left, *(part for _child, part in one.parts))]
        )
        for (child, _mass), part in zip(one.parts, taken, strict=True):
            carried[child] += part
        if one.left:
            rows.append(End(node, IN_STRIPS, round(one.left), kept))
    rows += [
        End(node, place, mass, of_it) for ((node, place), mass), of_it in zip(rests, given[len(bags) :], strict=True)
    ]
    return rows


def whole_parts(total: int, exact: list[Fraction]) -> list[int]:
    """Whole numbers next to the exact ones, of either sign, that sum to the total; ties go to the earlier."""
    parts = [one.numerator // one.denominator for one in exact]
    if not parts:
        return parts
    order = sorted(range(len(exact)), key=lambda i: (parts[i] - exact[i], i))
    more, rest = divmod(total - sum(parts), len(parts))
    for rank, place in enumerate(order):
        parts[place] += more + (1 if rank < rest else 0)
    return parts


def through(start: int, edges: Iterable[EdgeMass]) -> dict[int, int]:
    """Which part of one thing came by way of each of its ancestors, in parts of 10^18; 10^18 in itself.

    By mass where any matter by mass went into a thing, else by pieces, as the shares are.
    """
    rows = list(edges)
    weights: dict[int, dict[int, int]] = defaultdict(dict)
    has_mass = {edge.child for edge in rows if edge.mass_mg > 0}
    for edge in rows:
        weight = edge.mass_mg if edge.child in has_mass else edge.pieces
        if weight > 0:
            weights[edge.child][edge.parent] = weights[edge.child].get(edge.parent, 0) + weight
    found: dict[int, int] = defaultdict(int, {start: WHOLE})
    for node in reversed(in_order(rows, [start])):
        into = weights.get(node)
        if not into or not found[node]:
            continue
        whole = sum(into.values())
        for parent, weight in into.items():
            found[parent] += (2 * found[node] * weight + whole) // (2 * whole)
    return dict(found)
