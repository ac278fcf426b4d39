"""Gathers what the record knows of a soak into the facts that science's release table judges."""

import datetime as dt
from collections.abc import Sequence
from typing import Any

from batches import strength, team
from batches.limits import of_bench
from batches.models import Mix, Soak, Titration, Weighing
from batches.queries import balance
from batches.queries.instruments import of_soak as instruments_of
from batches.science.instruments import Peak, Timed, peak
from batches.science.release import BagFact, Facts, InputFact
from coop.models import Person, the_club
from inventory import ancestry, holds
from inventory.models import Item, Lot

STEP_MG = 1_000


def facts_of(soak: Soak, releaser: Person | None = None) -> Facts:
    """Everything the table asks for. `releaser`: who would decide; without one, as if an outsider did."""
    mixes = poured_mixes(soak)
    bags = [bag for bag in soak.bags.filter(parent=None).select_related("item", "scale") if bag.split_off_id is None]
    drawn = _drawn(mixes)
    strong, tub = strength.of_soak(soak), balance.of_soak(soak)
    marked = list(soak.marked.order_by("n"))
    low, high = room_of(soak)
    recipe = soak.bench.recipe
    heat, hottest_at = _peak(mixes)
    return Facts(
        recipe_w_ppb=recipe.w_ppb,
        uptake_aim_mg=recipe.uptake_mg,
        content_low_mg=recipe.content_low_mg,
        content_high_mg=recipe.content_high_mg,
        inputs=_inputs(soak, mixes),
        instruments=instruments_of(soak, mixes, bags),
        w_ppb=strong.w_ppb if strong else None,
        u_w_ppb=strong.u_ppb if strong else 0,
        is_titrated=strong.is_titrated if strong else False,
        has_titrated_after=_titrated_after(soak, mixes, hottest_at),
        peak=heat,
        clarity_at_pour=[_clarity_at_pour(soak, mix) for mix in mixes],
        clarity_at_lift=soak.clarity,
        soak_hours=soak.hours(),
        room_low_mc=low,
        room_high_mc=high,
        poured_mg=tub.found.poured_mg if tub else 0,
        in_mg=tub.found.in_mg if tub else 0,
        out_mg=tub.found.out_mg if tub else 0,
        bags=[BagFact(bag.item.spaced_code, bag.strips, bag.net_mg or 0) for bag in bags],
        steps_mg=[bag.scale.resolution if bag.scale else STEP_MG for bag in bags for _weighing in range(2)],
        marked=len(marked),
        dry_mg=[one.dry_mg for one in marked],
        wet_mg=[one.wet_mg for one in marked if one.wet_mg is not None],
        reuse=strong.reuse if strong else 0,
        drawn_reheats=max((one.reheats for one in drawn), default=0),
        is_drawn_titrated=bool(strong and strong.is_titrated)
        or (bool(drawn) and all(one.is_titrated for one in drawn)),
        pieces=balance.pieces_of(soak),
        has_labels=all(bag.has_label for bag in bags),
        has_sample=soak.samples.exists(),
        is_releaser_of_team=releaser is not None and releaser.pk in team.team_of(soak.bench),
    )


def poured_mixes(soak: Soak) -> list[Mix]:
    """The mixes of which something was poured into this tub."""
    return list(
        Mix.objects.filter(pours__soak=soak).select_related("item", "bench").distinct().order_by("number", "id")
    )


def _drawn(mixes: Sequence[Mix]) -> list[Any]:
    """The Solution rows of what returned solution the mixes drew."""
    rows = Weighing.objects.filter(mix__in=mixes, mass_mg__gt=0, item__kind=Item.Kind.RETURNED)
    return [row.item.solution for row in rows.select_related("item__solution")]


