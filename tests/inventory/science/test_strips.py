"""Dry mass and uptake of a blank from a few of them. The working stands beside each figure."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.science.strips import Figure, Together, figure, numbers_outside, uptake

MASSES = st.lists(st.integers(5_000, 60_000), min_size=1, max_size=30)


def test_mean_and_spread_strip_by_strip() -> None:
    # mean of 11.6, 11.8, 12.0 is 11.8 g; deviations -0.2, 0, 0.2; sqrt(0.08 / 2) = 0.2 g
    assert figure([11_600, 11_800, 12_000]) == Figure(3, 11_800, 200)


def test_strips_weighed_together_have_a_mean_and_no_spread() -> None:
    assert figure(Together(10, 118_005)) == Figure(10, 11_801, None)  # 11 800.5 rounds up


def test_one_strip_has_no_spread() -> None:
    assert figure([11_800]) == Figure(1, 11_800, None)


def test_uptake_is_taken_in_pairs() -> None:
    # 13.0 and 13.4 g: mean 13.2, spread sqrt(2 * 0.2 ** 2 / 1) = 0.283 g; the means alone would not know it
    assert uptake([11_600, 12_000], [24_600, 25_400]) == Figure(2, 13_200, 283)


def test_uptake_of_strips_together_is_the_difference_of_the_means() -> None:
    assert uptake(Together(10, 118_000), Together(10, 250_000)) == Figure(10, 13_200, None)
    assert uptake([11_800], Together(2, 50_000)) == Figure(2, 13_200, None)


@given(MASSES)
def test_a_mean_lies_between_the_least_and_the_most(masses: list[int]) -> None:
    assert min(masses) <= figure(masses).mean_mg <= max(masses)


@given(MASSES, st.integers(0, 40_000))
def test_strips_that_all_take_up_the_same_have_no_spread(masses: list[int], more: int) -> None:
    found = uptake(masses, [mass + more for mass in masses])
    assert (found.mean_mg, found.spread_mg) == (more, 0 if len(masses) > 1 else None)


@pytest.mark.parametrize(
    ("weighed", "numbers"),
    [
        ([11_800, 4_999, 60_001], [2, 3]),
        ([5_000, 60_000], []),
        (Together(10, 11_800), [1]),
        (Together(10, 118_000), []),
    ],
)
def test_a_strip_no_blank_weighs_is_named(weighed: list[int] | Together, numbers: list[int]) -> None:
    assert numbers_outside(weighed, 5_000, 60_000) == numbers
