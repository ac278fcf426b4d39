"""Uncertainty of the mean strip content after JCGM 100:2008, beside the `uncertainties` package."""

import math

import pytest
from uncertainties import ufloat

from batches.science.content import mean_strip, u_of_weighings


def test_40_strips():
    """1270 g wet, 620 g dry, n = 40, d = 1 g, w = 0.400, u(w) = 0.002: 6.5000 +- 0.0328, U 0.0655 (computed)."""
    one = u_of_weighings([1000])
    found = mean_strip(40, 1_270_000, 620_000, 400_000_000, 2_000_000, one, one)
    assert found.content_mg == 6_500
    assert found.u_mg == pytest.approx(32.8, abs=0.05)
    assert found.expanded_mg == pytest.approx(65.5, abs=0.05)


def test_the_uncertainties_package_agrees():
    step = 1 / math.sqrt(12)
    wet, dry, w = ufloat(1270, step), ufloat(620, step), ufloat(0.400, 0.002)
    outside = (wet - dry) / 40 * w
    ours = mean_strip(40, 1_270_000, 620_000, 400_000_000, 2_000_000, u_of_weighings([1000]), u_of_weighings([1000]))
    assert ours.u_mg / 1000 == pytest.approx(outside.std_dev, rel=1e-9)
    assert float(ours.content_mg) / 1000 == pytest.approx(outside.nominal_value)


def test_a_display_of_steps_d_has_u_d_over_root_12():
    assert u_of_weighings([1000]) == pytest.approx(1000 / math.sqrt(12))
    assert u_of_weighings([1000] * 8) == pytest.approx(1000 * math.sqrt(8 / 12))
