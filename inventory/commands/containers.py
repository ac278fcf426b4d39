"""The drums, cans and sacks of a lot: added, opened, weighed, moved with what is in them, emptied."""

import datetime as dt
from typing import Any

from django.utils.translation import gettext as _

from coop.command import Refused, command
from coop.models import Deed, the_club
from inventory import containers, ledger
from inventory.commands.stock import in_store, likely, open_store
from inventory.models import Container, Item, Movement, Place


@command("inventory.add_container")
def add_container(
    deed: Deed,
    *,
    item: Item,
    name: str,
    place: Place | None = None,
    tare_mg: int | None = None,
    gross_mg: int | None = None,
) -> Container:
    """One more drum, can or sack of a lot, in the shed where it stands; without one, in the only shed with some of it.

    Refused: "container" for what is no lot, a name it has already, or one lighter than its tare; "place" for a shed to
    which none of the lot ever came, or none said while it lies in several.
    """
    name = name.strip()
    if item.kind != Item.Kind.LOT:
        raise Refused(
            _("%(code)s is not a lot: only lots stand in containers.") % {"code": item.spaced_code}, code="container"
        )
    if not name or Container.objects.filter(lot_id=item.pk, name=name).exists():
        raise Refused(_("Give the container a name that no other of this lot has."), code="container", field="name")
    if tare_mg is not None and gross_mg is not None and gross_mg < tare_mg:
        raise containers.lighter(name)
    return Container.objects.create(
        lot_id=item.pk, name=name, tare_mg=tare_mg, gross_mg=gross_mg, place=_place_with_some(item, place)
    )


@command("inventory.open_container")
def open_container(deed: Deed, *, container: Container, opened_on: dt.date | None = None) -> Container:
    """A container was opened, on the day it happened unless said. The first opening stays."""
    _not_ahead(opened_on, "opened_on")
    if container.opened_on is None:
        container.opened_on = opened_on or the_club().day_of(deed.happened_at)
        container.save(update_fields=["opened_on"])
    return container


@command("inventory.weigh_container")
def weigh_container(deed: Deed, *, container: Container, gross_mg: int, tare_mg: int | None = None) -> dict[str, Any]:
    """A part-used drum on the scale. Returns {"container", "net_mg"}; the book changes only by a count.

    One that was empty and weighs more than its tare is in use again. Refused: "container" without a tare, or lighter.
    """
    if tare_mg is not None:
        container.tare_mg = tare_mg
        container.save(update_fields=["tare_mg"])
    net_mg = containers.weigh(container, gross_mg, the_club().day_of(deed.happened_at))
    return {"container": container, "net_mg": net_mg}


@command("inventory.empty_container")
def empty_container(deed: Deed, *, container: Container, emptied_on: dt.date | None = None) -> Container:
    """A container is empty, since the day it happened unless said; the first stays. Only a count changes the book."""
    _not_ahead(emptied_on, "emptied_on")
    if container.emptied_on is None:
        container.emptied_on = emptied_on or the_club().day_of(deed.happened_at)
        container.save(update_fields=["emptied_on"])
    return container


@command("inventory.move_container")
def move_container(
    deed: Deed,
    *,
    container: Container,
    target: Place,
    gross_mg: int | None = None,
    note: str = "",
    confirmed: bool = False,
) -> Movement:
    """A drum was carried to another shed with what is in it: gross less tare.

    Not weighed now, it takes along what was in it when it was last weighed, at most what the book has there.
    Refused: "place" when it stands there already, nobody knows where it stood, or the shed is closed; "container"
    without tare and gross; "empty"; "unit" for what is counted in pieces; "moved" when somebody else moved it at this
    moment.
    """
    container.refresh_from_db()
    item = containers.by_weight(Item.objects.select_related("material").get(pk=container.lot_id))
    source = _stood(container, item)
    if source == target:
        raise Refused(_("It is there already. Choose another shed."), code="place", field="target")
    there = ledger.quantity_at(item, source)
    gross, net_mg = _content(container, gross_mg, there)
    likely(item, net_mg, there, confirmed, field="gross_mg")
    words = f"{container.name}: {note.strip()}" if note.strip() else container.name
    move = ledger.Move(item, source, open_store(target), net_mg, Movement.Cause.TRANSFER, words[:300])
    movement = ledger.post(deed, [move], fact=True).movements[0]
    if not containers.put_down(container, target, gross):
        raise Refused(_("Somebody else moved it at this moment. Look where it is, and try again."), code="moved")
    return movement


def _place_with_some(item: Item, place: Place | None) -> Place:
    """The shed a container is put down in: one to which some of its lot came, or Refused."""
    if place is None:
        place = containers.only_place(item)
        if place is None:
            raise Refused(_("Say in which shed it stands."), code="place", field="place")
    elif not Movement.objects.filter(item=item, target=in_store(place)).exists():
        raise Refused(
            _("By the book none of %(code)s ever came to %(shed)s. Move it there, or note what was found, first.")
            % {"code": item.spaced_code, "shed": place.words},
            code="place",
            field="place",
        )
    return place


def _stood(container: Container, item: Item) -> Place:
    place = container.place or containers.only_place(item)
    if place is None:
        raise Refused(
            _("The book does not know where “%(name)s” stood. Count by weight where it stands now.")
            % {"name": container.name},
            code="place",
        )
    return place


def _content(container: Container, gross_mg: int | None, there: int) -> tuple[int, int]:
    """Gross and net of a container that is carried. Refused: "container" if nobody knows, "empty".

    A weight of some time ago is no reason to find more than the book has.
    """
    gross = container.gross_mg if gross_mg is None else gross_mg
    if gross is None:
        raise Refused(
            _("“%(name)s” was never weighed full. Weigh it, then move it.") % {"name": container.name},
            code="container",
            field="gross_mg",
        )
    net_mg = containers.net_of(container, gross)
    if gross_mg is None:
        net_mg = 0 if container.emptied_on is not None else min(net_mg, there)
    if not net_mg:
        raise Refused(
            _("“%(name)s” is empty by what the book knows. Weigh it if there is something in it.")
            % {"name": container.name},
            code="empty",
            field="gross_mg",
        )
    return gross, net_mg


def _not_ahead(day: dt.date | None, field: str) -> None:
    if day is not None and day > the_club().today():
        raise Refused(_("That day is still to come."), code="day", field=field)
