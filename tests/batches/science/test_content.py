"""Case (a) from the pour to the content: uptake, dose, uncertainty, uniformity, balance."""

import statistics
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from batches.science import balance, content, uniformity
from batches.science.content import Bagged

DRY = [13_400, 13_900, 13_500, 13_200, 13_800, 13_600, 13_700, 13_300, 13_900, 13_700]
WET = [28_100, 29_600, 28_900, 27_400, 29_100, 28_200, 29_300, 27_900, 29_800, 28_400]
BAGS = [Bagged(24, 689_000), Bagged(24, 684_000), Bagged(24, 692_000), Bagged(24, 687_000)]
W_PPB, U_W_PPB = 374_952_500, 2_500_000


def of_case_a():
    return content.of_bags(BAGS, content.dry_mean(DRY), W_PPB, U_W_PPB, [1000] * 8)


def test_uptake_and_dose():
    mean, _bags = of_case_a()
    assert float(mean.uptake_mg) == pytest.approx(15_066.7, abs=0.05)
    assert float(mean.content_mg) == pytest.approx(5_649.3, abs=0.05)
    assert float(4 * mean.content_mg) == pytest.approx(22_597, abs=0.5)
    assert content.hive_doses(96, 4) == (24, 0)
    assert content.hive_doses(126, 4) == (31, 2)


def test_every_bag_has_its_own_content():
    mean, bags = of_case_a()
    assert [round(float(bag.content_mg), 1) for bag in bags] == [5664.9, 5586.8, 5711.8, 5633.7]
    assert [float(bag.off_pct) for bag in bags] == pytest.approx([0.277, -1.106, 1.106, -0.277], abs=0.001)
    assert sum(bag.content_mg for bag in bags) / 4 == mean.content_mg


def test_the_uncertainty_and_the_guarded_band():
    dry, (mean, _bags) = content.dry_mean(DRY), of_case_a()
    assert dry.mean_mg == 13_600
    assert dry.s_mg == pytest.approx(244.95, abs=0.005)
    assert content.u_of_weighings([1000] * 8) == pytest.approx(816.5, abs=0.05)
    assert dry.u_mg * 96 == pytest.approx(7436, abs=0.5)
    assert mean.u_uptake_mg == pytest.approx(77.9, abs=0.05)
    assert mean.u_mg == pytest.approx(47.7, abs=0.05)
    assert mean.expanded_mg == pytest.approx(95, abs=0.5)
    band = content.guarded(mean, 5_000, 6_200)
    assert band.guarded_low_mg == pytest.approx(5_095, abs=0.5)
    assert band.guarded_high_mg == pytest.approx(6_105, abs=0.5)
    assert band.verdict == "pass"


@pytest.mark.parametrize(
    ("low", "high", "verdict"),
    [(5_500, 6_200, "pass"), (5_600, 6_200, "reason"), (5_650, 6_200, "never"), (5_000, 5_700, "reason")],
)
def test_near_an_edge_of_the_band_the_uncertainty_decides(low, high, verdict):
    assert content.guarded(of_case_a()[0], low, high).verdict == verdict


def test_uniformity_of_the_ten_marked_strips_is_paired():
    units = uniformity.paired(DRY, WET, 15_000)
    assert [round(unit, 2) for unit in units] == [98.0, 104.67, 102.67, 94.67, 102.0, 97.33, 104.0, 97.33, 106.0, 98.0]
    found = uniformity.acceptance(units)
    assert found.mean == pytest.approx(100.4667, abs=5e-5)
    assert found.s == pytest.approx(3.8496, abs=5e-5)
    assert found.av == pytest.approx(9.239, abs=5e-4)
    assert uniformity.verdict(found) == "pass"


def test_the_wet_mass_as_the_weight_flatters_the_batch():
    units = uniformity.weight_variation(WET, 100.466_667)
    wrong = uniformity.acceptance(units)
    assert wrong.s == pytest.approx(2.7644, abs=5e-5)
    assert wrong.av == pytest.approx(6.635, abs=5e-4)
    right = uniformity.acceptance(uniformity.paired(DRY, WET, 15_000))
    assert 1 - wrong.av / right.av == pytest.approx(0.28, abs=0.005)


def test_a_forgotten_bag_tare_shows_in_the_content():
    heavy = [Bagged(bag.strips, bag.net_mg + 11_000) for bag in BAGS]
    wrong, _bags = content.of_bags(heavy, content.dry_mean(DRY), W_PPB, U_W_PPB, [1000] * 4)
    assert float(wrong.content_mg) == pytest.approx(5_821, abs=0.5)
    assert float(100 * (wrong.content_mg / of_case_a()[0].content_mg - 1)) == pytest.approx(3.0, abs=0.05)


def test_what_is_unexplained_has_a_sign_and_passes_at_one_percent():
    found = balance.of_tub(4_778_000, 1_332_800, [bag.net_mg for bag in BAGS], 57_200, 3_272_000, 9_000)
    assert (found.in_mg, found.out_mg) == (6_110_800, 6_090_200)
    assert found.unexplained_mg == 20_600
    assert float(found.pct_of_poured) == pytest.approx(0.431, abs=5e-4)
    assert found.verdict == "pass"


@pytest.mark.parametrize(
    ("poured", "left", "verdict"),
    [
        (4_778_000, -20_600, "pass"),
        (4_778_000, -40_000, "reason"),
        (4_778_000, -60_000, "never"),
        (4_778_000, 60_000, "reason"),
        (4_778_000, 100_000, "never"),
        (500_000, 15_000, "pass"),
        (500_000, -15_000, "pass"),
        (500_000, 15_001, "never"),
    ],
)
def test_the_balance_is_judged_by_its_sign_and_by_what_the_scales_see(poured, left, verdict):
    assert balance.judged(poured, poured, poured - left).verdict == verdict


def test_pieces_close_exactly():
    assert balance.Pieces(98, 96, 2, 0).off_by == 0
    assert balance.Pieces(98, 95, 2, 0).off_by == 1


def test_fewer_than_two_dry_strips_and_fewer_than_ten_units_are_refused():
    with pytest.raises(ValueError, match="two dry strips"):
        content.dry_mean([13_000])
    with pytest.raises(ValueError, match="ten units"):
        uniformity.acceptance([100.0] * 9)


@given(st.lists(st.integers(50, 150), min_size=10, max_size=40))
def test_the_acceptance_value_is_never_below_k_times_s(units):
    found = uniformity.acceptance([float(unit) for unit in units])
    assert found.av >= found.k * found.s - 1e-9
    assert found.k == (2.0 if len(units) >= 30 else 2.4)
    assert found.mean == pytest.approx(statistics.mean(units))


@given(st.integers(1, 500), st.integers(0, 10**7), st.integers(0, 10**6), st.integers(1, 10**9))
def test_the_content_of_the_mean_strip_is_exact(strips, net, dry, w):
    mean = content.mean_strip(strips, net, dry, w, 0, 0.0, 0.0)
    assert mean.content_mg == Fraction((net - dry) * w, strips * 10**9)
