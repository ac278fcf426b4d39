"""The thread of a thing: what it came from, itself, and what became of it, grouped by kind; few queries."""

import dataclasses
from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence

from django.db.models import Count, Sum
from django.urls import NoReverseMatch, reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from coop import registry, wording
from coop.thread import ThreadStop
from inventory import ancestry, holds, ledger
from inventory.models import Edge, Holding, Item, Place

Kind = Item.Kind
SOME = 5000
UP = (Kind.LOT, Kind.RETURNED, Kind.MIX, Kind.SOAK, Kind.BAG)
DOWN = (Kind.MIX, Kind.SOAK, Kind.RETURNED, Kind.BAG, Kind.SAMPLE)
DOWN_FROM_TUB = (Kind.RETURNED, Kind.BAG, Kind.SAMPLE, Kind.MIX, Kind.SOAK)


def url_of(item: Item) -> str:
    """The page of a thing, as its room registered it; "" where no room did."""
    page = registry.item_pages.get(item.kind)
    return str(page(item)) if page else ""


def words_of(items: Iterable[Item]) -> dict[int, str]:
    """What each thing is, in few words, a few queries for all of them."""
    by_kind: dict[str, list[Item]] = defaultdict(list)
    for item in items:
        by_kind[item.kind].append(item)
    found: dict[int, str] = {}
    for kind, some in by_kind.items():
        say = registry.item_words.get(kind)
        known = say(some) if say else {}
        found.update({item.pk: known.get(item.pk) or item.get_kind_display() for item in some})
    return found


def trace_url(item: Item, page: str = "item") -> str:
    """Everything above and below a thing ("item"), or one way of it ("upstream", "reach"), where the trace is."""
    try:
        return reverse(f"trace:{page}", args=[item.code_id])
    except NoReverseMatch:
        return ""


@dataclasses.dataclass(frozen=True)
class _Chain:
    """What one thread needs, read once."""

    item: Item
    above: list[Item]
    below: list[Item]
    held: Collection[int]
    direct: Collection[int]


def thread_of(item: Item) -> list[ThreadStop]:
    """The stops from left to right. A hold colours every stop it reaches, so the line from where it begins."""
    chain = _read(item)
    stops = [_supplier(item)] if item.kind == Kind.LOT else []
    stops += _groups(chain, chain.above, UP)
    stops.append(
        ThreadStop(
            label=_label(item), code=item.code_id, lines=_self_lines(item), is_self=True, held=item.pk in chain.held
        )
    )
    order = DOWN_FROM_TUB if item.kind in (Kind.SOAK, Kind.BAG) else DOWN
    stops += _groups(chain, chain.below, order)
    stops += _with_people(chain)
    return stops


def _read(item: Item) -> _Chain:
    above, below = ancestry.up([item.pk]) - {item.pk}, ancestry.down([item.pk]) - {item.pk}
    direct = set(Edge.objects.filter(child=item).values_list("parent", flat=True))
    direct |= set(Edge.objects.filter(parent=item).values_list("child", flat=True))
    rows = {row.pk: row for row in _items(above | below)}
    return _Chain(
        item=item,
        above=[rows[pk] for pk in sorted(above)],
        below=[rows[pk] for pk in sorted(below)],
        held=set(holds.on_hold(above | below | {item.pk})),
        direct=direct,
    )


def _items(ids: Collection[int]) -> Iterable[Item]:
    wanted = sorted(ids)
    for start in range(0, len(wanted), SOME):
        yield from Item.objects.filter(pk__in=wanted[start : start + SOME]).select_related("material")


def _groups(chain: _Chain, items: Sequence[Item], order: Sequence[str]) -> list[ThreadStop]:
    """One stop for each kind; of mixes two, what is next to the thing apart from what is further away."""
    by_kind: dict[str, list[Item]] = defaultdict(list)
    for item in items:
        by_kind[item.kind].append(item)
    stops = []
    for kind in order:
        some = by_kind.get(kind, [])
        if kind == Kind.MIX and chain.item.kind == Kind.LOT:
            near = [one for one in some if one.pk in chain.direct]
            far = [one for one in some if one.pk not in chain.direct]
            stops += [
                _stop(chain, part, words) for part, words in ((near, _("direct")), (far, _("by returned solution")))
            ]
        else:
            stops.append(_stop(chain, some))
    return [stop for stop in stops if stop is not None]


