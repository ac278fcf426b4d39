"""How long things keep: never longer than anything that went into them."""

import datetime as dt

from django.db.models import Min, Q

from inventory import ancestry
from inventory.models import Item

#: what is made at the bench and bears a date of its own
DATED = (Item.Kind.BAG, Item.Kind.SAMPLE, Item.Kind.RETURNED)


def first_to_expire(item: int) -> dt.date | None:
    """The earliest best-before of a thing and of anything that went in, however far above."""
    return Item.objects.filter(pk__in=ancestry.up([item])).aggregate(first=Min("best_before"))["first"]  # type: ignore[no-any-return]


def keep_no_longer(item: int) -> None:
    """After something went into it: what was made of it before that was known keeps no longer than it does."""
    first = first_to_expire(item)
    if first is not None:
        later = Item.objects.filter(pk__in=ancestry.down([item]) - {item}, kind__in=DATED)
        later.filter(Q(best_before=None) | Q(best_before__gt=first)).update(best_before=first)
