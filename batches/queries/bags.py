"""Bags that may go out, for the rooms above."""

import datetime as dt

from batches.models import Bag
from inventory import holds


def may_go_out(day: dt.date) -> list[Bag]:
    """Released bags in a shed, in date on a local day and not on hold, first expiring first; each with `in_store`."""
    bags = list(Bag.objects.released(day).in_store().for_list().order_by("item__best_before", "id"))
    held = holds.on_hold([bag.item_id for bag in bags])
    return [bag for bag in bags if bag.item_id not in held]
