"""Bags after the bench: a part of a bag, and a bag that is taken out of its soak's release."""

from django.utils.translation import gettext as _

from batches import parts
from batches.models import Bag, Soak
from coop.command import Refused, command
from coop.models import Deed
from inventory.models import Holding, Place


@command("batches.split_bag", gate=True)
def split_bag(deed: Deed, *, bag: Bag, strips: int, place: Place | None = None, code: str | None = None) -> Bag:
    """A part of a bag with a code of its own, where the bag lies. Refused as `batches.parts.split` says."""
    return parts.split(deed, bag, strips, place or lies_at(bag), code)


def lies_at(bag: Bag) -> Place:
    """The shed where most of a bag lies. Refused (code "not_here") when none of it does."""
    held = (
        Holding.objects.filter(item=bag.item, quantity__gt=0, place__kind=Place.Kind.SHED)
        .select_related("place")
        .order_by("-quantity", "place_id")
        .first()
    )
    if held is None:
        raise Refused(_("%(code)s is not on a shelf.") % {"code": bag.item.spaced_code}, code="not_here")
    return held.place


@command("batches.split_off", gate=True)
def split_off(deed: Deed, *, bag: Bag, reason: str) -> Bag:
    """Take a bag out of its soak's release, so that the rest can be judged without it: it is not handed over.

    The safe direction, before or after the release. Refused (code "part") for a part, "state" twice.
    """
    if bag.parent_id is not None:
        raise Refused(_("Split off the whole bag that this is a part of."), code="part")
    if bag.split_off_id is not None:
        raise Refused(_("This bag was split off already."), code="state")
    if bag.soak.state == Soak.State.ABANDONED:
        raise Refused(_("This soak was abandoned; none of it goes out."), code="state")
    bag.split_off, bag.split_reason = deed, reason[:300]
    bag.save(update_fields=["split_off", "split_reason"])
    return bag
