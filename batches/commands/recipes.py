"""Recipes and instructions: each change writes a new version."""

from collections.abc import Mapping

from django.db.models import Max
from django.utils.translation import gettext as _

from batches.models import Instructions, InstructionsDose, Recipe
from coop.command import Refused, command
from coop.models import Deed, HiveKind


@command("batches.write_recipe")
def write_recipe(
    deed: Deed,
    *,
    name: str,
    w_ppb: int,
    uptake_mg: int,
    content_low_mg: int,
    content_high_mg: int,
    tub_mg: int,
    tub_strips: int,
    u_w_ppb: int = 0,
    soak_hours: int = 48,
    steps: str = "",
    source: str = "",
) -> Recipe:
    """A recipe, or the next version of the one with this name; what benches used before stays as it was.

    Refused (code "band") where the strength or the content band is impossible.
    """
    if not 0 < w_ppb < 1_000_000_000 or min(uptake_mg, tub_mg, tub_strips, soak_hours) <= 0:
        raise Refused(_("A recipe needs a strength between 0 and 1 and amounts above 0."), code="band")
    if not 0 < content_low_mg < content_high_mg:
        raise Refused(_("The lower end of the content band must lie below the upper end."), code="band")
    return Recipe.objects.create(
        name=name.strip(),
        version=_next(Recipe, name),
        w_ppb=w_ppb,
        uptake_mg=uptake_mg,
        content_low_mg=content_low_mg,
        content_high_mg=content_high_mg,
        tub_mg=tub_mg,
        tub_strips=tub_strips,
        u_w_ppb=u_w_ppb,
        soak_hours=soak_hours,
        steps=steps,
        source=source,
        deed=deed,
    )


@command("batches.write_instructions")
def write_instructions(
    deed: Deed,
    *,
    name: str,
    days: int,
    doses: Mapping[int, int],
    source: str,
    supers_text: str = "",
    withdrawal_text: str = "",
    text: str = "",
) -> Instructions:
    """Instructions, or their next version: `doses` maps the id of a hive kind to strips for one hive.

    Refused (code "source") without a source: no dose is built in, and none stands without saying where it is from;
    (code "doses") without a dose.
    """
    if not source.strip():
        raise Refused(
            _("Say where this dose comes from: a label, a permit, a paper, a decision of the club."), code="source"
        )
    kinds = HiveKind.objects.in_bulk([int(kind) for kind in doses])
    if not kinds or len(kinds) != len(doses) or min(doses.values()) <= 0 or days <= 0:
        raise Refused(
            _("Give the strips for at least one kind of hive on the club's list, and the days."), code="doses"
        )
    written = Instructions.objects.create(
        name=name.strip(),
        version=_next(Instructions, name),
        days=days,
        supers_text=supers_text,
        withdrawal_text=withdrawal_text,
        source=source,
        text=text,
        deed=deed,
    )
    InstructionsDose.objects.bulk_create(
        InstructionsDose(instructions=written, hive_kind=kinds[int(kind)], strips=strips)
        for kind, strips in doses.items()
    )
    return written


def _next(model: type[Recipe] | type[Instructions], name: str) -> int:
    newest = model._default_manager.filter(name=name.strip()).aggregate(newest=Max("version"))["newest"]
    return (newest or 0) + 1
