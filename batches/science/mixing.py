"""What to weigh into a pail, and what came of it. Masses in mg, strengths in parts per 10^9 of dihydrate, exact inside.

With a charge of mass T and strength w, returned solution of mass R and strength r, and acid of assay a:
acid = (w T - r R) / a, glycerine = T - R - acid. Dihydrate in and out; nothing else is assumed.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

PPB = 10**9
CRYSTAL_KG_M3 = 1653  # dihydrate, a chemical supplier's data page
_GLYCEROL_KG_M3 = ((20, 1261.3), (40, 1248.4), (60, 1235.3))  # thermo, VolumeLiquid, method VDI_PPDS


@dataclass(frozen=True)
class Part:
    """So many milligrams of something with a mass fraction of dihydrate: acid its assay, glycerine 0."""

    mass_mg: int
    w_ppb: int

    @property
    def dihydrate(self) -> Fraction:
        """Milligrams of dihydrate in it."""
        return Fraction(self.mass_mg * self.w_ppb, PPB)


@dataclass(frozen=True)
class Charge:
    """Milligrams to weigh in; they sum to `total_mg` exactly."""

    acid_mg: int
    glycerine_mg: int
    returned_mg: int

    @property
    def total_mg(self) -> int:
        return self.acid_mg + self.glycerine_mg + self.returned_mg


@dataclass(frozen=True)
class Plan:
    """A charge, or why there is none.

    `charge` is None where the returned solution does not fit (`instead` says how much of it to use), or where matter is
    short: `acid_short_mg`, `glycerine_short_mg` and `most`, the most that can be made with what there is.
    `wanted` are the exact masses of acid and glycerine by the equation, negative ones included.
    """

    target_mg: int
    w_ppb: int
    charge: Charge | None
    wanted: tuple[Fraction, Fraction]
    instead: Charge | None = None
    acid_short_mg: int = 0
    glycerine_short_mg: int = 0
    most: Charge | None = None

    @property
    def is_returned_too_strong(self) -> bool:
        return self.wanted[0] < 0

    @property
    def is_short(self) -> bool:
        return self.acid_short_mg > 0 or self.glycerine_short_mg > 0


@dataclass(frozen=True)
class Correction:
    """What brings a pail to its strength: so much more of "acid" or "glycerine"; the pail then holds `becomes_mg`."""

    kind: str
    mass_mg: int
    becomes_mg: int


def plan_charge(
    target_mg: int,
    w_ppb: int,
    assay_ppb: int,
    returned: Sequence[Part] = (),
    acid_on_hand_mg: int | None = None,
    glycerine_on_hand_mg: int | None = None,
) -> Plan:
    """Acid and glycerine that make `target_mg` at `w_ppb` with all of the returned solution.

    On hand None means: as much as it takes. Refuses (ValueError) a target or strength that is not positive, and an acid
    that is not stronger than the target.
    """
    if target_mg <= 0 or not 0 < w_ppb < assay_ppb:
        raise ValueError("the target must be positive and weaker than the acid")
    w, assay = Fraction(w_ppb, PPB), Fraction(assay_ppb, PPB)
    back = sum(part.mass_mg for part in returned)
    acid = (w * target_mg - sum((part.dihydrate for part in returned), Fraction(0))) / assay
    glycerine = target_mg - back - acid
    wanted = (acid, glycerine)
    if acid < 0 or glycerine < 0:
        instead = most_of(w_ppb, assay_ppb, returned, target_mg, target_mg, target_mg)
        return Plan(target_mg, w_ppb, None, wanted, instead=instead)
    charge = _rounded(target_mg, acid, back)
    acid_short = max(0, charge.acid_mg - _given(acid_on_hand_mg, charge.acid_mg))
    glycerine_short = max(0, charge.glycerine_mg - _given(glycerine_on_hand_mg, charge.glycerine_mg))
    if not acid_short and not glycerine_short:
        return Plan(target_mg, w_ppb, charge, wanted)
    most = most_of(
        w_ppb,
        assay_ppb,
        returned,
        _given(acid_on_hand_mg, charge.acid_mg),
        _given(glycerine_on_hand_mg, target_mg),
        target_mg,
    )
    return Plan(target_mg, w_ppb, None, wanted, acid_short_mg=acid_short, glycerine_short_mg=glycerine_short, most=most)


def most_of(
    w_ppb: int, assay_ppb: int, returned: Sequence[Part], acid_mg: int, glycerine_mg: int, at_most_mg: int
) -> Charge:
    """The largest charge at `w_ppb` from what there is, never above `at_most_mg`, using returned solution first.

    Acid has strength to give, glycerine takes it; returned solution does the one or the other by its own strength. What
    gives least for its mass is used first, and so the charge becomes as large as it can.
    """
    w, assay = Fraction(w_ppb, PPB), Fraction(assay_ppb, PPB)
    back = sum(part.mass_mg for part in returned)
    r = w_of(returned) if back else w
    if r >= w:
        takes = w * glycerine_mg
        x = Fraction(back) if r == w else min(Fraction(back), takes / (r - w))
        acid = min(Fraction(acid_mg), (takes - (r - w) * x) / (assay - w))
        glycerine = ((assay - w) * acid + (r - w) * x) / w
    else:
        gives = (assay - w) * min(Fraction(acid_mg), (w * glycerine_mg + (w - r) * back) / (assay - w))
        x = min(Fraction(back), gives / (w - r))
        acid = gives / (assay - w)
        glycerine = (gives - (w - r) * x) / w
    total = x + acid + glycerine
    if total <= at_most_mg:
        return _rounded(int(total), acid, int(x))
    return _capped(at_most_mg, w, assay, r, back)


def w_of(parts: Iterable[Part]) -> Fraction:
    """Mass fraction of dihydrate in the parts together, exact. Refuses (ValueError) an empty pail."""
    parts = list(parts)
    total = sum(part.mass_mg for part in parts)
    if total <= 0:
        raise ValueError("nothing was weighed in")
    return sum((part.dihydrate for part in parts), Fraction(0)) / total


def w_ppb_of(parts: Iterable[Part]) -> int:
    """`w_of` in parts per 10^9, halves up."""
    return half_up(w_of(parts) * PPB)


def off_pct(found: int | Fraction, aimed: int | Fraction) -> Fraction:
    """How far a figure is from the one aimed at, in percent of that one, with its sign."""
    return Fraction(100) * (Fraction(found) - Fraction(aimed)) / Fraction(aimed)


def diluted(returned: Sequence[Part], w_ppb: int) -> Charge | None:
    """What all of the returned solution becomes with glycerine only; None where it is weaker than `w_ppb`."""
    back = sum(part.mass_mg for part in returned)
    becomes = sum((part.dihydrate for part in returned), Fraction(0)) / Fraction(w_ppb, PPB)
    return Charge(0, half_up(becomes) - back, back) if becomes >= back else None


def correcting(parts: Sequence[Part], w_ppb: int, assay_ppb: int) -> Correction | None:
    """What to add so that the pail reaches `w_ppb` again after too much of one part; None where it stands on it."""
    total = sum(part.mass_mg for part in parts)
    w, assay, now = Fraction(w_ppb, PPB), Fraction(assay_ppb, PPB), w_of(parts)
    if now == w:
        return None
    if now < w:
        more = half_up((w - now) * total / (assay - w))
        return Correction("acid", more, total + more)
    more = half_up((now - w) * total / w)
    return Correction("glycerine", more, total + more)


def density_kg_m3(w_ppb: int, temp_c: float) -> float:
    """An ideal-mixing estimate, good for "is the tub large enough", never for a dose: no measured table was found."""
    (t0, d0), (t1, d1) = _GLYCEROL_KG_M3[:2] if temp_c < 40 else _GLYCEROL_KG_M3[1:]
    glycerol = d0 + (d1 - d0) * (temp_c - t0) / (t1 - t0)
    w = w_ppb / PPB
    return 1 / (w / CRYSTAL_KG_M3 + (1 - w) / glycerol)


def volume_ml(mass_mg: int, w_ppb: int, temp_c: float = 60.0) -> float:
    """Room that a solution takes in the tub, by the same estimate."""
    return mass_mg / density_kg_m3(w_ppb, temp_c)


def half_up(value: Fraction) -> int:
    """The nearest integer; halves go up."""
    return (2 * value.numerator + value.denominator) // (2 * value.denominator)


def _given(on_hand_mg: int | None, needed_mg: int) -> int:
    return needed_mg if on_hand_mg is None else max(on_hand_mg, 0)


def _rounded(total_mg: int, acid: Fraction, returned_mg: int) -> Charge:
    acid_mg = min(half_up(acid), total_mg - returned_mg)
    return Charge(acid_mg, total_mg - returned_mg - acid_mg, returned_mg)


def _capped(total_mg: int, w: Fraction, assay: Fraction, r: Fraction, back: int) -> Charge:
    """As much returned solution as `total_mg` at `w` can hold, then acid or glycerine alone, or both."""
    fits = w * total_mg / r if r > w else (assay - w) * total_mg / (assay - r)
    x = min(back, total_mg, int(fits))
    return _rounded(total_mg, max(Fraction(0), (w * total_mg - r * x) / assay), x)
