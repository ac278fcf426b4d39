"""The limits of the bench and of release: defaults of club settings, frozen with each bench record.

Every default is from bench judgement and common practice, no published source. Percent are relative, temperatures
milli-degrees Celsius, masses milligrams, durations as the name says.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from typing import Any


@dataclass(frozen=True)
class Limits:
    """All limits in force. `as_dict` and `from_dict` carry them through JSON."""

    # typing guard
    guess_off_pct: float = 20.0
    guess_divisions: int = 20
    jump_mc_per_min: int = 8_000
    # instruments
    scale_fine_pct: float = 0.2
    scale_stop_pct: float = 0.5
    thermometer_fine_mc: int = 1_000
    thermometer_stop_mc: int = 2_000
    thermometer_days: int = 365
    # weighing in
    part_fine_pct: float = 0.5
    part_fine_divisions: int = 2
    part_stop_pct: float = 2.0
    pail_fine_pct: float = 0.3
    pail_fine_divisions: int = 3
    pail_stop_pct: float = 1.0
    w_weighed_pct: float = 1.0
    w_weighed_stop_pct: float = 3.0
    w_titrated_pct: float = 2.0
    w_titrated_stop_pct: float = 5.0
    # strips and returned solution
    pack_pct: float = 3.0
    strip_low_mg: int = 5_000
    strip_high_mg: int = 60_000
    returned_days: int = 90
    returned_reheats: int = 3
    # heat
    warm_mc: int = 50_000
    warm_minutes: int = 60
    turn_down_mc: int = 52_000
    out_of_bath_mc: int = 57_000
    ceiling_mc: int = 60_000
    reject_mc: int = 65_000
    hot_minutes: int = 10
    clear_apart_s: int = 180
    # pour
    pour_low_mc: int = 48_000
    pour_high_mc: int = 58_000
    pour_reheat_mc: int = 40_000
    pour_wait_mc: int = 60_000
    covered_mm: int = 10
    # soak, lift
    soak_low_h: int = 40
    soak_high_h: int = 72
    soak_never_h: int = 24
    soak_long_h: int = 120
    room_low_mc: int = 18_000
    room_high_mc: int = 27_000
    room_cold_mc: int = 15_000
    room_hot_mc: int = 30_000
    open_low_mc: int = 20_000
    open_high_mc: int = 25_000
    drain_low_min: int = 5
    drain_high_min: int = 15
    uptake_pct: float = 10.0
    uptake_stop_pct: float = 20.0
    # release
    past_best_before_d: int = 30
    unexplained_low_pct: float = -0.5
    unexplained_high_pct: float = 1.0
    unexplained_never_low_pct: float = -1.0
    unexplained_never_high_pct: float = 2.0
    unexplained_floor_mg: int = 15_000
    av_pass: float = 15.0
    av_reason: float = 20.0
    single_pct: float = 25.0
    bag_pct: float = 5.0
    bag_never_pct: float = 10.0
    reuse_plain: int = 1
    reuse_titrated: int = 2
    reuse_reason: int = 3
    reheats_plain: int = 2
    reheats_titrated: int = 3

    def as_dict(self) -> dict[str, Any]:
        return asdict(self)

    @classmethod
    def from_dict(cls, values: Mapping[str, Any] | None) -> "Limits":
        """Limits as they were frozen; what was not yet a limit then has its default.

        Refuses (ValueError) a value that is no number; a name that is not known here is passed over.
        """
        known: dict[str, Any] = {}
        for one in fields(cls):
            if values and one.name in values:
                value = values[one.name]
                if isinstance(value, bool) or not isinstance(value, int | float):
                    raise ValueError(f"{one.name} is not a number: {value!r}")
                known[one.name] = value
        return cls(**known)


DEFAULT = Limits()