def _inputs(soak: Soak, mixes: Sequence[Mix]) -> list[InputFact]:
    """What went in directly, with its date on the day it did; above it every acid, and every hold that reaches it."""
    rows = Weighing.objects.filter(mix__in=mixes, mass_mg__gt=0).select_related("item").order_by("id")
    used: dict[int, tuple[Item, dt.datetime]] = {}
    for row in rows:
        used.setdefault(row.item_id, (row.item, row.happened_at))
    if not used:
        return []
    used[soak.blanks_id] = (soak.blanks, soak.laid_at)
    held = holds.on_hold([*used, soak.item_id, *(mix.item_id for mix in mixes)])
    unverified = _unverified(soak)
    club = the_club()
    facts = [
        InputFact(
            item.spaced_code,
            is_on_hold=item.pk in held,
            past_best_before_d=(club.day_of(at) - item.best_before).days if item.best_before else None,
            is_form_verified=item.pk not in unverified,
        )
        for item, at in used.values()
    ]
    facts += [InputFact(item.spaced_code, is_form_verified=False) for pk, item in unverified.items() if pk not in used]
    own = [soak.item, *(mix.item for mix in mixes)]
    return facts + [InputFact(item.spaced_code, is_on_hold=True) for item in own if item.pk in held]


def _unverified(soak: Soak) -> dict[int, Item]:
    """Acid anywhere above that no certificate or assay shows to be the dihydrate."""
    lots = Lot.objects.filter(item__in=ancestry.up([soak.item_id]), item__material__kind="acid").select_related("item")
    return {lot.item_id: lot.item for lot in lots if not lot.is_form_verified}


def _peak(mixes: Sequence[Mix]) -> tuple[Peak | None, dt.datetime | None]:
    """The hottest of the mixes, the longest time above the ceiling among them, and when it was hottest."""
    found: list[Peak] = []
    hottest: tuple[int, dt.datetime] | None = None
    for mix in mixes:
        rows = list(mix.readings.order_by("happened_at", "id"))
        if not rows:
            return None, None
        ceiling = of_bench(mix.bench).ceiling_mc
        own = peak([Timed(one.happened_at.timestamp(), one.corrected_mc, one.expanded_mc) for one in rows], ceiling)
        assert own is not None
        found.append(own)
        last = max((one.corrected_mc, one.happened_at) for one in rows)
        hottest = last if hottest is None else max(hottest, last)
    if not found or hottest is None:
        return None, None
    top = max(found, key=lambda one: (one.corrected_mc, one.expanded_mc))
    return Peak(top.corrected_mc, top.expanded_mc, max(one.minutes_above for one in found)), hottest[1]


def _titrated_after(soak: Soak, mixes: Sequence[Mix], hottest_at: dt.datetime | None) -> bool:
    """A titration of the tub or of a mix in it, after the peak, and after the lift where the tub was not clear then."""
    moments = [one for one in (hottest_at, soak.lifted_at if soak.clarity not in ("", "clear") else None) if one]
    if not moments:
        return False
    items = [soak.item_id, *(mix.item_id for mix in mixes)]
    return Titration.objects.filter(item__in=items, happened_at__gte=max(moments)).exists()


def _clarity_at_pour(soak: Soak, mix: Mix) -> str:
    """As seen at the pour, else at the last look into the pail before it."""
    pour = soak.pours.filter(mix=mix).order_by("happened_at", "id").first()
    if pour is None or pour.clarity:
        return pour.clarity if pour else ""
    seen = (
        mix.readings.filter(happened_at__lte=pour.happened_at).exclude(clarity="").order_by("happened_at", "id").last()
    )
    return seen.clarity if seen else ""


def room_of(soak: Soak) -> tuple[int | None, int | None]:
    """The lowest and the highest of the lift and of the looks."""
    looks = list(soak.looks.values_list("min_mc", "max_mc"))
    lows = [one for one in (soak.min_mc, *(low for low, _high in looks)) if one is not None]
    highs = [one for one in (soak.max_mc, *(high for _low, high in looks)) if one is not None]
    return min(lows, default=None), max(highs, default=None)
