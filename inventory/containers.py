"""Drums, cans and sacks: which stand where, and where they go with what is in them.

A container's place is where somebody last saw it. It follows its lot when all of it is carried off, and moves by itself
with what is in it. Its row is locked after the holdings.
"""

import datetime as dt

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from coop.command import Refused
from inventory import ledger
from inventory.models import Container, Item, Place


def standing(item: Item, place: Place) -> QuerySet[Container]:
    """What of a lot's containers stands in a place and is not empty."""
    return Container.objects.filter(lot_id=item.pk, place=place, emptied_on=None)


def follow(item: Item, source: Place, target: Place) -> None:
    """The containers of a lot go along to another store place when nothing of the lot is left where they stood."""
    both_store = {source.kind, target.kind} <= set(Place.IN_STORE)
    if item.kind == Item.Kind.LOT and both_store and not ledger.quantity_at(item, source):
        standing(item, source).update(place=target)


def only_place(item: Item) -> Place | None:
    """The one store place in which some of a lot lies; None if there is none, or more than one."""
    places = list(Place.objects.filter(kind__in=Place.IN_STORE, holdings__item=item, holdings__quantity__gt=0)[:2])
    return places[0] if len(places) == 1 else None


def net_of(container: Container, gross_mg: int) -> int:
    """Gross less tare. Refused: "container" without a tare, or lighter than it."""
    if container.tare_mg is None:
        raise Refused(
            _("Container “%(name)s” has no tare: weigh it empty, or one like it.") % {"name": container.name},
            code="container",
            field="tare_mg",
        )
    if gross_mg < container.tare_mg:
        raise lighter(container.name)
    return gross_mg - container.tare_mg


def weigh(container: Container, gross_mg: int, day: dt.date) -> int:
    """Keep what the scale says, and what is in it: nothing is left in one that weighs its tare."""
    net_mg = net_of(container, gross_mg)
    container.gross_mg = gross_mg
    container.emptied_on = None if net_mg else day
    container.save(update_fields=["gross_mg", "emptied_on"])
    return net_mg


def put_down(container: Container, target: Place, gross_mg: int) -> bool:
    """It stands there now; False when somebody else moved or emptied it since it was read."""
    as_read = Container.objects.filter(pk=container.pk, place=container.place_id, emptied_on=container.emptied_on)
    return bool(as_read.update(place=target, gross_mg=gross_mg, emptied_on=None))


def by_weight(item: Item) -> Item:
    """A lot that is weighed, or Refused: "unit" for one that is counted in pieces."""
    if item.unit != "mass":
        raise Refused(
            _("%(code)s is counted in pieces: a scale does not say how many.") % {"code": item.spaced_code},
            code="unit",
        )
    return item


def lighter(name: str) -> Refused:
    return Refused(
        _("Container “%(name)s” weighs less than its tare. Is the figure, the scale or the tare right?")
        % {"name": name},
        code="container",
        field="gross_mg",
    )
