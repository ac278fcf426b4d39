"""Equipment: adding it, checking it, and doubting it."""

import datetime as dt

from django.db.models import Q
from django.utils.translation import gettext as _

from batches.limits import in_force
from batches.models import Bench, Equipment, EquipmentCheck
from batches.queries.equipment import items_weighed_with
from batches.science import guards
from batches.science.instruments import deviation_ppm
from coop.command import Refused, command
from coop.models import Deed
from inventory.models import Hold, HoldSeed


@command("batches.add_equipment")
def add_equipment(
    deed: Deed, *, name: str, kind: str, resolution: int, capacity: int, u_check: int = 0, note: str = ""
) -> Equipment:
    """A scale (milligrams) or a thermometer (milli-degrees). Refused (code "taken") for a name that is in use."""
    if Equipment.objects.filter(name=name.strip()).exists():
        raise Refused(_("There is already a %(name)s. Give it another name.") % {"name": name}, code="taken")
    if resolution <= 0 or capacity <= resolution:
        raise Refused(_("Its smallest step must be above 0 and below the most it can show."), code="resolution")
    return Equipment.objects.create(
        name=name.strip(), kind=kind, resolution=resolution, capacity=capacity, u_check=u_check, note=note, deed=deed
    )


@command("batches.retire_equipment")
def retire_equipment(deed: Deed, *, equipment: Equipment) -> Equipment:
    """It is no longer offered; what was weighed with it keeps naming it."""
    Equipment.objects.filter(pk=equipment.pk, retired_at=None).update(retired_at=deed.happened_at)
    equipment.refresh_from_db()
    return equipment


@command("batches.check_equipment")
def check_equipment(
    deed: Deed, *, equipment: Equipment, reference: int, reading: int, bench: Bench | None = None
) -> EquipmentCheck:
    """A comparison with a reference: mg for a scale, milli-degrees for a thermometer. Never refused, but judged.

    Scale: fine to 0.2 % of the reference, bad above 0.5 %. Thermometer: fine to 1 degree, bad above 2.
    Defaults of bench judgement (common practice, no published source).
    """
    if reference <= 0 and equipment.kind == Equipment.Kind.SCALE:
        raise Refused(_("Give the mass of the check weight."), code="reference")
    off = reading - reference
    deviation = deviation_ppm(reading, reference) if equipment.kind == Equipment.Kind.SCALE else off
    return EquipmentCheck.objects.create(
        equipment=equipment,
        bench=bench,
        reference=reference,
        reading=reading,
        deviation=deviation,
        verdict=_verdict(equipment, reference, reading),
        deed=deed,
        happened_at=deed.happened_at,
    )


def _verdict(equipment: Equipment, reference: int, reading: int) -> str:
    limits = in_force()
    verdicts = EquipmentCheck.Verdict
    if equipment.kind == Equipment.Kind.SCALE:
        found = guards.scale_check(reading, reference, limits)
    else:
        found = guards.thermometer_check(reading - reference, limits=limits)
    return {guards.FINE: verdicts.FINE, guards.WARN: verdicts.WARN}.get(found.verdict, verdicts.BAD)


@command("batches.hold_from_instrument", gate=True)
def hold_from_instrument(deed: Deed, *, equipment: Equipment, reason: str, since: dt.datetime | None = None) -> Hold:
    """Put on hold everything weighed or measured with it since its last good check (or since `since`).

    The safe direction, so it is cheap: no second step. Refused (code "nothing") when nothing was.
    """
    last_good = equipment.checks.good().order_by("-happened_at").first()
    start = since or (last_good.happened_at if last_good else None)
    items = items_weighed_with(equipment, start)
    if not items:
        raise Refused(
            _("Nothing was weighed or measured with %(name)s since then.") % {"name": equipment}, code="nothing"
        )
    hold = Hold.objects.create(
        reason=reason[:300], began_with=equipment.name[:120], placed_by=deed, placed_at=deed.happened_at
    )
    HoldSeed.objects.bulk_create(HoldSeed(hold=hold, item_id=item) for item in sorted(items))
    return hold


def only(kind: str) -> Equipment | None:
    """The one of its kind the club has, so that a plain bench need not name it; None where there are more."""
    rows = list(Equipment.objects.filter(Q(kind=kind), retired_at=None)[:2])
    return rows[0] if len(rows) == 1 else None
