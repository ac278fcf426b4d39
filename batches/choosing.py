"""Which lots a plan takes: usable ones only, the first expiring first, and as few acid lots as can be."""

import dataclasses
import datetime as dt
from collections.abc import Sequence
from fractions import Fraction

from django.db.models import F, Q, Sum

from batches.strength import assay_of
from coop.units import PPB
from inventory import holds
from inventory.models import Holding, Item, Lot, Place


@dataclasses.dataclass(frozen=True)
class Stock:
    """A lot that may be planned with: what of it lies in sheds, and its dihydrate per milligram."""

    item: Item
    on_hand: int
    assay: Fraction = Fraction(1)

    @property
    def pure(self) -> Fraction:
        return self.on_hand * self.assay


def usable(kind: str, day: dt.date) -> list[Stock]:
    """Lots in sheds: not on hold, in date on the day, acid known as the dihydrate; first expiring first."""
    items = (
        Item.objects.filter(kind=Item.Kind.LOT, material__kind=kind)
        .filter(Q(best_before=None) | Q(best_before__gte=day))
        .filter(holdings__place__kind=Place.Kind.SHED, holdings__quantity__gt=0)
        .select_related("material", "lot")
        .order_by(F("best_before").asc(nulls_last=True), "id")
        .distinct()
    )
    if kind == "acid":
        items = items.filter(lot__form=Lot.Form.DIHYDRATE)
    on_hand = dict(
        Holding.objects.filter(item__in=items.values("pk"), place__kind=Place.Kind.SHED)
        .order_by()
        .values_list("item")
        .annotate(total=Sum("quantity"))
    )
    held = holds.on_hold([item.pk for item in items])
    return [
        Stock(item, on_hand[item.pk], Fraction(assay_of(item), PPB) if kind == "acid" else Fraction(1))
        for item in items
        if item.pk not in held
    ]


def fewest(stocks: Sequence[Stock], pure: Fraction) -> list[tuple[Stock, Fraction]]:
    """The fewest lots that hold so much between them, of those sets the one that expires first; what each gives.

    Empty when all together do not hold it. The first expiring are used up, the last one gives the rest.
    """
    count = _how_few([stock.pure for stock in stocks], pure)
    if not count:
        return []
    chosen: list[Stock] = []
    for place, stock in enumerate(stocks):
        room = count - len(chosen) - 1
        others = sorted((one.pure for one in stocks[place + 1 :]), reverse=True)[:room]
        if room >= 0 and sum((one.pure for one in chosen), stock.pure) + sum(others) >= pure:
            chosen.append(stock)
    return share(chosen, pure)


def share(stocks: Sequence[Stock], pure: Fraction) -> list[tuple[Stock, Fraction]]:
    """What each of the stocks gives, in order, until the amount is reached."""
    given: list[tuple[Stock, Fraction]] = []
    for stock in stocks:
        part = min(pure, stock.pure)
        if part > 0:
            given.append((stock, part))
        pure -= part
    return given


def _how_few(amounts: Sequence[Fraction], pure: Fraction) -> int:
    total = Fraction(0)
    for count, amount in enumerate(sorted(amounts, reverse=True), 1):
        total += amount
        if total >= pure:
            return count
    return 0
