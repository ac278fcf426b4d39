"""Is it on hold? Computed through ancestry, never stored.

One blind walk up gives the active holds that are reached; any of them without a Freed decides. Only for reached holds
with a Freed the walk is done again, stopping at what is freed from that hold (the start included).
"""

from collections.abc import Collection, Iterable

from django.utils.translation import gettext as _

from coop.command import Refused
from inventory import ancestry
from inventory.models import Freed, Hold, Item


def on_hold(items: Iterable[int]) -> dict[int, list[Hold]]:
    """For each item id that is on hold: the holds that reach it, newest first. Cheap when no hold is active."""
    wanted = set(items)
    reach = reached_by(Hold.objects.active(), wanted)
    found: dict[int, list[Hold]] = {}
    for hold, ids in reach:
        for item in ids:
            found.setdefault(item, []).append(hold)
    return found


def holds_of(item: Item) -> list[Hold]:
    """The active holds that reach one item, newest first: two steps up, whatever hangs below the holds."""
    reached = ancestry.holds_above(item.pk)
    freed = _freed(reached)
    through = {
        hold for hold in reached if hold not in freed or hold in ancestry.holds_above(item.pk, stop_at=freed[hold])
    }
    return list(Hold.objects.filter(pk__in=through).order_by("-pk"))


def is_held(item: Item) -> bool:
    return bool(holds_of(item))


def reached_by(holds: Iterable[Hold], among: Collection[int] | None = None) -> list[tuple[Hold, set[int]]]:
    """Each hold with the ids it reaches: one walk down for holds without a Freed each, stopping at what is freed."""
    rows = list(holds)
    freed, seeds = _freed(hold.pk for hold in rows), ancestry.seeds_of(hold.pk for hold in rows)
    result = []
    for hold in rows:
        ids = ancestry.down(seeds.get(hold.pk, set()), stop_at=freed.get(hold.pk, ()))
        result.append((hold, ids if among is None else ids & set(among)))
    return result


def held_ids(without: Collection[int] = ()) -> set[int]:
    """Ids of everything that is on hold: one blind walk for all holds without a Freed, one for each with.

    `without` names holds to leave out, to see what lifting them would free.
    """
    holds = [hold for hold in Hold.objects.active().values_list("pk", flat=True) if hold not in without]
    freed, seeds = _freed(holds), ancestry.seeds_of(holds)
    blind: set[int] = set().union(*(seeds.get(hold, set()) for hold in holds if hold not in freed))
    held = ancestry.down(blind)
    for hold, stops in freed.items():
        held |= ancestry.down(seeds.get(hold, set()), stop_at=stops)
    return held


def refuse_if_held(*items: Item) -> None:
    """Refused (code "held") when anything is on hold. Call it behind the gate, or a hold may slip in beside."""
    for item in items:
        holds = holds_of(item)
        if holds:
            raise Refused(
                _("%(code)s is on hold: %(reason)s. Leave it where it is and ask a coordinator.")
                % {"code": item.spaced_code, "reason": holds[0].reason.rstrip(".")},
                code="held",
                item=item.code_id,
            )


def _freed(holds: Iterable[int]) -> dict[int, set[int]]:
    """Hold id to the item ids freed from it, decisions that still stand only."""
    freed: dict[int, set[int]] = {}
    rows = Freed.objects.filter(hold_id__in=list(holds), voided_by=None).values_list("hold_id", "item_id")
    for hold, item in rows:
        freed.setdefault(hold, set()).add(item)
    return freed
