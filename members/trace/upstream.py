"""What a thing was made from: every ancestor, with how much of the thing came by way of it."""

import dataclasses

from inventory import ancestry, holds, threads
from inventory.models import Item
from inventory.science.shares import EdgeMass
from members.science import reach as science


@dataclasses.dataclass(frozen=True)
class Ancestor:
    """One ancestor. `share` is parts of 10^18 by mass; None where it gave pieces only. `mass_mg`, `pieces`: what went
    of it straight into the traced thing, 0 if it came by way of another."""

    item: Item
    words: str
    is_held: bool
    share: int | None
    mass_mg: int
    pieces: int


def upstream_of(item: Item) -> list[Ancestor]:
    """Every ancestor, oldest first, in a fixed number of queries."""
    ids = ancestry.up([item.pk])
    edges = ancestry.edges_into(ids)
    share = science.through(item.pk, edges)
    direct: dict[int, EdgeMass] = {edge.parent: edge for edge in edges if edge.child == item.pk}
    items = list(Item.objects.filter(pk__in=ids - {item.pk}).select_related("material").order_by("made_at", "pk"))
    held, words = holds.held_ids(), threads.words_of(items)
    return [
        Ancestor(
            item=row,
            words=words[row.pk],
            is_held=row.pk in held,
            share=share.get(row.pk) or None,
            mass_mg=direct[row.pk].mass_mg if row.pk in direct else 0,
            pieces=direct[row.pk].pieces if row.pk in direct else 0,
        )
        for row in items
    ]
