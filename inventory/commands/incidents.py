"""The incident book: a spill with its movement, a splash without one. Written once; what is wrong is written anew."""

from django.utils.translation import gettext as _

from coop.command import Refused, command
from coop.models import Deed, the_club
from inventory import ledger
from inventory.commands.stock import in_store, out
from inventory.models import Container, Incident, Item, Movement, Place


@command("inventory.spill")
def spill(
    deed: Deed,
    *,
    item: Item,
    place: Place,
    quantity: int,
    what: str,
    people: str = "",
    done: str = "",
    container: Container | None = None,
    confirmed: bool = False,
) -> Incident:
    """Something was spilt: the movement, and the word for the incident book, in one deed.

    `container` is the drum it came from: what it weighs goes down by what was spilt, and it is empty when nothing is
    left. Refused: "what" without a word, "container" for one that is of another lot or stands elsewhere.
    """
    _check(what)
    out(item, place, quantity, confirmed)
    if container is not None:
        _check_container(container, item, place)
    lost = Place.objects.the(Place.Kind.LOST)
    move = ledger.Move(item, place, lost, quantity, Movement.Cause.SPILL, what.strip()[:300])
    movement = ledger.post(deed, [move], fact=True).movements[0]
    if container is not None and item.unit == "mass":
        _take_from(container, quantity, deed)
    return _write(deed, place, what, people, done, movement)


@command("inventory.note_incident")
def note_incident(deed: Deed, *, what: str, people: str = "", done: str = "", place: Place | None = None) -> Incident:
    """A word for the incident book without a movement: a splash, a fall, a near thing. Refused: "what" without one."""
    _check(what)
    return _write(deed, None if place is None else in_store(place), what, people, done, None)


def _write(deed: Deed, place: Place | None, what: str, people: str, done: str, movement: Movement | None) -> Incident:
    return Incident.objects.create(
        place=place,
        what=what.strip(),
        people=people.strip(),
        done=done.strip(),
        movement=movement,
        deed=deed,
        happened_at=deed.happened_at,
    )


def _check(what: str) -> None:
    if not what.strip():
        raise Refused(_("Write what happened, in a few words."), code="what", field="what")


def _check_container(container: Container, item: Item, place: Place) -> None:
    if container.lot_id != item.pk:
        raise Refused(
            _("Container “%(name)s” is of another lot.") % {"name": container.name},
            code="container",
            field="container",
        )
    if container.place_id not in (None, place.pk):
        raise Refused(
            _("By the book “%(name)s” stands elsewhere. Choose its shed, or leave the container empty.")
            % {"name": container.name},
            code="container",
            field="container",
        )


def _take_from(container: Container, quantity: int, deed: Deed) -> None:
    """What was spilt is no longer in the drum; of one that was never weighed nobody knows what is left."""
    if container.gross_mg is None or container.tare_mg is None or container.emptied_on is not None:
        return
    left = container.gross_mg - quantity
    container.gross_mg = max(left, container.tare_mg)
    container.emptied_on = the_club().day_of(deed.happened_at) if left <= container.tare_mg else None
    container.save(update_fields=["gross_mg", "emptied_on"])