def _stop(chain: _Chain, items: Sequence[Item], how: str = "") -> ThreadStop | None:
    if not items:
        return None
    held = any(item.pk in chain.held for item in items)
    amount = _amount(items)
    lines = [line for line in (how, amount) if line]
    if len(items) == 1:
        one = items[0]
        return ThreadStop(_label(one), one.code_id, url_of(one), lines, held=held)
    way = "upstream" if items[0] in chain.above else "reach"
    return ThreadStop(_counted(items[0].kind, len(items)), url=trace_url(chain.item, way), lines=lines, held=held)


def _label(item: Item) -> str:
    return item.material.name if item.kind == Kind.LOT and item.material else str(item.get_kind_display())


def _counted(kind: str, count: int) -> str:
    words = {
        Kind.LOT: ngettext("%d lot", "%d lots", count),
        Kind.MIX: ngettext("%d mix", "%d mixes", count),
        Kind.SOAK: ngettext("%d soak", "%d soaks", count),
        Kind.BAG: ngettext("%d bag", "%d bags", count),
        Kind.SAMPLE: ngettext("%d sample", "%d samples", count),
        Kind.RETURNED: ngettext("%d returned solution", "%d returned solutions", count),
    }
    return words[Kind(kind)] % count


def _amount(items: Sequence[Item]) -> str:
    """What there is of made things now, all places together: strips of bags, grams of returned solution."""
    kind = items[0].kind
    if kind not in (Kind.BAG, Kind.SAMPLE, Kind.RETURNED):
        return ""
    total = 0
    ids = [item.pk for item in items]
    for start in range(0, len(ids), SOME):
        some = Holding.objects.filter(item_id__in=ids[start : start + SOME])
        total += some.aggregate(total=Sum("quantity"))["total"] or 0
    return ledger.amount(int(total), items[0])


def _supplier(item: Item) -> ThreadStop:
    lot = item.lot
    lines = [_("their lot %(lot)s") % {"lot": lot.supplier_lot}] if lot.supplier_lot else []
    url = reverse("inventory:supplier", args=[lot.supplier_id])
    return ThreadStop(lot.supplier.name, url=url, lines=[*lines, wording.day(item.made_at.date())], begins=True)


def _self_lines(item: Item) -> list[str]:
    rows = Holding.objects.filter(item=item, quantity__gt=0).values_list("place__kind").annotate(total=Sum("quantity"))
    totals = {kind: int(total) for kind, total in rows.order_by()}
    words = [
        (Place.Kind.SHED, _("%(amount)s on hand")),
        (Place.Kind.QUARANTINE, _("%(amount)s in quarantine")),
        (Place.Kind.BENCH, _("%(amount)s on the bench")),
        (Place.Kind.RETAINED, _("%(amount)s retained")),
    ]
    lines = [text % {"amount": ledger.amount(totals[kind], item)} for kind, text in words if kind in totals]
    return lines or ([_("used up")] if item.kind != Kind.BAG else [])


def _with_people(chain: _Chain) -> list[ThreadStop]:
    """Members who have strips of it, and the hives strips are in."""
    ids = [item.pk for item in [chain.item, *chain.below] if item.kind == Kind.BAG]
    strips: dict[str, int] = defaultdict(int)
    ends: dict[str, int] = defaultdict(int)
    held = not set(chain.held).isdisjoint(ids)
    for start in range(0, len(ids), SOME):
        some = Holding.objects.filter(item_id__in=ids[start : start + SOME], quantity__gt=0)
        there = some.filter(place__kind__in=(Place.Kind.MEMBER, Place.Kind.HIVES)).order_by()
        for kind, total, places in there.values_list("place__kind").annotate(
            Sum("quantity"), Count("place", distinct=True)
        ):
            strips[kind] += int(total)
            ends[kind] += places
    stops = []
    for kind, noun in ((Place.Kind.MEMBER, "member"), (Place.Kind.HIVES, "apiary")):
        if strips[kind]:
            label = _("in hives") if kind == Place.Kind.HIVES else wording.counted(ends[kind], noun)
            lines = [wording.counted(strips[kind])]
            if kind == Place.Kind.HIVES:
                lines.append(wording.counted(ends[kind], noun))
            stops.append(ThreadStop(label, lines=lines, held=held))
    return stops
