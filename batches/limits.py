"""The limits in force: defaults of bench judgement, where the club's settings do not say otherwise.

Bench judgement and trade practice: common practice, no published source. A bench keeps those it was started under.
Units stand in the names: ppm of a figure, mc milli-degrees, h hours, min minutes.
"""

from typing import Any

from batches.models import Bench
from coop.models import Club

DEFAULTS: dict[str, int] = {
    "scale_fine_ppm": 2_000,
    "scale_bad_ppm": 5_000,
    "thermometer_fine_mc": 1_000,
    "thermometer_bad_mc": 2_000,
    "pail_fine_ppm": 3_000,
    "pail_bad_ppm": 10_000,
    "w_bad_ppm": 30_000,
    "turn_down_mc": 52_000,
    "out_of_bath_mc": 57_000,
    "ceiling_mc": 60_000,
    "pour_low_mc": 40_000,
    "pour_fine_low_mc": 48_000,
    "pour_fine_high_mc": 58_000,
    "soak_least_h": 24,
    "look_after_h": 12,
}


def in_force() -> dict[str, Any]:
    """The limits of the club today."""
    club = Club.objects.filter(pk=1).first()
    own = club.limits if club else {}
    return {**DEFAULTS, **{name: value for name, value in own.items() if name in DEFAULTS}}


def of_bench(bench: Bench) -> dict[str, Any]:
    """The limits that were in force when the bench was started; those of today before."""
    return {**(in_force() if not bench.limits else DEFAULTS), **bench.limits}
