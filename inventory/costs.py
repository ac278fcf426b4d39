"""What things cost: the book's edges, prices and bench places for the arithmetic of inventory/science/cost.py.

Worked out anew each time from the net edges, so that a correction and a late price are in it at once.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator

from django.db.models import Q, Sum
from django.utils.translation import gettext as _

from coop import wording
from inventory import ancestry
from inventory.models import Edge, Holding, Item, Lot, Place
from inventory.science import cost as science
from inventory.science.cost import Cost as Cost
from inventory.science.shares import EdgeMass

SOME = 5000


def of(item_ids: Iterable[int]) -> dict[int, Cost]:
    """The cost of each of the items, by id. A fixed number of queries, whatever their ancestry."""
    wanted = set(item_ids)
    found = of_ancestry(wanted)
    return {pk: found[pk] for pk in wanted if pk in found}


def of_item(item: Item) -> Cost:
    return of([item.pk])[item.pk]


def of_ancestry(item_ids: Collection[int]) -> dict[int, Cost]:
    """The cost of the items and of all they were made from, by id."""
    nodes = ancestry.up(item_ids)
    kinds = _kinds(nodes)
    made = [pk for pk in nodes if kinds[pk] != Item.Kind.LOT]
    edges = {*ancestry.edges_into(nodes), *_edges_out_of(made)}
    kinds |= _kinds({edge.child for edge in edges} - nodes)
    prices = _prices(nodes - set(made))
    found = science.costs(edges, kinds, prices, _waiting(made), nodes)
    return {pk: found[pk] for pk in nodes}


def _kinds(items: Collection[int]) -> dict[int, str]:
    return dict(pair for some in _slices(items) for pair in Item.objects.filter(pk__in=some).values_list("pk", "kind"))


def _prices(lots: Collection[int]) -> dict[int, science.Price]:
    rows = (
        row
        for some in _slices(lots)
        for row in Lot.objects.filter(pk__in=some).values_list("pk", "price_cents", "received_quantity")
    )
    return {pk: science.Price(cents, received) for pk, cents, received in rows}


def _edges_out_of(parents: Collection[int]) -> Iterator[EdgeMass]:
    for some in _slices(parents):
        rows = Edge.objects.filter(Q(mass_mg__gt=0) | Q(pieces__gt=0), parent_id__in=some)
        yield from (EdgeMass(*row) for row in rows.values_list("parent_id", "child_id", "mass_mg", "pieces"))


def _waiting(items: Collection[int]) -> dict[int, science.Waiting]:
    """What stands in each one's pail or tub."""
    sums: dict[int, dict[str, int]] = defaultdict(dict)
    for some in _slices(items):
        rows = Holding.objects.filter(place__kind=Place.Kind.BENCH, place__item_id__in=some, quantity__gt=0)
        units = rows.order_by().values_list("place__item_id", "item__unit").annotate(whole=Sum("quantity"))
        for pk, unit, whole in units:
            sums[pk][unit] = int(whole)
    return {pk: science.Waiting(by_unit.get("mass", 0), by_unit.get("pieces", 0)) for pk, by_unit in sums.items()}


def _slices(ids: Collection[int]) -> Iterator[list[int]]:
    wanted = sorted(ids)
    for start in range(0, len(wanted), SOME):
        yield wanted[start : start + SOME]


def unit_words(lot: Lot) -> str:
    """What a kilogram or a piece of a bought lot costs, in words; empty for a gift."""
    each = science.Price(lot.price_cents, lot.received_quantity).each
    if not each:
        return ""
    if lot.item.unit == "mass":
        return _("%(cost)s a kilogram") % {"cost": wording.cost(each * 10**6, places=4)}
    return _("%(cost)s each") % {"cost": wording.cost(each, places=4)}
