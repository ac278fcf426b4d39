"""Dry mass and uptake of one blank from a small sample of a lot. Milligrams throughout.

A sample is a list of masses, strip by strip, or so many strips weighed together. Strip by strip, dry and wet in the
same order, the uptake is taken in pairs, so that it knows its spread; otherwise it is the difference of the means.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

#: what one dry blank may weigh; bench judgement and trade practice, no published source
LEAST_MG, MOST_MG = 5_000, 60_000
#: a wet one; common practice, no published source
MOST_WET_MG = 120_000


@dataclass(frozen=True)
class Together:
    """So many strips on the scale at once."""

    count: int
    total_mg: int


Weighed = Sequence[int] | Together


@dataclass(frozen=True)
class Figure:
    """A mean over `count` strips; the sample's standard deviation, None where it cannot be known."""

    count: int
    mean_mg: int
    spread_mg: int | None = None


def count_of(weighed: Weighed) -> int:
    return weighed.count if isinstance(weighed, Together) else len(weighed)


def figure(weighed: Weighed) -> Figure:
    """Mean and spread of one strip. Halves round up."""
    if isinstance(weighed, Together):
        return Figure(weighed.count, _round(Fraction(weighed.total_mg, weighed.count)))
    mean = Fraction(sum(weighed), len(weighed))
    return Figure(len(weighed), _round(mean), _spread(weighed, mean))


def uptake(dry: Weighed, wet: Weighed) -> Figure:
    """What one strip took up. Lists of the same length are the same strips in the same order."""
    if not isinstance(dry, Together) and not isinstance(wet, Together) and len(dry) == len(wet):
        return figure([after - before for before, after in zip(dry, wet, strict=True)])
    return Figure(count_of(wet), _round(_mean(wet) - _mean(dry)))


def _mean(weighed: Weighed) -> Fraction:
    total = weighed.total_mg if isinstance(weighed, Together) else sum(weighed)
    return Fraction(total, count_of(weighed))


def _spread(masses: Sequence[int], mean: Fraction) -> int | None:
    if len(masses) < 2:
        return None
    square = sum((mass - mean) ** 2 for mass in masses) / (len(masses) - 1)
    return round(math.sqrt(square))


def _round(value: Fraction) -> int:
    return math.floor(value + Fraction(1, 2))


def numbers_outside(weighed: Weighed, least: int, most: int) -> list[int]:
    """Which strips, from 1, are lighter or heavier than a blank is; of strips weighed together, by their mean."""
    masses = [_round(_mean(weighed))] if isinstance(weighed, Together) else list(weighed)
    return [number for number, mass in enumerate(masses, 1) if not least <= mass <= most]
