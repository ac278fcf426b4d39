"""What is asked at the door, and what is not. Pure numbers."""

import pytest

from inventory.science.arrivals import Doubt, doubt, nets_apart

KG, G = 1_000_000, 1_000


@pytest.mark.parametrize(
    ("quantity", "found"),
    [
        (25 * KG, None),
        (KG, None),
        (50 * KG, None),
        (25 * G, Doubt(False, KG, 25 * KG)),
        (KG - 1, Doubt(False, KG, None)),  # 1000 times as much lies outside too
        (25_000 * KG, Doubt(True, 50 * KG, 25 * KG)),
        (51 * KG, Doubt(True, 50 * KG, None)),
    ],
)
def test_an_amount_outside_the_range_is_doubted_with_what_was_likely_meant(quantity: int, found: Doubt | None) -> None:
    assert doubt(quantity, KG, 50 * KG, is_mass=True) == found


def test_pieces_have_no_unit_to_slip_in() -> None:
    assert doubt(1, 100, 5_000, is_mass=False) == Doubt(False, 100, None)
    assert doubt(400_000, 100, 5_000, is_mass=False) == Doubt(True, 5_000, None)


def test_a_range_may_be_open() -> None:
    assert doubt(1, None, None, is_mass=True) is None
    assert doubt(1, None, 5, is_mass=True) is None
    assert doubt(10**15, 5, None, is_mass=True) is None


@pytest.mark.parametrize(
    ("nets", "found"),
    [
        ([], None),
        ([10 * KG, None], None),
        ([10 * KG, 15 * KG], None),
        ([10 * KG, 14_250 * G], None),  # 3 % to the gram
        ([10 * KG, 14_249 * G], 24_249 * G),
        ([10 * KG, 15_751 * G], 25_751 * G),
    ],
)
def test_nets_more_than_three_percent_away_are_said(nets: list[int | None], found: int | None) -> None:
    assert nets_apart(25 * KG, nets) == found
