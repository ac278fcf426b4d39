"""What a member holds, and which hives want it."""

import datetime as dt
from collections.abc import Sequence

from batches.models import Bag, Instructions
from coop.models import Person
from inventory.models import Holding, Item, Place
from members.models import Apiary, HandOver, Hive, TreatmentLine


def bags_of(person: Person) -> list[tuple[Item, int]]:
    """Bags with a member and how many strips of each, first expiring first."""
    rows = Holding.objects.filter(place__kind=Place.Kind.MEMBER, place__person=person, quantity__gt=0)
    rows = rows.select_related("item").order_by("item__best_before", "item_id")
    return [(row.item, row.quantity) for row in rows]


def strips_of(person: Person) -> int:
    return sum(strips for _item, strips in bags_of(person))


def untreated_hives(apiary: Apiary, day: dt.date) -> list[Hive]:
    """Hives standing there on a local day without strips in, in the order they were entered."""
    busy = TreatmentLine.objects.filter(treatment__apiary=apiary, treatment__out_on=None).values("hive")
    return list(Hive.objects.standing(day).filter(apiary=apiary).exclude(pk__in=busy).order_by("id"))


def instructions_for(person: Person, items: Sequence[Item] = ()) -> Instructions | None:
    """Those of the round the strips were shared out in; else those the batch was planned with; else the only ones."""
    wanted = list(items) or [item for item, _strips in bags_of(person)]
    got = HandOver.objects.filter(receiver=person, share__isnull=False)
    if wanted:
        got = got.filter(item__in=wanted)
    last = got.select_related("share__round__instructions").first()
    if last is not None and last.share is not None:
        return last.share.round.instructions
    bag = Bag.objects.filter(item__in=wanted).select_related("soak__bench__instructions").first()
    if bag is not None and bag.soak.bench.instructions is not None:
        return bag.soak.bench.instructions
    current = list(Instructions.objects.current()[:2])
    return current[0] if len(current) == 1 else None
