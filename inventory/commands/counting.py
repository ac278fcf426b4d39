"""Stocktake: what is there is true, and the difference to the book becomes a movement by name."""

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _

from coop.command import Refused, command
from coop.models import Deed, the_club
from inventory import ledger
from inventory.commands.stock import in_store
from inventory.models import Container, Item, Movement, Place

Cause = Movement.Cause


@command("inventory.count")
def count(deed: Deed, *, item: Item, place: Place, quantity: int, note: str = "") -> dict[str, Any]:
    """One item counted in one place: milligrams or pieces, zero when nothing is left.

    Returns {"counted", "book", "difference", "movement"}; no movement when the book was right. The holding is locked
    before it is compared.
    """
    return _count(deed, item, in_store(place), quantity, note)


@command("inventory.count_by_weight")
def count_by_weight(
    deed: Deed, *, item: Item, place: Place, weighed: Sequence[Mapping[str, Any]], note: str = ""
) -> dict[str, Any]:
    """The drums of a lot that stand in one place, each weighed: {"container", "gross_mg"}, gross less tare is counted.

    Refused: "container" for one without a tare, of another lot, or lighter than its tare.
    """
    if not weighed:
        raise Refused(_("Weigh at least one container."), code="container")
    total = 0
    for given in weighed:
        container: Container = given["container"]
        if container.lot_id != item.pk:
            raise Refused(_("Container “%(name)s” is of another lot.") % {"name": container.name}, code="container")
        total += _weigh(container, given["gross_mg"])
    return _count(deed, item, in_store(place), total, note)


@command("inventory.add_container")
def add_container(
    deed: Deed, *, item: Item, name: str, tare_mg: int | None = None, gross_mg: int | None = None
) -> Container:
    """One more drum, can or sack of a lot. Refused: "container" for what is no lot, or a name it has already."""
    name = name.strip()
    if item.kind != Item.Kind.LOT:
        raise Refused(
            _("%(code)s is not a lot: only lots stand in containers.") % {"code": item.spaced_code}, code="container"
        )
    if not name or Container.objects.filter(lot_id=item.pk, name=name).exists():
        raise Refused(_("Give the container a name that no other of this lot has."), code="container", field="name")
    if tare_mg is not None and gross_mg is not None and gross_mg < tare_mg:
        raise _lighter(name)
    return Container.objects.create(lot_id=item.pk, name=name, tare_mg=tare_mg, gross_mg=gross_mg)


@command("inventory.open_container")
def open_container(deed: Deed, *, container: Container, opened_on: dt.date | None = None) -> Container:
    """A container was opened, on the day it happened unless said. The first opening stays."""
    if container.opened_on is None:
        container.opened_on = opened_on or the_club().day_of(deed.happened_at)
        container.save(update_fields=["opened_on"])
    return container


@command("inventory.weigh_container")
def weigh_container(deed: Deed, *, container: Container, gross_mg: int, tare_mg: int | None = None) -> dict[str, Any]:
    """A part-used drum on the scale. Returns {"container", "net_mg"}; the book changes only by a count."""
    if tare_mg is not None:
        container.tare_mg = tare_mg
        container.save(update_fields=["tare_mg"])
    net_mg = _weigh(container, gross_mg)
    return {"container": container, "net_mg": net_mg}


def _weigh(container: Container, gross_mg: int) -> int:
    if container.tare_mg is None:
        raise Refused(
            _("Container “%(name)s” has no tare: weigh it empty, or one like it.") % {"name": container.name},
            code="container",
        )
    if gross_mg < container.tare_mg:
        raise _lighter(container.name)
    net_mg = gross_mg - container.tare_mg
    container.gross_mg = gross_mg
    container.emptied_on = None if net_mg else the_club().today()
    container.save(update_fields=["gross_mg", "emptied_on"])
    return net_mg


def _lighter(name: str) -> Refused:
    return Refused(
        _("Container “%(name)s” weighs less than its tare. Is the figure, the scale or the tare right?")
        % {"name": name},
        code="container",
        field="gross_mg",
    )


def _count(deed: Deed, item: Item, place: Place, quantity: int, note: str) -> dict[str, Any]:
    if quantity < 0:
        raise Refused(_("Nothing is less than zero."), code="quantity", field="quantity")
    book = ledger.lock(item, place)
    difference = quantity - book
    movement = None
    if difference:
        other = Place.objects.the(Place.Kind.FOUND if difference > 0 else Place.Kind.UNEXPLAINED)
        ends = (other, place) if difference > 0 else (place, other)
        move = ledger.Move(item, *ends, abs(difference), Cause.COUNT, note.strip())
        movement = ledger.post(deed, [move], fact=True).movements[0]
    return {"counted": quantity, "book": book, "difference": difference, "movement": movement}
