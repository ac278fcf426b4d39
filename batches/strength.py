"""The strength of solution: computed from the weighings, replaced by a titration, carried on by what is returned."""

import dataclasses
import math

from django.db import models
from django.utils.translation import gettext as _

from batches import team
from batches.models import Mix, ReturnedSolution, Soak, Solution, Weighing
from coop.models import Deed
from coop.units import PPB
from inventory.models import Item


@dataclasses.dataclass(frozen=True)
class Strength:
    """Mass fraction of dihydrate in parts per 10^9, its standard uncertainty, and where it comes from."""

    w_ppb: int
    u_ppb: int
    is_titrated: bool
    reuse: int = 0
    reheats: int = 0


def assay_of(item: Item) -> int:
    """Dihydrate in what is weighed in, parts per 10^9: the assay of acid (1 where none stands), 0 of other matter."""
    lot = getattr(item, "lot", None)
    if lot is None or item.material is None or item.material.kind != "acid":
        return 0
    return int(lot.assay_ppb or PPB)


def recompute(mix: Mix) -> Solution:
    """The mix's Solution from its weighings. A titrated strength stands; what was weighed is kept beside it."""
    rows = _weighed(mix)
    total = sum(row.mass_mg for row in rows)
    weighed = _mean(rows)
    drawn = [row.item.solution for row in rows if hasattr(row.item, "solution")]
    reuse = max((one.reuse + 1 for one in drawn), default=0)
    reheats = max((one.reheats + 1 for one in drawn), default=0)
    solution, _new = Solution.objects.get_or_create(item=mix.item)
    solution.weighed_ppb, solution.reuse, solution.reheats = weighed, reuse, reheats
    if not solution.is_titrated:
        solution.w_ppb, solution.u_ppb = weighed, _u_weighed(mix, rows, total, weighed or 0)
    solution.save()
    return solution


def weighed_ppb(mix: Mix) -> int | None:
    """The strength that the weighings give, by what is known of assays and drawn solution now."""
    return _mean(_weighed(mix))


def _weighed(mix: Mix) -> list[Weighing]:
    rows = mix.weighings.filter(mass_mg__gt=0)
    return list(rows.select_related("item__material", "item__lot", "item__solution", "scale"))


def _mean(rows: list[Weighing]) -> int | None:
    """Dihydrate over all, in parts per 10^9, halves up; None for an empty pail."""
    total = sum(row.mass_mg for row in rows)
    pure = sum(row.mass_mg * _w_of(row.item) for row in rows)
    return (2 * pure + total) // (2 * total) if total else None


def _w_of(item: Item) -> int:
    drawn = getattr(item, "solution", None)
    return int(drawn.w_ppb or 0) if drawn else assay_of(item)


def _u_weighed(mix: Mix, rows: list[Weighing], total: int, w_ppb: int) -> int:
    """The uncertainty entered for the plan or recipe; else from scale steps and what was drawn (JCGM 100:2008)."""
    entered = mix.bench.plan.get("u_w_ppb") or mix.bench.recipe.u_w_ppb
    if entered or not total:
        return int(entered)
    square = 0.0
    for row in rows:
        drawn = getattr(row.item, "solution", None)
        w = _w_of(row.item) / PPB
        step = row.scale.resolution if row.scale else 1_000
        square += 2 * (step / math.sqrt(12) * (w - w_ppb / PPB) / total) ** 2
        if drawn:
            square += (row.mass_mg / total * drawn.u_ppb / PPB) ** 2
    return round(math.sqrt(square) * PPB)


def of_soak(soak: Soak) -> Strength | None:
    """What stands in the tub: its own titration, else the mass-weighted mean of what was poured (well mixed)."""
    own = Solution.objects.filter(item=soak.item).first()
    if own is not None and own.w_ppb is not None:
        return Strength(own.w_ppb, own.u_ppb, True, own.reuse, own.reheats)
    poured = [
        (pour.mass_mg, pour.mix.item.solution)
        for pour in soak.pours.select_related("mix__item__solution")
        if hasattr(pour.mix.item, "solution") and pour.mix.item.solution.w_ppb is not None
    ]
    total = sum(mass for mass, _solution in poured)
    if not total:
        return None
    w = sum(mass * (one.w_ppb or 0) for mass, one in poured)
    u = sum(mass * one.u_ppb for mass, one in poured)
    return Strength(
        w_ppb=(2 * w + total) // (2 * total),
        u_ppb=-(-u // total),
        is_titrated=all(one.is_titrated for _mass, one in poured),
        reuse=max(one.reuse for _mass, one in poured),
        reheats=max(one.reheats for _mass, one in poured),
    )


def of_returned(returned: ReturnedSolution) -> Strength | None:
    """What went back has the strength of the tub, or of the pail, that it came from."""
    if returned.soak is not None:
        return of_soak(returned.soak)
    assert returned.mix is not None
    source = Solution.objects.filter(item=returned.mix.item).first()
    if source is None or source.w_ppb is None:
        return None
    return Strength(source.w_ppb, source.u_ppb, source.is_titrated, source.reuse, source.reheats)


def carry_on(deed: Deed, mix: Mix | None = None, soak: Soak | None = None, returned: Item | None = None) -> None:
    """After a strength changed: what was made of it follows, as far as it went; released soaks get late evidence.

    A returned solution or mix with a titration of its own keeps it.
    """
    mixes = [mix] if mix else []
    soaks = [soak] if soak else []
    if returned:
        mixes += _made_of(returned)
    text = _("a strength it was made with changed")
    seen: set[int] = set()
    while mixes or soaks:
        while mixes:
            one = mixes.pop()
            if one.item_id in seen:
                continue
            seen.add(one.item_id)
            recompute(one)
            mixes += _refresh(ReturnedSolution.objects.filter(mix=one))
            soaks += list(Soak.objects.filter(pours__mix=one).select_related("item", "bench").distinct())
        while soaks:
            tub = soaks.pop()
            if tub.item_id in seen:
                continue
            seen.add(tub.item_id)
            team.late(deed, tub, text)
            mixes += _refresh(ReturnedSolution.objects.filter(soak=tub))


def _refresh(rows: "models.QuerySet[ReturnedSolution]") -> list[Mix]:
    """Give returned solutions the strength they now have; the mixes that drew from those that changed."""
    touched: list[Mix] = []
    for row in rows.select_related("item", "soak", "mix__item"):
        solution = Solution.objects.get(item=row.item)
        strength = of_returned(row)
        if strength is None or row.item.titrations.exists() or solution.w_ppb == strength.w_ppb:
            continue
        solution.w_ppb, solution.u_ppb = strength.w_ppb, strength.u_ppb
        solution.save(update_fields=["w_ppb", "u_ppb"])
        touched += _made_of(row.item)
    return touched


def _made_of(item: Item) -> list[Mix]:
    return list(Mix.objects.filter(weighings__item=item).select_related("item", "bench__recipe").distinct())
