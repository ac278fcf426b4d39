"""Uniformity of units: USP <905> = Ph. Eur. 2.9.40 = JP 6.02 (harmonised)."""

import pytest

from batches.science import uniformity
from batches.science.limits import DEFAULT

# computed, with numpy's mean and sample deviation
LOW = [93.1, 96.4, 90.2, 95.5, 98.0, 92.7, 94.3, 97.1, 91.8, 95.9]
HIGH = [104.8, 106.2, 101.9, 108.5, 103.3, 99.7, 105.1, 107.4, 102.6, 104.0]
WEIGHTS = [31.2, 30.6, 32.1, 29.8, 31.7, 30.9, 31.5, 30.2, 31.0, 31.4]


def units_with(mean: float, s: float, n: int = 10) -> list[float]:
    """Units with exactly this mean and sample deviation."""
    step = s * ((n - 1) / n) ** 0.5
    return [mean + step, mean - step] * (n // 2)


def test_mean_105_9_and_sd_5_0_give_16_4():
    """Read in the USP FAQ on <905>: AV 16.4, window of stage 2 76.125 to 126.875."""
    found = uniformity.acceptance(units_with(105.9, 5.0))
    assert found.av == pytest.approx(16.4, abs=1e-9)
    assert (found.low, found.high) == pytest.approx((76.125, 126.875))


def test_a_mean_below_the_window():
    """Computed: mean 94.50, s 2.50777, AV 10.0186."""
    found = uniformity.acceptance(LOW)
    assert found.mean == pytest.approx(94.50)
    assert found.s == pytest.approx(2.50777, abs=5e-6)
    assert found.av == pytest.approx(10.0186, abs=5e-5)


def test_a_mean_above_the_window():
    """Computed: AV 9.1809."""
    assert uniformity.acceptance(HIGH).av == pytest.approx(9.1809, abs=5e-5)


def test_weight_variation():
    """Computed, A = 98.7: AV 5.3262."""
    assert uniformity.acceptance(uniformity.weight_variation(WEIGHTS, 98.7)).av == pytest.approx(5.3262, abs=5e-5)


def test_l1_is_15_at_both_stages():
    """Read in the USP FAQ on <905>: L1 = 15.0 at both stages, L2 = 25.0 bounds single units at stage 2."""
    for n, k in ((10, 2.4), (30, 2.0)):
        inside = uniformity.acceptance(units_with(100.0, 14.9 / k, n))
        beyond = uniformity.acceptance(units_with(100.0, 15.1 / k, n))
        assert inside.k == k
        assert uniformity.verdict(inside) == "pass"
        assert uniformity.verdict(beyond) != "pass"
    assert (DEFAULT.av_pass, DEFAULT.single_pct) == (15.0, 25.0)


def test_one_unit_outside_the_window_fails_stage_2():
    """L2 = 25.0: none outside (1 +- 0.25) M."""
    found = uniformity.acceptance([100.0] * 29 + [127.0])
    assert found.av < 15
    assert found.outside == (29,)
    assert uniformity.verdict(found) == "never"


@pytest.mark.parametrize(
    ("mean", "target", "m"),
    [(97.0, 100, 98.5), (100.2, 100, 100.2), (103.0, 100, 101.5), (103.0, 105, 103.0), (106.0, 105, 105.0)],
)
def test_m_is_the_mean_held_within_a_window(mean, target, m):
    """T <= 101.5: M is x held within [98.5, 101.5]; T > 101.5: upper limit T."""
    assert uniformity.reference(mean, target) == m
