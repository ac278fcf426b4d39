"""Dividing whole units, beside the `apportionment` package (computed; `apportionpy` agrees where it has the method)."""

import pytest
from apportionment import methods
from hypothesis import assume, given
from hypothesis import strategies as st

from inventory.science.shares import split
from members.science.shareout import Asker, Line, divide

# US 1790, 105 seats: CT DE GA KY MD MA NH NJ NY NC PA RI SC VT VA
STATES = [
    236841,
    55540,
    70835,
    68705,
    278514,
    475327,
    141822,
    179570,
    331591,
    353523,
    432879,
    68446,
    206236,
    85533,
    630560,
]
HAMILTON = [7, 2, 2, 2, 8, 14, 4, 5, 10, 10, 13, 2, 6, 2, 18]
JEFFERSON = [7, 1, 2, 2, 8, 14, 4, 5, 10, 10, 13, 2, 6, 2, 19]  # the historical one


def outside(method: str, votes: list[int], seats: int) -> list[int]:
    return list(methods.compute(method, votes, seats, fractions=True))


def ours(votes: list[int], seats: int) -> list[int]:
    """Our rule with asks that never bind is Webster's method. Equal quotients go to the earlier, as in the package."""
    askers = [Asker(n, (Line(1, vote, vote),), n) for n, vote in enumerate(votes)]
    division = divide(askers, seats)
    return [division.doses(n) for n in range(len(votes))]


def test_us_1790_by_three_methods():
    assert outside("hamilton", STATES, 105) == HAMILTON
    assert outside("webster", STATES, 105) == HAMILTON
    assert outside("jefferson", STATES, 105) == JEFFERSON


def test_our_rule_without_caps_is_webster_for_us_1790():
    assert ours(STATES, 105) == HAMILTON


def test_our_split_of_totals_is_hamilton():
    assert split(105, STATES) == HAMILTON


def test_largest_remainders_can_take_a_unit_away_when_stock_grows():
    """Alabama paradox, read in Math of Democracy: 940 9030 10030; 200 gives 10 90 100, 201 gives 9 91 101."""
    votes = [940, 9030, 10030]
    assert split(200, votes) == [10, 90, 100]
    assert split(201, votes) == [9, 91, 101]


def test_our_rule_has_no_such_paradox():
    votes = [940, 9030, 10030]
    fewer, more = ours(votes, 200), ours(votes, 201)
    assert all(then >= now for now, then in zip(fewer, more, strict=True))


@given(st.lists(st.integers(1, 5000), min_size=2, max_size=10, unique=True), st.integers(1, 120))
def test_our_rule_without_caps_is_webster_for_any_votes(votes, seats):
    askers = [Asker(n, (Line(1, vote, vote),), n) for n, vote in enumerate(votes)]
    division = divide(askers, seats + 1)
    got = ours(votes, seats)
    # only where no ask binds and the last dose is no tie, which is settled by a rule of our own
    assume(all(have < vote for have, vote in zip(got, votes, strict=True)))
    assume(division.steps[-1].quotient < division.steps[-2].quotient)
    assert got == outside("webster", votes, seats)


@pytest.mark.parametrize("seats", range(1, 60))
def test_webster_for_the_hives_of_a_club(seats):
    votes = [11, 23, 37, 59, 83, 121, 203, 29]
    assert ours(votes, seats) == outside("webster", votes, seats)
