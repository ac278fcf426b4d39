"""Does what went into a tub come out of it again? Masses in mg, pieces exactly."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from batches.science.limits import DEFAULT, Limits


@dataclass(frozen=True)
class Balance:
    """`unexplained_mg` is what is left over with its sign: positive is missing, negative has come from nowhere."""

    poured_mg: int
    in_mg: int
    out_mg: int
    unexplained_mg: int
    pct_of_poured: Fraction
    verdict: str


@dataclass(frozen=True)
class Pieces:
    """`off_by` is soaked less all that is accounted for; only 0 is right."""

    soaked: int
    bagged: int
    retained: int
    spoiled: int

    @property
    def off_by(self) -> int:
        return self.soaked - self.bagged - self.retained - self.spoiled


def of_tub(
    poured_mg: int,
    dry_in_tub_mg: int,
    bags_net_mg: Sequence[int],
    retained_mg: int,
    returned_mg: int,
    declared_mg: int = 0,
    limits: Limits = DEFAULT,
) -> Balance:
    """Poured solution and dry strips in; bags, retained strips, returned solution and declared losses out."""
    into = poured_mg + dry_in_tub_mg
    out = sum(bags_net_mg) + retained_mg + returned_mg + declared_mg
    return judged(poured_mg, into, out, limits)


def judged(poured_mg: int, in_mg: int, out_mg: int, limits: Limits = DEFAULT) -> Balance:
    """The verdict: pass, reason or never. Up to the floor a difference passes, since the scales see no better.

    Refuses (ValueError) a tub into which nothing was poured.
    """
    if poured_mg <= 0:
        raise ValueError("nothing was poured")
    left = in_mg - out_mg
    pct = Fraction(100 * left, poured_mg)
    return Balance(poured_mg, in_mg, out_mg, left, pct, verdict(left, pct, limits))


def verdict(unexplained_mg: int, pct: Fraction | float, limits: Limits = DEFAULT) -> str:
    if abs(unexplained_mg) <= limits.unexplained_floor_mg:
        return "pass"
    if limits.unexplained_low_pct <= pct <= limits.unexplained_high_pct:
        return "pass"
    return "reason" if limits.unexplained_never_low_pct <= pct <= limits.unexplained_never_high_pct else "never"
