"""What is known of a soak when its release is computed: numbers and words, no rows.

Masses in mg, temperatures in milli-degrees, strengths in parts per 10^9.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from batches.science.balance import Pieces
from batches.science.instruments import Peak


@dataclass(frozen=True)
class InputFact:
    """A lot or returned solution that went in. `past_best_before_d` is negative or 0 while in date, None without one.

    `is_form_verified`: a certificate that names the dihydrate, or an assay; True for what is no acid.
    """

    name: str
    is_on_hold: bool = False
    past_best_before_d: int | None = None
    is_form_verified: bool = True


@dataclass(frozen=True)
class InstrumentFact:
    """Verdicts of the checks before and after: "fine", "warn", "bad" or None for a missing one.

    A thermometer needs none after (`needs_after` False). `is_reweighed`: what it weighed was weighed again elsewhere.
    """

    name: str
    before: str | None
    after: str | None = None
    needs_after: bool = True
    is_reweighed: bool = False


@dataclass(frozen=True)
class BagFact:
    """A bag of the soak as weighed, without those that were split off."""

    name: str
    strips: int
    net_mg: int


@dataclass(frozen=True)
class Facts:
    """What is known of a soak. None stands for what was not recorded.

    `w_ppb` is the strength that counts, titrated or weighed in. `reuse` is that of the solution in the tub,
    `drawn_reheats` the highest of what was drawn, both 0 for fresh solution; `is_drawn_titrated`: the tub, or all the
    returned solution drawn. `has_titrated_after` is a titration after the peak; `dry_mg` and `wet_mg` are the marked
    strips in pairs, `marked` how many were marked dry. `steps_mg` has a scale step for each weighing of the bags.
    """

    recipe_w_ppb: int
    uptake_aim_mg: int
    content_low_mg: int
    content_high_mg: int
    inputs: Sequence[InputFact] = ()
    instruments: Sequence[InstrumentFact] = ()
    w_ppb: int | None = None
    u_w_ppb: int = 0
    is_titrated: bool = False
    has_titrated_after: bool = False
    peak: Peak | None = None
    clarity_at_pour: Sequence[str] = ()
    clarity_at_lift: str = ""
    soak_hours: float | None = None
    room_low_mc: int | None = None
    room_high_mc: int | None = None
    poured_mg: int = 0
    in_mg: int = 0
    out_mg: int = 0
    bags: Sequence[BagFact] = ()
    steps_mg: Sequence[int] = ()
    marked: int = 0
    dry_mg: Sequence[int] = ()
    wet_mg: Sequence[int] = ()
    reuse: int = 0
    drawn_reheats: int = 0
    is_drawn_titrated: bool = False
    pieces: Pieces = field(default_factory=lambda: Pieces(0, 0, 0, 0))
    has_labels: bool = False
    has_sample: bool = False
    is_releaser_of_team: bool = False
