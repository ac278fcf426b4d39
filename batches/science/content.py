"""Strip content: grams of oxalic acid dihydrate in a strip, its uncertainty, and the band it is held against.

g = (wet - dry) / n x w (JCGM 100:2008 for the uncertainty, k = 2). It is that of the mean strip, not the spread between
strips. Masses in mg, strengths in parts per 10^9.
"""

import math
import statistics
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from batches.science.instruments import u_of_step
from batches.science.mixing import PPB


@dataclass(frozen=True)
class Bagged:
    """One bag as weighed: strips and net mass."""

    strips: int
    net_mg: int


@dataclass(frozen=True)
class Content:
    """The mean strip of so many: what it took up and what that carries, mg a strip; u (k = 1) and U (k = 2)."""

    strips: int
    uptake_mg: Fraction
    content_mg: Fraction
    u_uptake_mg: float
    u_mg: float

    @property
    def expanded_mg(self) -> float:
        return 2 * self.u_mg


@dataclass(frozen=True)
class BagContent:
    """The mean strip of one bag, and how far it is from the mean of the batch in percent."""

    uptake_mg: Fraction
    content_mg: Fraction
    off_pct: Fraction


@dataclass(frozen=True)
class Guarded:
    """A band drawn in by U on both sides: "pass" inside it, "reason" where only the mean is inside, else "never"."""

    low_mg: int
    high_mg: int
    guarded_low_mg: float
    guarded_high_mg: float
    verdict: str


@dataclass(frozen=True)
class DryMean:
    """Mean of the marked dry strips in mg, and its standard uncertainty s / sqrt(n)."""

    mean_mg: Fraction
    s_mg: float
    u_mg: float


def dry_mean(dry_mg: Sequence[int]) -> DryMean:
    """Refuses (ValueError) fewer than two strips: they say nothing about a spread."""
    if len(dry_mg) < 2:
        raise ValueError("weigh at least two dry strips")
    s = statistics.stdev(dry_mg)
    return DryMean(Fraction(sum(dry_mg), len(dry_mg)), s, s / math.sqrt(len(dry_mg)))


def u_of_weighings(steps_mg: Iterable[int]) -> float:
    """Standard uncertainty of a sum or difference of weighings, one resolution for each."""
    return math.sqrt(sum(u_of_step(step) ** 2 for step in steps_mg))


def mean_strip(
    strips: int, net_mg: int, dry_mg: Fraction | int, w_ppb: int, u_w_ppb: int, u_net_mg: float, u_dry_mg: float
) -> Content:
    """Content of the mean of `strips` strips that weigh `net_mg` wet and `dry_mg` dry, all together."""
    if strips <= 0:
        raise ValueError("no strips")
    w = Fraction(w_ppb, PPB)
    uptake = (net_mg - Fraction(dry_mg)) / strips
    u_uptake = math.hypot(u_net_mg, u_dry_mg) / strips
    u = math.hypot(float(w) * u_uptake, float(uptake) * u_w_ppb / PPB)
    return Content(strips, uptake, uptake * w, u_uptake, u)


def of_bags(
    bags: Sequence[Bagged], dry: DryMean, w_ppb: int, u_w_ppb: int, steps_mg: Sequence[int]
) -> tuple[Content, list[BagContent]]:
    """The batch and each bag. `steps_mg` has one scale resolution for each weighing: two a bag, gross and tare."""
    strips = sum(bag.strips for bag in bags)
    net = sum(bag.net_mg for bag in bags)
    whole = mean_strip(strips, net, dry.mean_mg * strips, w_ppb, u_w_ppb, u_of_weighings(steps_mg), dry.u_mg * strips)
    return whole, [of_bag(bag, dry.mean_mg, w_ppb, whole) for bag in bags]


def of_bag(bag: Bagged, dry_mean_mg: Fraction, w_ppb: int, batch: Content) -> BagContent:
    uptake = Fraction(bag.net_mg, bag.strips) - dry_mean_mg
    content = uptake * Fraction(w_ppb, PPB)
    off = 100 * (content - batch.content_mg) / batch.content_mg if batch.content_mg else Fraction(0)
    return BagContent(uptake, content, off)


def guarded(content: Content, low_mg: int, high_mg: int) -> Guarded:
    """The content against its band, with U between them."""
    low, high = low_mg + content.expanded_mg, high_mg - content.expanded_mg
    mean = float(content.content_mg)
    verdict = "pass" if low <= mean <= high else "reason" if low_mg <= content.content_mg <= high_mg else "never"
    return Guarded(low_mg, high_mg, low, high, verdict)


def hive_doses(strips: int, strips_a_hive: int) -> tuple[int, int]:
    """Whole hive doses and the loose strips left over."""
    if strips_a_hive <= 0:
        raise ValueError("a hive dose has at least one strip")
    return divmod(strips, strips_a_hive)
