"""What happens to stock between the door and the bench: drawn, moved, discarded. Facts: kept, never refused.

When the book held less than went out, the rest becomes found stock by name, with a question that somebody settles.
"""

from django.utils.translation import gettext as _

from coop.command import Refused, command
from coop.models import Deed
from inventory import holds, ledger
from inventory.models import Item, Movement, Place, Question

Cause = Movement.Cause


@command("inventory.draw")
def draw(deed: Deed, *, item: Item, place: Place, quantity: int, note: str = "") -> Movement:
    """Something was used outside a batch: cleaning, a trial, a gift. Milligrams or pieces, as the item is counted.

    A thing that is on hold was drawn all the same: it is kept, and questioned.
    """
    used = Place.objects.the(Place.Kind.USED)
    movement = _post(deed, ledger.Move(item, in_store(place), used, _some(quantity), Cause.DRAW, note.strip()))
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
def transfer(deed: Deed, *, item: Item, source: Place, target: Place, quantity: int, note: str = "") -> Movement:
    """Something was carried from one shed, or quarantine, to another. What is on hold may be carried: it stays held."""
    if source == target:
        raise Refused(_("It is there already. Choose another shed."), code="place", field="target")
    if target.is_closed:
        raise Refused(
            _("%(shed)s is no longer used. Choose another shed.") % {"shed": target.name}, code="place", field="target"
        )
    return _post(
        deed, ledger.Move(item, in_store(source), in_store(target), _some(quantity), Cause.TRANSFER, note.strip())
    )


@command("inventory.discard")
def discard(
    deed: Deed, *, item: Item, place: Place, quantity: int, cause: str = Cause.DISCARD, note: str = ""
) -> Movement:
    """Something was thrown away (it is destroyed) or spilt (it is lost)."""
    ends = {Cause.DISCARD: Place.Kind.DESTROYED, Cause.SPILL: Place.Kind.LOST}
    if cause not in ends:
        raise Refused(_("Say whether it was discarded or spilt."), code="cause", field="cause")
    end = Place.objects.the(ends[Cause(cause)])
    return _post(deed, ledger.Move(item, in_store(place), end, _some(quantity), cause, note.strip()))


def in_store(place: Place) -> Place:
    """A shed or quarantine, or Refused: benches, members and hives have their own ways."""
    if place.kind not in Place.IN_STORE:
        raise Refused(_("Choose a shed: what is elsewhere is moved where it is."), code="place", field="place")
    return place


def _some(quantity: int) -> int:
    if quantity <= 0:
        raise Refused(_("Say how much: more than nothing."), code="quantity", field="quantity")
    return quantity


def _post(deed: Deed, move: ledger.Move) -> Movement:
    return ledger.post(deed, [move], fact=True).movements[0]
