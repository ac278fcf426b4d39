"""What happens to stock between the door and the bench: drawn, moved, discarded, found. Facts: kept, never refused.

When the book held less than went out, the rest becomes found stock by name, with a question that somebody settles. Only
an amount that is both more than the book has there and more than is usual at once is asked about first.
"""

from django.utils.translation import gettext as _

from coop.command import Refused, command
from coop.models import Deed
from inventory import containers, holds, ledger
from inventory.models import Item, Movement, Place, Question

Cause = Movement.Cause


@command("inventory.draw")
def draw(deed: Deed, *, item: Item, place: Place, quantity: int, note: str = "", confirmed: bool = False) -> Movement:
    """Something was used outside a batch: cleaning, a trial, a gift. Milligrams or pieces, as the item is counted.

    A thing that is on hold was drawn all the same: it is kept, and questioned.
    """
    used = Place.objects.the(Place.Kind.USED)
    out(item, place, quantity, confirmed)
    movement = _post(deed, ledger.Move(item, place, used, quantity, Cause.DRAW, note.strip()))
    reached = holds.holds_of(item)
    if reached:
        text = _("%(amount)s of %(code)s were drawn while it was on hold: %(reason)s") % {
            "amount": ledger.amount(quantity, item),
            "code": item.spaced_code,
            "reason": reached[0].reason,
        }
        Question.objects.create(item=item, kind=Question.Kind.HELD, text=text[:300], movement=movement, deed=deed)
    return movement


@command("inventory.transfer")
def transfer(
    deed: Deed,
    *,
    item: Item,
    source: Place,
    target: Place,
    quantity: int,
    note: str = "",
    confirmed: bool = False,
) -> Movement:
    """Something was carried from one shed, or quarantine, to another. What is on hold may be carried: it stays held.

    The containers of a lot go along when nothing of it is left where they stood.
    """
    if source == target:
        raise Refused(_("It is there already. Choose another shed."), code="place", field="target")
    open_store(target)
    out(item, source, quantity, confirmed)
    movement = _post(deed, ledger.Move(item, source, target, quantity, Cause.TRANSFER, note.strip()))
    containers.follow(item, source, target)
    return movement


@command("inventory.discard")
def discard(
    deed: Deed,
    *,
    item: Item,
    place: Place,
    quantity: int,
    cause: str = Cause.DISCARD,
    note: str = "",
    confirmed: bool = False,
) -> Movement:
    """Something was thrown away (it is destroyed) or spilt (it is lost).

    A spill with a word for the incident book is inventory.commands.incidents.spill.
    """
    ends = {Cause.DISCARD: Place.Kind.DESTROYED, Cause.SPILL: Place.Kind.LOST}
    if cause not in ends:
        raise Refused(_("Say whether it was discarded or spilt."), code="cause", field="cause")
    end = Place.objects.the(ends[Cause(cause)])
    out(item, place, quantity, confirmed)
    return _post(deed, ledger.Move(item, place, end, quantity, cause, note.strip()))


@command("inventory.find")
def find(deed: Deed, *, item: Item, place: Place, quantity: int, note: str, confirmed: bool = False) -> Movement:
    """Something stood in a shed that nobody had in the book. `note` says what is known: it settles the question.

    Refused: "note" without one.
    """
    note = note.strip()
    if not note:
        raise Refused(_("Write what is known about it: where it stood, and why it was not in the book."), code="note",
                      field="note")  # fmt: skip
    likely(item, _some(quantity), 0, confirmed)
    found = Place.objects.the(Place.Kind.FOUND)
    movement = _post(deed, ledger.Move(item, found, in_store(place), quantity, Cause.FOUND, note))
    text = _("%(amount)s of %(code)s stood in %(shed)s and was not in the book.") % {
        "amount": ledger.amount(quantity, item),
        "code": item.spaced_code,
        "shed": place.words,
    }
    Question.objects.create(
        item=item,
        kind=Question.Kind.FOUND,
        text=text[:300],
        movement=movement,
        deed=deed,
        answer=note[:300],
        settled_by=deed,
    )
    return movement


def in_store(place: Place) -> Place:
    """A shed or quarantine, or Refused: benches, members and hives have their own ways."""
    if place.kind not in Place.IN_STORE:
        raise Refused(_("Choose a shed: what is elsewhere is moved where it is."), code="place", field="place")
    return place


def open_store(place: Place) -> Place:
    """A shed in use, or quarantine: only there something is carried to."""
    if place.is_closed:
        raise Refused(
            _("%(shed)s is no longer used. Choose another shed.") % {"shed": place.name}, code="place", field="target"
        )
    return in_store(place)


def likely(item: Item, quantity: int, there: int, confirmed: bool, field: str = "quantity") -> None:
    """Refused "did_you_mean", once, for more than the book has there and more than is usual at once."""
    most = item.material.most_at_once if item.material else None
    if confirmed or most is None or quantity <= max(most, there):
        return
    raise Refused(
        _("%(quantity)s is more than usual (up to %(most)s). Is the unit right? Then confirm it.")
        % {"quantity": ledger.amount(quantity, item), "most": ledger.amount(most, item)},
        code="did_you_mean",
        field=field,
    )


def out(item: Item, place: Place, quantity: int, confirmed: bool) -> None:
    """What a fact that takes something out of a store place must be, to be understood."""
    likely(item, _some(quantity), ledger.quantity_at(item, in_store(place)), confirmed)


def _some(quantity: int) -> int:
    if quantity <= 0:
        raise Refused(_("Say how much: more than nothing."), code="quantity", field="quantity")
    return quantity


def _post(deed: Deed, move: ledger.Move) -> Movement:
    return ledger.post(deed, [move], fact=True).movements[0]
