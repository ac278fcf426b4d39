"""Everything that follows from what was entered about a soak, in grams, for a page or the API to show."""

import dataclasses
from typing import Any

from batches import strength
from batches.models import Deviation, Soak
from batches.queries import balance, content, doses
from batches.queries.release import ReleaseRow, release_table
from batches.science.uniformity import Acceptance
from inventory import holds


@dataclasses.dataclass(frozen=True)
class Content:
    """The mean strip, grams; `u` standard, `expanded` U (k = 2)."""

    mean_g: float
    u_g: float
    expanded_u_g: float
    uptake_g: float
    u_uptake_g: float
    strips: int


@dataclasses.dataclass(frozen=True)
class BagContent:
    code: str
    strips: int
    content_g: float


@dataclasses.dataclass(frozen=True)
class Balance:
    poured_g: float
    dry_g: float
    bags_g: float
    retained_g: float
    returned_g: float
    losses_g: float
    unexplained_g: float
    unexplained_percent: float


@dataclasses.dataclass(frozen=True)
class Doses:
    """Whole hive doses of the bags' strips for one kind of hive; `content_g` is what a hive gets."""

    hive_kind: str
    strips_a_hive: int
    doses: int
    loose: int
    content_g: float | None


@dataclasses.dataclass(frozen=True)
class Report:
    """What cannot be known yet is None or empty."""

    strength: strength.Strength | None
    content: Content | None
    bags: list[BagContent]
    uniformity: Acceptance | None
    balance: Balance | None
    doses: list[Doses]
    table: list[ReleaseRow]
    hours: float | None
    is_held: bool
    deviations: list[Deviation]


def report_of(soak: Soak) -> Report:
    """Read the whole of a soak; a few dozen queries, whatever its size."""
    found = content.of_soak(soak)
    deviations = Deviation.objects.about(soak).select_related("soak__item", "opened__actor", "decided__actor")
    return Report(
        strength=strength.of_soak(soak),
        content=_content(found),
        bags=[BagContent(one.code, one.strips, _g(one.found.content_mg)) for one in found.bags] if found else [],
        uniformity=content.uniformity_of(soak),
        balance=_balance(soak),
        doses=_doses(soak, found),
        table=release_table(soak).rows,
        hours=soak.hours(),
        is_held=holds.is_held(soak.item),
        deviations=list(deviations),
    )


def _content(found: content.OfSoak | None) -> Content | None:
    if found is None:
        return None
    whole = found.whole
    return Content(
        mean_g=_g(whole.content_mg),
        u_g=_g(whole.u_mg),
        expanded_u_g=_g(whole.expanded_mg),
        uptake_g=_g(whole.uptake_mg),
        u_uptake_g=_g(whole.u_uptake_mg),
        strips=whole.strips,
    )


def _balance(soak: Soak) -> Balance | None:
    found = balance.of_soak(soak)
    if found is None:
        return None
    return Balance(
        poured_g=_g(found.poured_mg),
        dry_g=_g(found.dry_mg),
        bags_g=_g(found.bags_mg),
        retained_g=_g(found.retained_mg),
        returned_g=_g(found.returned_mg),
        losses_g=_g(found.losses_mg),
        unexplained_g=_g(found.found.unexplained_mg),
        unexplained_percent=float(found.found.pct_of_poured),
    )


def _doses(soak: Soak, found: content.OfSoak | None) -> list[Doses]:
    strips = sum(bag.strips for bag in soak.bags.filter(parent=None, split_off=None))
    return [
        Doses(
            one.hive_kind,
            one.strips_a_hive,
            one.doses,
            one.loose,
            _g(found.whole.content_mg * one.strips_a_hive) if found else None,
        )
        for one in doses.hive_doses(soak.bench.instructions, strips)
    ]


def _g(mass_mg: Any) -> float:
    return float(mass_mg) / 1000
