"""The release table: case (a) passes; every row passes, asks for a reason and refuses where it should."""

import json
from dataclasses import replace

import pytest

from batches.science.balance import Pieces
from batches.science.instruments import Peak
from batches.science.limits import Limits
from batches.science.release import BagFact, Check, Facts, InputFact, InstrumentFact, overall, table

DRY = (13_400, 13_900, 13_500, 13_200, 13_800, 13_600, 13_700, 13_300, 13_900, 13_700)
WET = (28_100, 29_600, 28_900, 27_400, 29_100, 28_200, 29_300, 27_900, 29_800, 28_400)
CASE_A = Facts(
    recipe_w_ppb=375_000_000,
    uptake_aim_mg=15_000,
    content_low_mg=5_000,
    content_high_mg=6_200,
    inputs=(InputFact("acid", past_best_before_d=-200), InputFact("glycerine"), InputFact("blanks")),
    instruments=(InstrumentFact("scale", "fine", "fine"), InstrumentFact("thermometer", "fine", needs_after=False)),
    w_ppb=374_952_500,
    u_w_ppb=2_500_000,
    peak=Peak(56_000, 400, 0.0),
    clarity_at_pour=("clear",),
    clarity_at_lift="clear",
    soak_hours=48.0,
    room_low_mc=19_000,
    room_high_mc=24_000,
    poured_mg=4_778_000,
    in_mg=6_110_800,
    out_mg=6_090_200,
    bags=tuple(BagFact(f"bag {n}", 24, net) for n, net in enumerate((689_000, 684_000, 692_000, 687_000), 1)),
    steps_mg=(1_000,) * 8,
    marked=10,
    dry_mg=DRY,
    wet_mg=WET,
    pieces=Pieces(98, 96, 2, 0),
    has_labels=True,
    has_sample=True,
)


def row(key: str, limits: Limits | None = None, **changes: object) -> Check:
    """The row of case (a) with something changed; of several the gravest."""
    rows = [check for check in table(replace(CASE_A, **changes), limits or Limits()) if check.key == key]  # type: ignore[arg-type]
    return max(rows, key=lambda check: ("pass", "reason", "never").index(check.verdict))


def shown(key: str, unit: str) -> float:
    """The figure of a row of case (a), which is in this unit."""
    figure = row(key).figure
    assert figure is not None
    assert figure.unit == unit
    return figure.value


def test_case_a_is_released():
    checks = table(CASE_A)
    assert {check.verdict for check in checks} == {"pass"}
    assert overall(checks) == "pass"
    assert len([check for check in checks if check.key == "bag"]) == 4


def test_case_a_shows_its_figures():
    assert shown("content", "mg") == pytest.approx(5649.3, abs=0.05)
    assert row("content").expanded == pytest.approx(95, abs=0.5)
    assert shown("uniformity", "") == pytest.approx(9.239, abs=5e-4)
    assert shown("unexplained", "percent") == pytest.approx(0.431, abs=5e-4)
    assert shown("strength", "percent") == pytest.approx(-0.0127, abs=5e-4)


def test_nothing_recorded_is_never_released():
    empty = Facts(recipe_w_ppb=375_000_000, uptake_aim_mg=15_000, content_low_mg=5_000, content_high_mg=6_200)
    verdicts = {check.key: check.verdict for check in table(empty)}
    passing = {key for key, verdict in verdicts.items() if verdict == "pass"}
    assert passing == {"input_date", "input_form", "returned", "releaser"}
    assert overall(table(empty)) == "never"
    assert overall([]) == "never"


def test_inputs():
    assert row("input_hold", inputs=(InputFact("acid", is_on_hold=True),)).verdict == "never"
    assert row("input_form", inputs=(InputFact("acid", is_form_verified=False),)).verdict == "never"
    for days, verdict in ((0, "pass"), (1, "reason"), (30, "reason"), (31, "never")):
        assert row("input_date", inputs=(InputFact("acid", past_best_before_d=days),)).verdict == verdict


@pytest.mark.parametrize(
    ("before", "after", "is_reweighed", "verdict"),
    [
        ("fine", "warn", False, "pass"),
        ("fine", None, False, "reason"),
        (None, "fine", False, "reason"),
        (None, None, False, "never"),
        ("fine", "bad", False, "never"),
        ("fine", "bad", True, "pass"),
    ],
)
def test_instruments(before, after, is_reweighed, verdict):
    scale = InstrumentFact("scale", before, after, is_reweighed=is_reweighed)
    assert row("instruments", instruments=(scale,)).verdict == verdict


@pytest.mark.parametrize(
    ("w", "is_titrated", "verdict"),
    [
        (378_750_000, False, "pass"),
        (378_800_000, False, "reason"),
        (386_300_000, False, "never"),
        (382_500_000, True, "pass"),
        (386_300_000, True, "reason"),
        (394_000_000, True, "never"),
        (361_008_000, False, "never"),
    ],
)
def test_strength(w, is_titrated, verdict):
    assert row("strength", w_ppb=w, is_titrated=is_titrated).verdict == verdict


