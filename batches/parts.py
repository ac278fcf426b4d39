"""Parts of bags: the writing that `split_bag` here and hand-overs above share. Runs inside a command with the gate."""

from django.utils.translation import gettext as _

from batches.models import Bag
from coop import wording
from coop.command import Refused
from coop.models import Deed
from inventory import holds, ledger
from inventory.ledger import Move, new_item
from inventory.models import Item, Movement, Place

Cause = Movement.Cause


def split(deed: Deed, bag: Bag, strips: int, place: Place, code: str | None = None) -> Bag:
    """So many strips of a bag, where it lies, become a bag with a code of its own.

    Inherits release, strip content and best-before. Refused: code "held", "short" (fewer strips lie there),
    "whole" (all of it: hand over the bag itself).
    """
    holds.refuse_if_held(bag.item)
    there = ledger.quantity_at(bag.item, place)
    if strips <= 0 or strips > there:
        raise Refused(
            _("%(code)s has %(there)s here, %(asked)s were asked for.")
            % {"code": bag.item.spaced_code, "there": wording.counted(there), "asked": wording.counted(strips)},
            code="short",
            on_hand=there,
        )
    if strips == there:
        raise Refused(_("That is all of %(code)s: take the bag itself.") % {"code": bag.item.spaced_code}, code="whole")
    item = new_item(
        deed, kind=Item.Kind.BAG, unit="pieces", code=code, best_before=bag.item.best_before, made_at=deed.happened_at
    )
    ledger.post(
        deed,
        [
            Move(bag.item, place, Place.objects.used_in(item), strips, Cause.SPLIT),
            Move(item, Place.objects.the(Place.Kind.MADE), place, strips, Cause.SPLIT),
        ],
        fact=False,
    )
    return Bag.objects.create(
        item=item,
        soak=bag.soak,
        parent=bag.whole,
        strips=strips,
        has_label=True,
        deed=deed,
        happened_at=deed.happened_at,
    )
