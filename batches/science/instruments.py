"""What a reading is worth: corrected by the last check, with its uncertainty (JCGM 100:2008).

Thermometers in milli-degrees, scales in mg; a scale's deviation in parts per million. Deviation is reading less
reference. A resolution d gives u = d / sqrt(12); U is 2 u.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from batches.science.mixing import half_up

MILLION = 1_000_000


@dataclass(frozen=True)
class Corrected:
    """A reading with its correction applied; `expanded` is U (k = 2), in the unit of the value."""

    value: int
    u: float

    @property
    def expanded(self) -> float:
        return 2 * self.u


@dataclass(frozen=True)
class Timed:
    """A corrected temperature at so many elapsed seconds."""

    at_s: float
    corrected_mc: int
    expanded_mc: int = 0


@dataclass(frozen=True)
class Peak:
    """The hottest corrected reading, and for how long the readings, joined by straight lines, lay above the ceiling."""

    corrected_mc: int
    expanded_mc: int
    minutes_above: float


def u_of_step(step: float) -> float:
    """Standard uncertainty of a display that shows steps of `step` (JCGM 100:2008, F.2.2.1)."""
    return step / math.sqrt(12)


def temperature(reading_mc: int, deviation_mc: int, step_mc: int, u_check_mc: float = 0.0) -> Corrected:
    """A thermometer reading, less the deviation found at the last check."""
    return Corrected(reading_mc - deviation_mc, math.hypot(u_of_step(step_mc), u_check_mc))


def mass(reading_mg: int, deviation_ppm: int, step_mg: int, u_check_ppm: float = 0.0) -> Corrected:
    """A scale reading, with the relative deviation found at the last check taken out."""
    value = half_up(Fraction(reading_mg * MILLION, MILLION + deviation_ppm))
    return Corrected(value, math.hypot(u_of_step(step_mg), value * u_check_ppm / MILLION))


def deviation_ppm(reading: int, reference: int) -> int:
    """Reading less reference, in parts per million of the reference."""
    return half_up(Fraction((reading - reference) * MILLION, reference))


def peak(readings: Sequence[Timed], ceiling_mc: int) -> Peak | None:
    """The peak of a heating curve; None without readings."""
    if not readings:
        return None
    rows = sorted(readings, key=lambda row: row.at_s)
    top = max(rows, key=lambda row: (row.corrected_mc, row.expanded_mc))
    return Peak(top.corrected_mc, top.expanded_mc, minutes_above(rows, ceiling_mc))


def minutes_above(readings: Sequence[Timed], level_mc: int) -> float:
    """Elapsed minutes above a level, by straight lines between readings in order of time."""
    above = 0.0
    rows = sorted(readings, key=lambda row: row.at_s)
    for before, now in itertools.pairwise(rows):
        low, high = sorted((before.corrected_mc, now.corrected_mc))
        if high <= level_mc:
            continue
        share = 1.0 if low >= level_mc else (high - level_mc) / (high - low)
        above += share * (now.at_s - before.at_s)
    return above / 60
