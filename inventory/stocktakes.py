"""A stocktake as it stands: what is left to count, what wants a second look, what the book said at each count.

Blind: nobody is shown a figure of the book, or how a count differs from it, before everything is counted, and of one
thing not before it had its second look. `Thing.is_shown` says so, for pages and API alike.
"""

import dataclasses
import datetime as dt
from collections.abc import Mapping, Sequence
from functools import cached_property

from django.db.models import F, Q
from django.db.models.functions import Coalesce
from django.utils.translation import gettext as _

from coop import wording
from coop.models import Person, the_club
from inventory import threads
from inventory.models import Count, Holding, Item, Movement, Place, Stocktake

Cause = Movement.Cause
#: how often a thing must be looked at whose count differs from the book
LOOKS = 2


@dataclasses.dataclass(frozen=True)
class Thing:
    """One thing of a stocktake with its counts, first to last; `book` is what the book said at the last count."""

    item: Item
    words: str
    counts: Sequence[Count]
    book: int
    is_shown: bool = False

    @property
    def last(self) -> Count | None:
        return self.counts[-1] if self.counts else None

    @property
    def difference(self) -> int:
        return self.counts[-1].quantity - self.book if self.counts else 0

    @property
    def wants_second_look(self) -> bool:
        return bool(self.difference) and len(self.counts) < LOOKS


@dataclasses.dataclass(frozen=True)
class Sheet:
    """All that is counted in a stocktake, or still to be counted, in the order one walks along."""

    take: Stocktake
    things: Sequence[Thing]

    @property
    def is_open(self) -> bool:
        return self.take.state == Stocktake.State.OPEN

    @cached_property
    def left(self) -> list[Thing]:
        """Not counted yet."""
        return [one for one in self.things if not one.counts] if self.is_open else []

    @cached_property
    def counted(self) -> list[Thing]:
        return [one for one in self.things if one.counts]

    @cached_property
    def again(self) -> list[Thing]:
        """To be looked at a second time."""
        return [one for one in self.things if one.wants_second_look] if self.is_open else []

    @cached_property
    def differing(self) -> list[Thing]:
        return [one for one in self.things if one.difference]

    @property
    def is_all_counted(self) -> bool:
        return bool(self.counted) and not self.left

    def next_for(self, person: Person, after: Item | None = None) -> Thing | None:
        """What a person counts next. Whoever began goes down the list, the others come up: they meet half way."""
        walk = list(self.things)
        if person.pk != self.take.begun_by.actor_id:
            walk.reverse()
        places = [number for number, one in enumerate(walk) if after is not None and one.item.pk == after.pk]
        start = places[0] + 1 if places else 0
        walk = walk[start:] + walk[:start]
        if self.left:
            return next((one for one in walk if not one.counts), None)
        again = [one for one in walk if one.wants_second_look]
        of_others = [one for one in again if one.last and one.last.deed.actor_id != person.pk]
        return next(iter(of_others or again), None)


def read(take: Stocktake) -> Sheet:
    """The stocktake now, in a few queries whatever its length."""
    by_item: dict[int, list[Count]] = {}
    rows = take.counts.select_related("item__material", "deed__actor", "movement").order_by("pk")
    for count in rows:
        by_item.setdefault(count.item_id, []).append(count)
    items = {counts[0].item_id: counts[0].item for counts in by_item.values()}
    is_open = take.state == Stocktake.State.OPEN
    holdings = {}
    if is_open:
        here = Holding.objects.filter(place=take.place).filter(Q(quantity__gt=0) | Q(item__in=items))
        for holding in here.select_related("item__material"):
            holdings[holding.item_id] = holding.quantity
            items.setdefault(holding.item_id, holding.item)
        books = books_then(take.place, {pk: counts[-1].happened_at for pk, counts in by_item.items()}, holdings)
    else:
        books = {pk: counts[-1].book for pk, counts in by_item.items()}
    words = blind_words(list(items.values()))
    things = [Thing(item, words[pk], by_item.get(pk, []), books.get(pk, 0)) for pk, item in items.items()]
    things.sort(key=lambda one: (one.item.kind != Item.Kind.LOT, one.item.kind, one.words, one.item.code_id))
    sheet = Sheet(take, things)
    shown = not is_open or sheet.is_all_counted
    return Sheet(
        take, [dataclasses.replace(one, is_shown=shown and not (is_open and one.wants_second_look)) for one in things]
    )


def books_then(place: Place, moments: Mapping[int, dt.datetime], holdings: Mapping[int, int]) -> dict[int, int]:
    """What the book holds in a place, as it knows it now, for each item's own moment. `holdings` are those of now.

    What happened later is taken back; a correction counts as of what it corrects. What a count found, or a use that was
    more than the book held, was there before: it is not taken back.
    """
    books = {item: holdings.get(item, 0) for item in moments}
    if not moments:
        return books
    rows = Movement.objects.filter(Q(source=place) | Q(target=place), item__in=moments).annotate(
        then=Coalesce(F("reverses__happened_at"), F("replaces__happened_at"), F("happened_at"))
    )
    late = rows.filter(then__gt=min(moments.values())).exclude(_was_there())
    for item, target, quantity, then in late.values_list("item_id", "target_id", "quantity", "then"):
        if then > moments[item]:
            books[item] -= quantity if target == place.pk else -quantity
    return books


def _was_there() -> Q:
    counted = Q(cause=Cause.COUNT) | Q(reverses__isnull=False, reverses__cause=Cause.COUNT)
    return counted | Q(cause=Cause.FOUND) & ~Q(deed__verb="inventory.find")


def blind_words(items: Sequence[Item]) -> dict[int, str]:
    """What each thing is, without saying how many of it there ought to be."""
    lots = [one for one in items if one.unit == "mass" or one.kind == Item.Kind.LOT]
    words = threads.words_of(lots)
    club = the_club()
    for item in items:
        if item.pk not in words:
            words[item.pk] = _("%(kind)s of %(day)s") % {
                "kind": item.get_kind_display(),
                "day": wording.day(club.day_of(item.made_at)),
            }
    return words


def open_in(place: Place) -> Stocktake | None:
    rows = Stocktake.objects.filter(place=place, state=Stocktake.State.OPEN)
    return rows.select_related("begun_by__actor", "place").first()


def counters(counts: Sequence[Count]) -> str:
    """Who counted, each once, as far as the reader may learn it."""
    return wording.listed(dict.fromkeys(count.deed.who for count in counts))
