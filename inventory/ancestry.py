"""What came from what: the one module with recursive SQL, the same text on both engines.

Walks go over bare ids with UNION, so that each item is visited once whatever the number of paths; a depth, a path or a
hold id inside the recursion would multiply the rows. Only edges with something left on them are walked.
Shares by mass assume that every solution was well mixed; pages say so where they show one.
"""

from collections.abc import Collection, Iterable

from django.db import connection

from inventory.models import Edge, HoldSeed, Item
from inventory.science import shares

_LEFT = "(e.mass_mg > 0 OR e.pieces > 0)"
_WALK = """
WITH RECURSIVE walk(id) AS (
    SELECT i.id FROM inventory_item i WHERE i.id IN ({seeds}) {not_seed}
    UNION
    SELECT e.{to} FROM inventory_edge e JOIN walk w ON e.{of} = w.id WHERE {left} {not_next}
)
"""
_UP = {"to": "parent_id", "of": "child_id"}
_DOWN = {"to": "child_id", "of": "parent_id"}


def up(items: Iterable[int]) -> set[int]:
    """Ids of the items and of everything they were made from."""
    return _ids(_UP, list(items))


def down(items: Iterable[int], stop_at: Collection[int] = ()) -> set[int]:
    """Ids of the items and of everything made from them; the walk does not enter or pass `stop_at`."""
    return _ids(_DOWN, list(items), stop_at)


def holds_above(item: int, stop_at: Collection[int] = ()) -> set[int]:
    """Ids of active holds that begin at the item or at anything it was made from (not passing `stop_at`)."""
    walk, values = _walk(_UP, [item], stop_at)
    question = (
        walk + "SELECT DISTINCT s.hold_id FROM walk JOIN inventory_holdseed s ON s.item_id = walk.id "
        "JOIN inventory_hold h ON h.id = s.hold_id WHERE h.lifted_by_id IS NULL"
    )
    return _run(question, values)


def shares_up(item: Item) -> dict[int, int]:
    """Share by mass of each root (bought lot) in the item, in parts of 10^18 that sum exactly."""
    nodes = up([item.pk])
    found = shares.shares_by_root(_edges_among(nodes), [item.pk])
    return dict(found[item.pk])


def all_shares_up(items: Collection[int]) -> dict[int, dict[int, int]]:
    """Shares of every root in each of several items, computed once over their common ancestry."""
    nodes = up(items)
    found = shares.shares_by_root(_edges_among(nodes), list(items))
    return {item: dict(found[item]) for item in items}


def share_down(item: Item) -> dict[int, int]:
    """Share by mass of the item in each of its descendants, in parts of 10^18; 10^18 in itself."""
    reached = down([item.pk])
    return dict(shares.share_of(item.pk, edges_into(reached)))


def edges_into(children: Collection[int]) -> list[shares.EdgeMass]:
    """All edges with something left whose child is among `children`, wherever the parent stands."""
    rows: list[shares.EdgeMass] = []
    wanted = sorted(children)
    for start in range(0, len(wanted), 5000):
        some = Edge.objects.filter(child_id__in=wanted[start : start + 5000])
        rows += [
            shares.EdgeMass(*row)
            for row in some.values_list("parent_id", "child_id", "mass_mg", "pieces")
            if row[2] or row[3]
        ]
    return rows


def _edges_among(nodes: Collection[int]) -> list[shares.EdgeMass]:
    return edges_into(nodes)


def _ids(direction: dict[str, str], items: list[int], stop_at: Collection[int] = ()) -> set[int]:
    if not items:
        return set()
    walk, values = _walk(direction, items, stop_at)
    return _run(walk + "SELECT id FROM walk", values)


def _walk(direction: dict[str, str], items: list[int], stop_at: Collection[int]) -> tuple[str, list[int]]:
    stops = sorted(stop_at)
    marks = ", ".join(["%s"] * len(stops))
    walk = _WALK.format(
        seeds=", ".join(["CAST(%s AS bigint)"] * len(items)),
        left=_LEFT,
        not_seed=f"AND i.id NOT IN ({marks})" if stops else "",
        not_next=f"AND e.{direction['to']} NOT IN ({marks})" if stops else "",
        **direction,
    )
    return walk, [*items, *stops, *stops]


def _run(question: str, values: list[int]) -> set[int]:
    with connection.cursor() as cursor:
        cursor.execute(question, values)
        return {row[0] for row in cursor.fetchall()}


def seeds_of(hold_ids: Iterable[int]) -> dict[int, set[int]]:
    """Hold id to the ids of the items it began at."""
    seeds: dict[int, set[int]] = {}
    for hold, item in HoldSeed.objects.filter(hold_id__in=list(hold_ids)).values_list("hold_id", "item_id"):
        seeds.setdefault(hold, set()).add(item)
    return seeds
