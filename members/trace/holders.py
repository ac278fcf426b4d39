"""Who holds what, who ever had it, and whether every strip is accounted for. All of it from the ledger."""

import dataclasses
from collections import defaultdict
from collections.abc import Collection, Iterator

from django.db.models import F, Sum
from django.utils.translation import gettext as _

from coop import wording
from coop.models import Person
from inventory.models import Holding, Item, Movement, Place
from members.models import TreatmentLine

K = Place.Kind
WITH_MEMBERS = (K.MEMBER, K.HIVES)
SOME = 5000


@dataclasses.dataclass
class Holder:
    """Somebody a reached thing ever came to, through hand-overs and passing on alike; what they have now, in strips."""

    person: Person
    items: dict[int, Item] = dataclasses.field(default_factory=dict)
    came_from: dict[int, Person] = dataclasses.field(default_factory=dict)
    unopened: int = 0
    in_hives: int = 0
    passed_on: int = 0
    brought_back: int = 0
    destroyed: int = 0
    lost: int = 0
    apiaries: set[int] = dataclasses.field(default_factory=set)
    hives: set[int] = dataclasses.field(default_factory=set)

    @property
    def strips(self) -> int:
        return self.unopened + self.in_hives

    @property
    def where(self) -> str:
        """In words: what is still with them, and where the rest went."""
        told = []
        if self.in_hives:
            hives = wording.counted(len(self.hives), "hive") if self.hives else _("hives")
            told.append(_("%(strips)s in %(hives)s") % {"strips": self.in_hives, "hives": hives})
        pairs = (
            (self.unopened, _("%d unopened")),
            (self.passed_on, _("passed %d on")),
            (self.brought_back, _("brought %d back")),
            (self.destroyed, _("%d out and destroyed")),
            (self.lost, _("%d lost")),
        )
        told += [text % count for count, text in pairs if count]
        return ", ".join(told)


@dataclasses.dataclass(frozen=True)
class Pieces:
    """Made = in store + retained + with members + destroyed + lost (+ used otherwise).

    `difference` is 0 where that closes.
    """

    made: int
    in_store: int
    retained: int
    with_members: int
    destroyed: int
    lost: int
    otherwise: int

    @property
    def difference(self) -> int:
        known = self.in_store + self.retained + self.with_members + self.destroyed + self.lost + self.otherwise
        return self.made - known


def holders_of(items: Collection[Item]) -> list[Holder]:
    """Everybody any of these bags and samples ever reached, by name. What was reversed by a correction never was."""
    by_id = {item.pk: item for item in items if item.kind in (Item.Kind.BAG, Item.Kind.SAMPLE)}
    found: dict[int, Holder] = {}
    for movement in _moved(by_id):
        giver, taker = _person(movement.source), _person(movement.target)
        if taker is not None:
            holder = found.setdefault(taker.pk, Holder(taker))
            holder.items[movement.item_id] = by_id[movement.item_id]
            if giver is not None and giver != taker:
                holder.came_from[giver.pk] = giver
        if giver is not None and giver != taker:
            _went(found.setdefault(giver.pk, Holder(giver)), movement)
    for holding in _held_now(by_id):
        person = _person(holding.place)
        if person is None:
            continue
        holder = found.setdefault(person.pk, Holder(person))
        holder.items[holding.item_id] = by_id[holding.item_id]
        if holding.place.kind == K.HIVES:
            holder.in_hives += holding.quantity
            holder.apiaries.add(holding.place_id)
        else:
            holder.unopened += holding.quantity
    for keeper, hive in _hives(by_id):
        if keeper in found:
            found[keeper].hives.add(hive)
    return sorted(found.values(), key=lambda holder: (holder.person.name, holder.person.pk))


def _went(holder: Holder, movement: Movement) -> None:
    """Strips that left somebody: to another member, back to a shed, destroyed, lost. Parts of a bag stay with them."""
    kind, strips = movement.target.kind, movement.quantity
    if kind in WITH_MEMBERS:
        holder.passed_on += strips
    elif kind == K.DESTROYED:
        holder.destroyed += strips
    elif kind == K.LOST:
        holder.lost += strips
    elif kind in (K.SHED, K.QUARANTINE, K.RETAINED):
        holder.brought_back += strips


def pieces_of(items: Collection[Item]) -> Pieces:
    """The line that must close, over bags and samples; a part of a bag is not made twice."""
    ids = [item.pk for item in items if item.kind in (Item.Kind.BAG, Item.Kind.SAMPLE)]
    net: dict[str, int] = defaultdict(int)
    there: dict[str, int] = defaultdict(int)
    for some in _slices(ids):
        rows = Movement.objects.filter(item_id__in=some).order_by()
        for end, sign in (("source", -1), ("target", 1)):
            sums = rows.values_list(f"{end}__kind", f"{end}__item_id").annotate(Sum("quantity"))
            for kind, of, total in sums:
                net["part" if kind == K.USED and of is not None else kind] += sign * int(total)
        for kind, total in (
            Holding.objects.filter(item_id__in=some).order_by().values_list("place__kind").annotate(Sum("quantity"))
        ):
            there[kind] += int(total)
    return Pieces(
        made=-net[K.MADE] - net["part"] - net[K.FOUND],
        in_store=there[K.SHED] + there[K.QUARANTINE] + there[K.BENCH],
        retained=there[K.RETAINED],
        with_members=there[K.MEMBER] + there[K.HIVES],
        destroyed=there[K.DESTROYED],
        lost=there[K.LOST],
        otherwise=net[K.USED] + net[K.UNEXPLAINED],
    )


def _moved(ids: Collection[int]) -> Iterator[Movement]:
    """Movements to or from somebody, in order, without those that a correction took back and the taking back."""
    for some in _slices(ids):
        rows = Movement.objects.filter(item_id__in=some, reverses=None, reversed_by=None)
        to_or_from = rows.filter(source__kind__in=WITH_MEMBERS) | rows.filter(target__kind__in=WITH_MEMBERS)
        yield from to_or_from.select_related("source__person", "target__person").order_by("happened_at", "pk")


def _held_now(ids: Collection[int]) -> Iterator[Holding]:
    for some in _slices(ids):
        rows = Holding.objects.filter(item_id__in=some, quantity__gt=0, place__kind__in=WITH_MEMBERS)
        yield from rows.select_related("place__person")


def _hives(ids: Collection[int]) -> Iterator[tuple[int, int]]:
    """(keeper, hive) wherever strips are still in."""
    for some in _slices(ids):
        left = TreatmentLine.objects.filter(item_id__in=some, strips_in__gt=F("strips_out") + F("strips_chewed"))
        yield from left.order_by().values_list("hive__apiary__keeper_id", "hive_id")


def _person(place: Place) -> Person | None:
    return place.person if place.kind in WITH_MEMBERS else None


def _slices(ids: Collection[int]) -> Iterator[list[int]]:
    wanted = sorted(ids)
    for start in range(0, len(wanted), SOME):
        yield wanted[start : start + SOME]
