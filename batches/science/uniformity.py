"""Uniformity of the marked strips by the acceptance value of USP <905> = Ph. Eur. 2.9.40 = JP 6.02 (harmonised).

AV = |M - x| + k s. A standard for medicines, borrowed as the club's own yardstick: no claim of compliance. It speaks of
the strips tested, not of the lot (ASTM E2810, abstract). Units are percent of the uptake aimed at.
"""

import statistics
from collections.abc import Sequence
from dataclasses import dataclass

from batches.science.limits import DEFAULT, Limits

STAGE_1, STAGE_2 = 10, 30
_K_STAGE_1, _K_STAGE_2 = 2.4, 2.0
_LOWEST_M, _HIGHEST_M = 98.5, 101.5


@dataclass(frozen=True)
class Acceptance:
    """The figures of one test; `outside` are the places (from 0) of units outside (1 +- 0.25) M."""

    n: int
    mean: float
    s: float
    m: float
    k: float
    av: float
    low: float
    high: float
    outside: tuple[int, ...]


def acceptance(units_pct: Sequence[float], target_pct: float = 100.0, single_pct: float = 25.0) -> Acceptance:
    """AV of units given in percent of the label. Refuses (ValueError) fewer than ten.

    k is 2.4 below thirty units and 2.0 from there: for a number between the stages the wider one.
    """
    n = len(units_pct)
    if n < STAGE_1:
        raise ValueError("ten units at least")
    k = _K_STAGE_2 if n >= STAGE_2 else _K_STAGE_1
    mean, s = statistics.fmean(units_pct), statistics.stdev(units_pct)
    m = reference(mean, target_pct)
    low, high = m * (1 - single_pct / 100), m * (1 + single_pct / 100)
    outside = tuple(place for place, unit in enumerate(units_pct) if not low <= unit <= high)
    return Acceptance(n, mean, s, m, k, abs(m - mean) + k * s, low, high, outside)


def reference(mean_pct: float, target_pct: float = 100.0) -> float:
    """M: the mean, held within 98.5 and 101.5, or within 98.5 and the target where that is above 101.5."""
    return min(max(mean_pct, _LOWEST_M), max(target_pct, _HIGHEST_M))


def paired(dry_mg: Sequence[int], wet_mg: Sequence[int], aim_mg: int) -> list[float]:
    """Uptake of each marked strip, wet less its own dry, in percent of the uptake aimed at."""
    return [100 * (wet - dry) / aim_mg for dry, wet in zip(dry_mg, wet_mg, strict=True)]


def weight_variation(weights: Sequence[float], assay_pct: float) -> list[float]:
    """xi = wi A / W. Not for strips: the dry strip weighs, and carries no acid."""
    mean = statistics.fmean(weights)
    return [weight * assay_pct / mean for weight in weights]


def verdict(found: Acceptance, limits: Limits = DEFAULT) -> str:
    """Below thirty: pass to 15, reason to 20. With thirty: pass to 15 with none outside (1 +- 0.25) M. Else never."""
    if found.n >= STAGE_2:
        return "pass" if found.av <= limits.av_pass and not found.outside else "never"
    if found.av <= limits.av_pass:
        return "pass"
    return "reason" if found.av <= limits.av_reason else "never"
