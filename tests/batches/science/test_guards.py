"""The capture table: what is fine, what is worth a warning, what stops; and readings with their correction."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from batches.science import guards, instruments, lifting
from batches.science.instruments import Timed
from batches.science.limits import Limits


@pytest.mark.parametrize(
    ("mass", "verdict"),
    [(1_807_000, "fine"), (2_168_640, "fine"), (2_168_641, "ask"), (180_700, "ask"), (18_070_000, "ask")],
)
def test_a_mass_far_from_the_figure_to_reach_is_asked_about(mass, verdict):
    found = guards.typed_mass(mass, target_mg=1_807_200, capacity_mg=5_000_000, division_mg=1_000)
    assert found.verdict == verdict


def test_a_mass_above_the_scale_or_below_twenty_divisions_is_asked_about():
    above = guards.typed_mass(6_000_000, capacity_mg=5_000_000)
    assert (above.verdict, above.sentence.plain()) == (
        "ask",
        "Did you mean 6000.0 g? This scale weighs up to 5000.0 g.",
    )
    assert guards.typed_mass(19_999, division_mg=1_000).verdict == "ask"
    assert guards.typed_mass(20_000, division_mg=1_000).verdict == "fine"


def test_a_strip_and_a_jump_have_plausible_sizes():
    assert [guards.typed_strip(mass).verdict for mass in (4_999, 5_000, 60_000, 136_000)] == [
        "ask",
        "fine",
        "fine",
        "ask",
    ]
    assert guards.jump(40_000, 48_000, 60).verdict == "fine"
    assert guards.jump(40_000, 48_001, 60).verdict == "ask"
    assert guards.jump(48_000, 39_000, 60).verdict == "ask"
    assert guards.jump(40_000, 41_000, 0).verdict == "fine"


@pytest.mark.parametrize(
    ("mass", "verdict"),
    [
        (1_816_236, "fine"),
        (1_816_237, "warn"),
        (1_843_344, "warn"),
        (1_843_345, "stop"),
        (1_771_056, "warn"),
        (1_771_055, "stop"),
    ],
)
def test_a_part_is_judged_against_its_figure(mass, verdict):
    assert guards.weighed_part(mass, 1_807_200, 1_000).verdict == verdict


def test_two_divisions_of_a_coarse_scale_are_fine():
    assert guards.weighed_part(102_000, 100_000, 1_000).verdict == "fine"
    assert guards.weighed_part(102_001, 100_000, 1_000).verdict == "stop"
    assert guards.weighed_part(102_001, 100_000, 1_000).difference == (2_001, "mg")


@pytest.mark.parametrize(
    ("total", "verdict"),
    [(4_800_000, "fine"), (4_814_400, "fine"), (4_814_401, "warn"), (4_848_000, "warn"), (4_848_001, "stop")],
)
def test_the_pail_is_the_sum_of_its_parts(total, verdict):
    assert guards.pail(total, [1_807_000, 2_993_000], 1_000).verdict == verdict


@pytest.mark.parametrize(
    ("off_ppm", "weighed", "titrated"),
    [
        (-133, "fine", "fine"),
        (10_000, "fine", "fine"),
        (10_100, "warn", "fine"),
        (30_100, "stop", "warn"),
        (-50_100, "stop", "stop"),
    ],
)
def test_the_strength_is_judged_more_mildly_when_titrated(off_ppm, weighed, titrated):
    w = 375_000_000 + 375 * off_ppm
    assert guards.strength(w, 375_000_000).verdict == weighed
    assert guards.strength(w, 375_000_000, is_titrated=True).verdict == titrated


def test_the_scale_check_at_its_limits():
    verdicts = [
        guards.scale_check(reading, 1_000_000).verdict for reading in (998_000, 1_002_100, 1_005_000, 1_005_100)
    ]
    assert verdicts == ["fine", "warn", "warn", "stop"]


def test_the_thermometer_check():
    assert guards.thermometer_check(-1_000).verdict == "fine"
    assert guards.thermometer_check(1_500).verdict == "warn"
    assert guards.thermometer_check(2_001).verdict == "stop"
    assert guards.thermometer_check(0, was_dropped=True).verdict == "stop"
    assert guards.thermometer_check(0, days_since_last=365).verdict == "warn"
    assert guards.thermometer_check(0, days_since_last=None).verdict == "warn"


def test_one_person_alone_handles_no_acid():
    assert guards.people(1).verdict == "stop"
    assert guards.people(2).verdict == "fine"


@pytest.mark.parametrize(
    ("corrected", "expanded", "verdict", "words"),
    [
        (51_900, 0, "fine", "In order."),
        (52_000, 0, "warn", "turn the heat down"),
        (57_000, 0, "warn", "it climbs on"),
        (59_500, 1_000, "warn", "may be above"),
        (60_100, 0, "stop", "out of the bath now"),
        (65_100, 0, "stop", "leave the shed"),
    ],
)
def test_the_heat_is_judged_corrected_and_with_its_uncertainty(corrected, expanded, verdict, words):
    found = guards.heat(corrected, expanded)
    assert found.verdict == verdict
    assert words in found.sentence.plain()


def test_an_hour_above_fifty_is_long_enough():
    assert guards.heat(51_000, minutes_warm=60).verdict == "fine"
    assert guards.heat(51_000, minutes_warm=61).verdict == "warn"


def test_it_pours_when_clear_twice_three_minutes_apart():
    assert guards.clarity_for_pour([]).verdict == "stop"
    assert guards.clarity_for_pour([(0, "clear")]).verdict == "warn"
    assert guards.clarity_for_pour([(0, "clear"), (180, "clear")]).verdict == "fine"
    assert guards.clarity_for_pour([(0, "clear"), (100, "hazy"), (200, "clear")]).verdict == "warn"
    assert guards.clarity_for_pour([(0, "clear"), (200, "grains")]).verdict == "stop"
    assert guards.clarity_for_pour([(0, "clear"), (200, "coloured")]).verdict == "stop"


def test_the_pour():
    verdicts = [guards.pour(temp).verdict for temp in (39_900, 40_000, 48_000, 58_000, 60_000, 60_100)]
    assert verdicts == ["stop", "warn", "fine", "fine", "warn", "stop"]
    assert guards.pour(50_000, 9).verdict == "warn"
    assert guards.pour(50_000, 10).verdict == "fine"


def test_returned_solution_that_goes_in():
    assert guards.returned_in("crystals", 1, 5).verdict == "stop"
    assert guards.returned_in("clear", 3, 5).verdict == "warn"
    assert guards.returned_in("clear", 1, 91).verdict == "warn"
    assert guards.returned_in("clear", 3, 91, is_titrated=True).verdict == "fine"


def test_the_strips_of_a_pack_are_counted_by_mass():
    assert guards.strip_count(1_332_800, 13_600, 98).verdict == "fine"
    found = guards.strip_count(1_332_800, 13_600, 92)
    assert (found.verdict, found.sentence.plain()) == (
        "stop",
        "By mass these are about 98 strips, not 92: count again.",
    )


def test_the_lift():
    hours = [lifting.soak_hours(h).verdict for h in (23.9, 24, 40, 72, 73)]
    assert hours == ["stop", "warn", "fine", "fine", "warn"]
    assert lifting.room_at_lift(18_000, 27_000).verdict == "fine"
    assert lifting.room_at_lift(17_900, 27_000).verdict == "warn"
    assert [lifting.drained(m).verdict for m in (4, 5, 15, 16)] == ["warn", "fine", "fine", "warn"]
    assert lifting.tub_at_lift("crystals").verdict == "warn"
    assert lifting.look(True, True).verdict == lifting.look(False, False).verdict == "warn"


def test_the_uptake_and_the_bags():
    assert [lifting.uptake(u, 15_000).verdict for u in (15_067, 16_500, 16_600, 18_100)] == [
        "fine",
        "fine",
        "warn",
        "stop",
    ]
    assert lifting.bag(689_000, 24, 28_667).verdict == "fine"
    assert lifting.bag(689_000, 23, 28_667).verdict == "fine"
    assert lifting.bag(689_000, 20, 28_667).sentence.plain().startswith("By mass these are about 24 strips, not 20")
    assert lifting.bag(689_000, 24, None).verdict == "fine"
    assert lifting.bag(31_000, 1, 28_667).verdict == "warn"


def test_the_gravest_of_several_is_told():
    assert guards.worst([guards.OK, guards.people(1), guards.heat(52_000)]).verdict == "stop"
    assert guards.worst([]) == guards.OK


def test_a_reading_is_corrected_by_the_last_check_with_its_uncertainty():
    found = instruments.temperature(59_800, 500, 100, u_check_mc=200)
    assert found.value == 59_300
    assert found.u == pytest.approx((200**2 + 100**2 / 12) ** 0.5)
    assert found.expanded == pytest.approx(2 * found.u)
    assert instruments.mass(1_002_000, 2_000, 1_000).value == 1_000_000
    assert instruments.deviation_ppm(1_002_000, 1_000_000) == 2_000


def test_the_peak_and_the_time_above_the_ceiling_by_straight_lines():
    curve = [Timed(0, 58_000, 300), Timed(60, 62_000, 300), Timed(180, 62_000, 300), Timed(300, 56_000, 300)]
    found = instruments.peak(curve, 60_000)
    assert found is not None
    assert (found.corrected_mc, found.expanded_mc) == (62_000, 300)
    assert found.minutes_above == pytest.approx((30 + 120 + 40) / 60)
    assert instruments.peak([], 60_000) is None


def test_limits_go_through_json_and_old_ones_get_defaults():
    own = Limits(bag_pct=4.0)
    assert Limits.from_dict(json.loads(json.dumps(own.as_dict()))) == own
    assert Limits.from_dict({"bag_pct": 4.0, "no_longer_known": 1}) == own
    assert Limits.from_dict(None) == Limits()
    with pytest.raises(ValueError, match="bag_pct"):
        Limits.from_dict({"bag_pct": "5"})


def test_what_is_judged_can_be_kept_as_data():
    found = guards.weighed_part(1_900_000, 1_807_200)
    assert json.loads(json.dumps(found.as_dict()))["sentence"]["facts"]["off"] == [92_800.0, "mg"]


@given(st.lists(st.tuples(st.integers(0, 7200), st.integers(0, 70_000)), max_size=20), st.integers(0, 70_000))
def test_the_time_above_a_level_is_never_longer_than_the_readings(rows, level):
    curve = [Timed(float(at), temp) for at, temp in rows]
    above = instruments.minutes_above(curve, level)
    span = max((at for at, _t in rows), default=0) - min((at for at, _t in rows), default=0)
    assert 0 <= above <= span / 60 + 1e-9
