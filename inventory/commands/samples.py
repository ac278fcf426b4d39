"""A few blanks of a lot on the scale: what one weighs dry, and what it takes up."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _

from coop import wording
from coop.command import Refused, command
from coop.models import Deed
from inventory.models import Item, Lot, Material, StripSample
from inventory.science import strips
from inventory.science.strips import Together, Weighed

MOST_STRIPS = 100
Given = Sequence[int] | Mapping[str, int]


@command("inventory.measure_strips")
def measure_strips(
    deed: Deed, *, item: Item, dry_mg: Given, wet_mg: Given = (), note: str = "", confirmed: bool = False
) -> StripSample:
    """Keep a sample of blanks and write its means to the lot: dry mass, and uptake where they were weighed wet too.

    Strip by strip in milligrams, wet ones in the order of the dry ones, or {"count", "total_mg"} of strips weighed
    together. The newest sample counts. Refused: "kind" for what is no blank, "strips" for none, "pairs" where wet and
    dry are not as many; "did_you_mean" unless `confirmed` for a strip of an unlikely mass, or not heavier wet than dry.
    """
    lot = Lot.objects.select_related("item__material").get(pk=item.pk) if hasattr(item, "lot") else None
    if lot is None or lot.item.material is None or lot.item.material.kind != Material.Kind.STRIP:
        raise Refused(_("Only a lot of strip blanks is measured so."), code="kind")
    dry, wet = _weighed(dry_mg, "dry_mg"), _weighed(wet_mg, "wet_mg")
    if not strips.count_of(dry):
        raise Refused(_("Weigh at least one dry strip."), code="strips", field="dry_mg")
    if strips.count_of(wet) not in (0, strips.count_of(dry)):
        raise Refused(
            _("%(dry)s were weighed dry: weigh the same ones wet, or none.")
            % {"dry": wording.counted(strips.count_of(dry))},
            code="pairs",
            field="wet_mg",
        )
    doubts = [] if confirmed else _doubts(dry, wet)
    if doubts:
        raise Refused(" ".join(doubts), code="did_you_mean", field="dry_mg")
    lot.dry_strip_mg = strips.figure(dry).mean_mg
    if strips.count_of(wet):
        lot.uptake_mg = strips.uptake(dry, wet).mean_mg
    lot.save(update_fields=["dry_strip_mg", "uptake_mg"])
    return StripSample.objects.create(
        lot=lot, dry_mg=_kept(dry), wet_mg=_kept(wet), note=note.strip()[:300], deed=deed, happened_at=deed.happened_at
    )


def read(kept: Any) -> Weighed:
    """What a StripSample keeps, as science takes it."""
    return Together(kept["count"], kept["total_mg"]) if isinstance(kept, dict) else list(kept)


def _kept(weighed: Weighed) -> Any:
    if isinstance(weighed, Together):
        return {"count": weighed.count, "total_mg": weighed.total_mg}
    return list(weighed)


def _weighed(given: Given, field: str) -> Weighed:
    found: Weighed = Together(given["count"], given["total_mg"]) if isinstance(given, Mapping) else list(given)
    masses = [found.total_mg] if isinstance(found, Together) else found
    if strips.count_of(found) > MOST_STRIPS or any(mass <= 0 for mass in masses):
        raise Refused(
            _("A sample is 1 to %(most)d strips, each heavier than nothing.") % {"most": MOST_STRIPS},
            code="strips",
            field=field,
        )
    if isinstance(found, Together) and found.count <= 0:
        raise Refused(_("Say how many strips were weighed together."), code="strips", field=field)
    return found


def _doubts(dry: Weighed, wet: Weighed) -> list[str]:
    found = []
    least, most = wording.mass_g(strips.LEAST_MG), wording.mass_g(strips.MOST_MG)
    outside = strips.numbers_outside(dry, strips.LEAST_MG, strips.MOST_MG)
    if outside:
        words = {"numbers": wording.listed(outside), "least": least, "most": most}
        if isinstance(dry, Together):
            found.append(_("One dry strip weighs %(least)s to %(most)s. Is the count right, and the unit?") % words)
        else:
            found.append(_("Dry strip %(numbers)s: one weighs %(least)s to %(most)s. Is the unit right?") % words)
    if strips.count_of(wet):
        found += _wet_doubts(dry, wet)
    return [*found, _("If it is so, confirm it.")] if found else []


def _wet_doubts(dry: Weighed, wet: Weighed) -> list[str]:
    found = []
    outside = strips.numbers_outside(wet, 1, strips.MOST_WET_MG)
    if outside:
        found.append(_("A wet strip heavier than %(most)s is unlikely.") % {"most": wording.mass_g(strips.MOST_WET_MG)})
    if isinstance(dry, Together) or isinstance(wet, Together):
        if strips.uptake(dry, wet).mean_mg <= 0:
            found.append(_("Wet they are not heavier than dry. Are the two swapped?"))
    else:
        light = [number for number, (one, two) in enumerate(zip(dry, wet, strict=True), 1) if two <= one]
        if light:
            found.append(
                _("Strip %(numbers)s is not heavier wet than dry. Are they in order?")
                % {"numbers": wording.listed(light)}
            )
    return found