@pytest.mark.parametrize(
    ("peak", "has_titrated_after", "verdict", "is_warning"),
    [
        (Peak(60_000, 0, 0), False, "pass", False),
        (Peak(59_800, 400, 0), False, "pass", True),
        (Peak(61_000, 400, 10), True, "reason", False),
        (Peak(61_000, 400, 10), False, "never", False),
        (Peak(61_000, 400, 11), True, "never", False),
        (Peak(65_100, 400, 1), True, "never", False),
        (None, True, "never", False),
    ],
)
def test_peak_temperature(peak, has_titrated_after, verdict, is_warning):
    found = row("peak", peak=peak, has_titrated_after=has_titrated_after)
    assert (found.verdict, found.is_warning) == (verdict, is_warning)


def test_clarity():
    for seen, verdict in (
        (("clear", "hazy"), "reason"),
        (("clear", "cloudy"), "never"),
        (("grains",), "never"),
        ((), "never"),
    ):
        assert row("clear_at_pour", clarity_at_pour=seen).verdict == verdict
    assert row("clear_at_lift", clarity_at_lift="crystals").verdict == "never"
    assert row("clear_at_lift", clarity_at_lift="crystals", has_titrated_after=True).verdict == "reason"


def test_hours_and_room_may_be_outside_only_if_the_content_passes():
    for hours, verdict in ((23.9, "never"), (24, "reason"), (40, "pass"), (72, "pass"), (72.1, "reason")):
        assert row("soak_hours", soak_hours=hours).verdict == verdict
    assert row("soak_hours", soak_hours=30, content_low_mg=5_700).verdict == "never"
    assert row("room", room_low_mc=17_000).verdict == "reason"
    assert row("room", room_low_mc=17_000).figure == (17_000, "mc")
    assert row("room", room_high_mc=28_000).figure == (28_000, "mc")
    assert row("room", room_low_mc=17_000, content_low_mg=5_700).verdict == "never"


def test_unexplained():
    for left, verdict in (
        (47_780, "pass"),
        (47_781, "reason"),
        (95_561, "never"),
        (-23_890, "pass"),
        (-23_891, "reason"),
        (-47_781, "never"),
    ):
        assert row("unexplained", out_mg=6_110_800 - left).verdict == verdict


def test_content_is_guarded():
    assert row("content", content_low_mg=5_600).verdict == "reason"
    assert row("content", content_high_mg=5_600).verdict == "never"


def test_uniformity_with_ten_may_have_a_reason_and_with_thirty_not():
    wide = tuple(dry + 15_000 + step for dry, step in zip(DRY, (-900, 900) * 5, strict=True))
    assert row("uniformity", wet_mg=wide).verdict == "reason"
    too_wide = tuple(dry + 15_000 + step for dry, step in zip(DRY, (-1_500, 1_500) * 5, strict=True))
    assert row("uniformity", wet_mg=too_wide).verdict == "never"
    even = tuple(dry + 15_000 for dry in DRY * 3)
    assert row("uniformity", dry_mg=DRY * 3, wet_mg=even, marked=30).verdict == "pass"
    one_out = (*even[:-1], DRY[-1] + 19_000)
    found = row("uniformity", dry_mg=DRY * 3, wet_mg=one_out, marked=30)
    assert found.verdict == "never"
    assert found.figure is not None
    assert found.figure.value < 15
    assert row("uniformity", wet_mg=WET[:9]).verdict == "never"
    assert row("uniformity", marked=30).verdict == "never"


def test_each_bag_is_judged_against_the_batch():
    for net, verdict in ((689_000, "pass"), (720_000, "reason"), (760_000, "never")):
        bags = (*CASE_A.bags[:3], BagFact("bag 4", 24, net))
        found = row("bag", bags=bags)
        assert found.verdict == verdict
    assert found.name == "bag 4"


@pytest.mark.parametrize(
    ("reuse", "reheats", "is_titrated", "verdict"),
    [
        (0, 0, False, "pass"),
        (1, 2, False, "pass"),
        (2, 1, True, "pass"),
        (2, 3, True, "pass"),
        (2, 1, False, "never"),
        (1, 3, False, "never"),
        (3, 2, True, "reason"),
        (3, 2, False, "never"),
        (4, 1, True, "never"),
        (1, 4, True, "never"),
    ],
)
def test_returned_solution(reuse, reheats, is_titrated, verdict):
    assert row("returned", reuse=reuse, drawn_reheats=reheats, is_drawn_titrated=is_titrated).verdict == verdict


def test_counts_label_sample_and_releaser():
    assert row("counts", pieces=Pieces(98, 95, 2, 0)).verdict == "never"
    assert row("label", has_labels=False).verdict == "never"
    assert row("sample", has_sample=False).verdict == "reason"
    assert row("releaser", is_releaser_of_team=True).verdict == "never"


def test_the_limits_of_the_batch_decide():
    assert row("uniformity", limits=Limits(av_pass=9.0)).verdict == "reason"
    assert row("soak_hours", limits=Limits(soak_low_h=50)).verdict == "reason"


def test_the_table_can_be_frozen_as_data():
    frozen = json.loads(json.dumps([check.as_dict() for check in table(CASE_A)]))
    assert frozen[0]["key"] == "input_hold"
    assert {
        "key",
        "label",
        "verdict",
        "limit",
        "figure",
        "low",
        "high",
        "expanded",
        "note",
        "is_warning",
        "name",
    } == set(frozen[0])


def test_every_note_has_the_figures_its_text_names():
    worst = replace(
        CASE_A, inputs=(InputFact("acid", True, 40, False),), peak=Peak(64_000, 400, 20), clarity_at_pour=("grains",)
    )
    for check in [*table(CASE_A), *table(worst)]:
        if check.note:
            assert "%(" not in check.note.plain()
