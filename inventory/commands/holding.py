"""Doubt: put on hold, lift, and free one thing from one hold. All behind the gate, so that no bag slips out beside."""

from collections.abc import Sequence

from django.utils.translation import gettext as _

from coop.command import Refused, command
from coop.models import Deed
from inventory import holds
from inventory.models import Freed, Hold, HoldSeed, Item


@command("inventory.place_hold", gate=True)
def place_hold(deed: Deed, *, items: Sequence[Item], reason: str, began_with: str = "") -> Hold:
    """Put things, and everything made from them, on hold. The safe direction: only an empty reason is refused.

    `began_with` says in words what the doubt began with when that is not an item, such as an instrument.
    """
    seeds = list(dict.fromkeys(items))
    if not seeds:
        raise Refused(_("Say what to put on hold: nothing was named."), code="nothing")
    hold = Hold.objects.create(
        reason=_reason(reason), began_with=began_with.strip(), placed_by=deed, placed_at=deed.happened_at
    )
    HoldSeed.objects.bulk_create([HoldSeed(hold=hold, item=item) for item in seeds])
    return hold


@command("inventory.lift_hold", gate=True)
def lift_hold(deed: Deed, *, hold: Hold, reason: str) -> Hold:
    """End a hold for everything it reaches. Refused ("lifted_already") when somebody lifted it before."""
    lifted = Hold.objects.active().filter(pk=hold.pk)
    if not lifted.update(lifted_by=deed, lifted_at=deed.happened_at, lift_reason=_reason(reason)):
        raise Refused(_("This hold was lifted already. Nothing was changed."), code="lifted_already")
    hold.refresh_from_db()
    return hold


@command("inventory.free_from_hold", gate=True)
def free_from_hold(deed: Deed, *, hold: Hold, item: Item, reason: str) -> Freed:
    """Sign one thing free from one hold, for its contents as they are now: what goes in later voids it.

    Other holds, and this hold by another path round the thing, still reach what they reach. Refused:
    "lifted_already", "freed_already", "not_reached".
    """
    if not Hold.objects.active().filter(pk=hold.pk).exists():
        raise Refused(_("This hold was lifted already. Nothing was changed."), code="lifted_already")
    if Freed.objects.filter(hold=hold, item=item, voided_by=None).exists():
        raise Refused(_("%(code)s is free from this hold already.") % {"code": item.spaced_code}, code="freed_already")
    if hold not in holds.holds_of(item):
        raise Refused(_("This hold does not reach %(code)s.") % {"code": item.spaced_code}, code="not_reached")
    return Freed.objects.create(hold=hold, item=item, reason=_reason(reason), deed=deed)


def _reason(text: str) -> str:
    if not text.strip():
        raise Refused(_("Write why, so that others can follow it."), code="reason", field="reason")
    return text.strip()
