"""Strips that can be shared out: released, in date, not on hold, and not promised to anybody."""

import datetime as dt
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from batches.models import Bag
from batches.queries.bags import may_go_out
from members.models import Round, Share


class Pick(NamedTuple):
    """Strips of one bag for one share; `is_whole` when the bag goes as it is."""

    bag: Bag
    strips: int
    is_whole: bool


def promised(except_round: Round | None = None) -> int:
    """Strips in shares that wait to be collected, of every round but one."""
    waiting = Share.objects.to_collect()
    if except_round is not None:
        waiting = waiting.exclude(round=except_round)
    return sum(left_of(share) for share in waiting)


def left_of(share: Share) -> int:
    """Strips of a share still to be handed over; it was read `with_handed`."""
    return share.strips - int(share.handed)  # type: ignore[attr-defined]


def on_offer(day: dt.date, for_round: Round | None = None) -> int:
    """Strips free to be divided in a round, on a local day."""
    return max(0, sum(bag.in_store for bag in may_go_out(day)) - promised(for_round))  # type: ignore[attr-defined]


def pick_list(shares: Iterable[Share], bags: Sequence[Bag]) -> dict[int, list[Pick]]:
    """Share id to bags: whole bags where one fits, first expiring first, a part of the next for the rest.

    `shares` carry `handed`, `bags` carry `in_store`. What the bags do not cover is left out.
    """
    left = {bag.pk: int(bag.in_store) for bag in bags}  # type: ignore[attr-defined]
    found: dict[int, list[Pick]] = {}
    for share in sorted(shares, key=lambda one: (-(one.strips - one.handed), one.pk)):  # type: ignore[attr-defined]
        wanted = left_of(share)
        found[share.pk] = []
        while wanted:
            pick = _next_pick(bags, left, wanted)
            if pick is None:
                break
            found[share.pk].append(pick)
            left[pick.bag.pk] -= pick.strips
            wanted -= pick.strips
    return found


def _next_pick(bags: Sequence[Bag], left: dict[int, int], wanted: int) -> Pick | None:
    """The fullest bag that goes in whole; else a part of the first that is open already, or of the first of all."""
    untouched = [bag for bag in bags if left[bag.pk] and left[bag.pk] == bag.in_store]  # type: ignore[attr-defined]
    fits = [bag for bag in untouched if left[bag.pk] <= wanted]
    if fits:
        best = max(fits, key=lambda bag: left[bag.pk])
        return Pick(best, left[best.pk], True)
    opened = [bag for bag in bags if left[bag.pk] and left[bag.pk] < bag.in_store]  # type: ignore[attr-defined]
    for bag in [*opened, *untouched]:
        strips = min(left[bag.pk], wanted)
        return Pick(bag, strips, strips == left[bag.pk])
    return None
