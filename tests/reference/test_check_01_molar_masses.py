"""Molar masses in g/mol, computed with molmass (periodictable and chemicals agree within 1.2e-5)."""

import molmass
import pytest

WATER, ANHYDROUS, DIHYDRATE, GLYCEROL = 18.0153, 90.0350, 126.0656, 92.0940


@pytest.mark.parametrize(
    ("formula", "expected"),
    [("C2H2O4", ANHYDROUS), ("C2H2O4(H2O)2", DIHYDRATE), ("C3H8O3", GLYCEROL), ("H2O", WATER)],
)
def test_molar_masses(formula, expected):
    assert molmass.Formula(formula).mass == pytest.approx(expected, rel=1e-4)


def test_dihydrate_to_anhydrous():
    """x 0.714192; the other way x 1.400184 (computed from the same)."""
    acid, dihydrate = molmass.Formula("C2H2O4").mass, molmass.Formula("C2H2O4(H2O)2").mass
    assert acid / dihydrate == pytest.approx(0.714192, rel=1e-4)
    assert dihydrate / acid == pytest.approx(1.400184, rel=1e-4)


def test_40_percent_as_dihydrate_is_28_57_percent_as_anhydrous():
    assert pytest.approx(28.57, abs=0.005) == 40 * ANHYDROUS / DIHYDRATE
