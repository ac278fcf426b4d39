"""Which instruments a soak's figures come from, and what their checks before and after say."""

import dataclasses
import datetime as dt
from collections.abc import Iterable, Sequence

from django.utils.translation import gettext as _

from batches.models import Bag, Equipment, EquipmentCheck, Mix, PailCheck, Pour, Reading, Soak, Weighing
from batches.science.release import InstrumentFact

#: a scale is checked on the day: a check of an earlier day is none
ON_THE_DAY = dt.timedelta(hours=24)
BAD = EquipmentCheck.Verdict.BAD


@dataclasses.dataclass
class Use:
    """From when to when an instrument was used for this soak."""

    first: dt.datetime
    last: dt.datetime

    def widen(self, at: dt.datetime) -> None:
        self.first, self.last = min(self.first, at), max(self.last, at)


def of_soak(soak: Soak, mixes: Sequence[Mix], bags: Sequence[Bag]) -> list[InstrumentFact]:
    """Scales of what was weighed and thermometers of what was read, each with its checks.

    What was weighed anew on another scale names that one, and no longer the first. A figure without a named instrument
    asks for a reason.
    """
    scales, without_scale = _uses(_weighed(soak, mixes, bags))
    thermometers, without_thermometer = _uses(
        (one.thermometer, one.happened_at)
        for one in Reading.objects.filter(mix__in=mixes).select_related("thermometer")
    )
    facts = [_scale(scale, use) for scale, use in scales.items()]
    facts += [_thermometer(one, use) for one, use in thermometers.items()]
    if without_scale:
        facts.append(InstrumentFact(_("a scale that was not named"), None, "fine"))
    if without_thermometer and not thermometers:
        facts.append(InstrumentFact(_("a thermometer that was not named"), None, "fine"))
    return facts


def _weighed(soak: Soak, mixes: Sequence[Mix], bags: Sequence[Bag]) -> Iterable[tuple[Equipment | None, dt.datetime]]:
    """Every weighing that counts, with its scale. A pail or pour that names none is judged by the balance."""
    for one in Weighing.objects.filter(mix__in=mixes, mass_mg__gt=0).select_related("scale", "corrected"):
        yield one.scale, one.corrected.happened_at if one.corrected else one.happened_at
    for check in PailCheck.objects.filter(mix__in=mixes, scale__isnull=False).select_related("scale"):
        yield check.scale, check.happened_at
    for pour in Pour.objects.filter(soak=soak, scale__isnull=False).select_related("scale"):
        yield pour.scale, pour.happened_at
    for bag in bags:
        yield bag.scale, bag.happened_at
    for strip in soak.marked.select_related("dry_scale", "wet_scale"):
        yield strip.dry_scale, strip.dry_at
        if strip.wet_at is not None:
            yield strip.wet_scale, strip.wet_at


def _uses(rows: Iterable[tuple[Equipment | None, dt.datetime]]) -> tuple[dict[Equipment, Use], bool]:
    found: dict[Equipment, Use] = {}
    is_any_without = False
    for equipment, at in rows:
        if equipment is None:
            is_any_without = True
        elif equipment in found:
            found[equipment].widen(at)
        else:
            found[equipment] = Use(at, at)
    return found, is_any_without


def _scale(scale: Equipment, use: Use) -> InstrumentFact:
    """Before: the last check of the day before its first use. After: the first from its last use on; a bad one between
    the two counts as after."""
    checks = scale.checks.order_by("happened_at", "id")
    before = checks.filter(happened_at__lte=use.first, happened_at__gte=use.first - ON_THE_DAY).last()
    after = checks.filter(happened_at__gte=use.last).first()
    between = checks.filter(happened_at__gt=use.first, happened_at__lt=use.last, verdict=BAD).last()
    worst = between or after
    return InstrumentFact(scale.name, before.verdict if before else None, worst.verdict if worst else None)


def _thermometer(thermometer: Equipment, use: Use) -> InstrumentFact:
    before = thermometer.checks.before(use.first).order_by("happened_at", "id").last()
    after = thermometer.checks.filter(happened_at__gte=use.last, verdict=BAD).order_by("happened_at", "id").first()
    return InstrumentFact(
        thermometer.name, before.verdict if before else None, after.verdict if after else None, needs_after=False
    )
