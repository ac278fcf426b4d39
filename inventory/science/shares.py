"""Shares by mass: how much of each root stands in everything made from it, in integers that sum exactly.

A share is counted in parts of 10^18 (`WHOLE`). Each node's parts are rounded by largest remainder over its own roots,
so that they sum to `WHOLE` in every node; exact fractions would grow to thousands of bits along a chain of returned
solution. The assumption is that every item was well mixed, and a page that shows a share says so.
"""

from collections import defaultdict, deque
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

WHOLE = 10**18


class EdgeMass(NamedTuple):
    """What went from `parent` into `child`, net of corrections: milligrams and pieces."""

    parent: int
    child: int
    mass_mg: int
    pieces: int


class Circle(ValueError):
    """An item would be made from itself. `nodes` are the ids that stand in or behind the circle."""

    def __init__(self, nodes: Iterable[int]) -> None:
        self.nodes = tuple(sorted(nodes))
        super().__init__(f"a circle among {self.nodes[:10]}")


def split(total: int, weights: Sequence[int]) -> list[int]:
    """`total` in whole parts in proportion to the weights, by largest remainder; the parts sum exactly.

    Equal remainders go to the earlier. A negative total gives the mirror image. Refuses (ValueError) a negative weight,
    and weights that are all zero when there is something to divide.
    """
    if any(weight < 0 for weight in weights):
        raise ValueError("a weight below zero")
    if total == 0:
        return [0] * len(weights)
    if total < 0:
        return [-part for part in split(-total, weights)]
    whole = sum(weights)
    if whole == 0:
        raise ValueError("nothing to divide by")
    parts = [total * weight // whole for weight in weights]
    rest = sorted(range(len(weights)), key=lambda i: (-(total * weights[i] % whole), i))
    for place in rest[: total - sum(parts)]:
        parts[place] += 1
    return parts


def apportion(total: int, rows: Sequence[tuple[int, int]]) -> list[int]:
    """Where a lot went: `rows` of (mass or pieces, share in parts of 10^18) made to sum exactly to `total`."""
    return split(total, [quantity * share for quantity, share in rows])


def upstream(edges: Iterable[EdgeMass], starts: Iterable[int]) -> set[int]:
    """The starts and all they were made from: the plain closure that the database's walk is checked against."""
    return _closure(((edge.child, edge.parent) for edge in edges if _is_left(edge)), starts)


def downstream(edges: Iterable[EdgeMass], starts: Iterable[int], stop_at: Iterable[int] = ()) -> set[int]:
    """The starts and all that was made from them; the walk does not enter or pass `stop_at`."""
    return _closure(((edge.parent, edge.child) for edge in edges if _is_left(edge)), starts, stop_at)


def closes_circle(edges: Iterable[EdgeMass], parent: int, child: int) -> bool:
    """Would an edge from `parent` into `child` make something an ingredient of itself?"""
    return parent in downstream(edges, [child])


def in_order(edges: Iterable[EdgeMass], nodes: Iterable[int] = ()) -> list[int]:
    """Every node after all it was made from. Raises Circle."""
    waiting: dict[int, int] = dict.fromkeys(nodes, 0)
    children: dict[int, list[int]] = defaultdict(list)
    for edge in edges:
        waiting.setdefault(edge.parent, 0)
        waiting[edge.child] = waiting.get(edge.child, 0) + 1
        children[edge.parent].append(edge.child)
    ready = deque(node for node, count in waiting.items() if count == 0)
    order: list[int] = []
    while ready:
        node = ready.popleft()
        order.append(node)
        for child in children[node]:
            waiting[child] -= 1
            if waiting[child] == 0:
                ready.append(child)
    if len(order) < len(waiting):
        raise Circle(waiting.keys() - set(order))
    return order


def shares_by_root(edges: Iterable[EdgeMass], nodes: Iterable[int] = ()) -> dict[int, Mapping[int, int]]:
    """Parts of 10^18 of each root, for every node of the edges and of `nodes`.

    A root is a node that nothing went into; it is wholly itself. Where any matter by mass went into a node, the shares
    are by mass and its pieces carry none; else by pieces. Raises Circle. The mappings may be shared: leave them as
    they are.
    """
    left = [edge for edge in edges if _is_left(edge)]
    into = _weights_into(left)
    found: dict[int, Mapping[int, int]] = {}
    for node in in_order(left, nodes):
        weights = into.get(node)
        if not weights:
            found[node] = {node: WHOLE}
        elif len(weights) == 1:
            found[node] = found[next(iter(weights))]
        else:
            found[node] = _mixed([(weight, found[parent]) for parent, weight in weights.items()])
    return found


def share_of(root: int, edges: Iterable[EdgeMass]) -> dict[int, int]:
    """Parts of 10^18 of one item in each of its descendants, itself included (`WHOLE`).

    `edges` must hold every edge into those descendants, wherever its parent stands; what does not come from `root`
    counts as other matter. Raises Circle.
    """
    left = [edge for edge in edges if _is_left(edge) and edge.child != root]
    into = _weights_into(left)
    found = {root: WHOLE}
    for node in in_order(left, [root]):
        weights = into.get(node)
        if node == root or not weights:
            continue
        numerator = sum(weight * found.get(parent, 0) for parent, weight in weights.items())
        if numerator:
            found[node] = _half_up(numerator, sum(weights.values()))
    return found


def _mixed(parents: list[tuple[int, Mapping[int, int]]]) -> dict[int, int]:
    numerators: dict[int, int] = defaultdict(int)
    whole = 0
    for weight, shares in parents:
        whole += weight
        for root, part in shares.items():
            numerators[root] += weight * part
    parts = {root: numerator // whole for root, numerator in numerators.items()}
    missing = WHOLE - sum(parts.values())
    for root in sorted(numerators, key=lambda one: (-(numerators[one] % whole), one))[:missing]:
        parts[root] += 1
    return parts


def _weights_into(edges: Iterable[EdgeMass]) -> dict[int, dict[int, int]]:
    by_mass: dict[int, dict[int, int]] = {}
    by_pieces: dict[int, dict[int, int]] = {}
    for edge in edges:
        into, quantity = (by_mass, edge.mass_mg) if edge.mass_mg > 0 else (by_pieces, edge.pieces)
        weights = into.setdefault(edge.child, {})
        weights[edge.parent] = weights.get(edge.parent, 0) + quantity
    return by_pieces | by_mass


def _is_left(edge: EdgeMass) -> bool:
    return edge.mass_mg > 0 or edge.pieces > 0


def _half_up(numerator: int, denominator: int) -> int:
    return (2 * numerator + denominator) // (2 * denominator)


def _closure(steps: Iterable[tuple[int, int]], starts: Iterable[int], stop_at: Iterable[int] = ()) -> set[int]:
    following: dict[int, list[int]] = defaultdict(list)
    for here, there in steps:
        following[here].append(there)
    stops = set(stop_at)
    reached = {start for start in starts if start not in stops}
    waiting = list(reached)
    while waiting:
        for there in following.get(waiting.pop(), ()):
            if there not in reached and there not in stops:
                reached.add(there)
                waiting.append(there)
    return reached
