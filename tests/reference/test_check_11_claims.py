"""Claims on too little: constrained equal awards and max-min fairness, which our rule follows in whole doses."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from members.science.shareout import Asker, Line, divide


def equal_awards(claims: list[Fraction], stock: Fraction, weights: list[Fraction]) -> list[Fraction]:
    """Weighted constrained equal awards, x = min(claim, lambda x weight): filled step by step, in fractions."""
    got = [Fraction(0)] * len(claims)
    while stock > 0 and (open_ := [n for n in range(len(claims)) if got[n] < claims[n]]):
        whole = sum(weights[n] for n in open_)
        rise = min([stock / whole, *((claims[n] - got[n]) / weights[n] for n in open_)])
        for n in open_:
            got[n] += rise * weights[n]
        stock -= rise * whole
    return got


def fractions(*values: float | str) -> list[Fraction]:
    return [Fraction(str(value)) for value in values]


def doses(weights: list[int], asks: list[int], supply: int) -> list[int]:
    askers = [Asker(n, (Line(1, w, a),), n) for n, (w, a) in enumerate(zip(weights, asks, strict=True))]
    division = divide(askers, supply)
    return [division.doses(n) for n in range(len(askers))]


@pytest.mark.parametrize(("estate", "expected"), [(100, "100/3"), (200, "200/3"), (300, "100")])
def test_constrained_equal_awards_of_aumann_and_maschler(estate, expected):
    """Aumann & Maschler 1985, J. Econ. Theory 36:195, claims 100 200 300: 33 1/3, 66 2/3, 100 each (computed)."""
    got = equal_awards(fractions(100, 200, 300), Fraction(estate), fractions(1, 1, 1))
    assert got == [Fraction(expected)] * 3


def test_talmud_figures_are_another_rule():
    """The same paper (read): 33 1/3 each / 50 75 75 / 50 100 150. At 200 and 300 ours differs, on purpose."""
    for estate, talmud in ((200, [50, 75, 75]), (300, [50, 100, 150])):
        assert equal_awards(fractions(100, 200, 300), Fraction(estate), fractions(1, 1, 1)) != talmud


def test_max_min_of_keshav():
    """Keshav 1997, pp. 215-217 (read): capacity 10, demands 2, 2.6, 4, 5: 2, 2.6, 2.7, 2.7."""
    got = equal_awards(fractions(2, 2.6, 4, 5), Fraction(10), fractions(1, 1, 1, 1))
    assert got == fractions(2, 2.6, 2.7, 2.7)


def test_weighted_max_min_of_keshav():
    """The same (read): capacity 16, demands 4 2 10 4, weights 2.5 4 0.5 1: 4 2 6 4."""
    got = equal_awards(fractions(4, 2, 10, 4), Fraction(16), fractions(2.5, 4, 0.5, 1))
    assert got == fractions(4, 2, 6, 4)


def test_our_rule_in_whole_doses_gives_the_same_where_it_comes_out_whole():
    """The figures above in units fine enough: tenths of 10, and equal awards of 300."""
    fine = 100
    assert doses([fine] * 4, [20, 26, 40, 50], 100) == [20, 26, 27, 27]
    assert doses([300] * 3, [100, 200, 300], 300) == [100, 100, 100]
    assert doses([300] * 3, [100, 200, 300], 200) in ([67, 67, 66], [66, 67, 67], [67, 66, 67])


CLUB = st.lists(st.tuples(st.integers(1, 25), st.integers(0, 30)), min_size=1, max_size=8)


@given(CLUB, st.integers(0, 150))
def test_whole_doses_stay_close_to_the_fractions(rows, supply):
    """By the divisor rule nobody is moved past anybody: s - 1/2 over hives is never above s + 1/2 over hives of another
    who is still below the ask.
    """
    weights = [hives for hives, _ask in rows]
    asks = [min(hives, ask) for hives, ask in rows]
    got = doses(weights, asks, supply)
    for here in range(len(rows)):
        for there in range(len(rows)):
            if got[here] > 0 and got[there] < asks[there]:
                assert Fraction(2 * got[here] - 1, weights[here]) <= Fraction(2 * got[there] + 1, weights[there])


@given(CLUB, st.integers(0, 150))
def test_never_above_the_ask_and_all_used_unless_all_is_met(rows, supply):
    got = doses([hives for hives, _ask in rows], [ask for _hives, ask in rows], supply)
    asks = [min(hives, ask) for hives, ask in rows]
    assert all(x <= ask for x, ask in zip(got, asks, strict=True))
    assert sum(got) == min(supply, sum(asks))


@given(CLUB, st.integers(0, 150))
def test_more_stock_never_takes_from_anyone(rows, supply):
    weights, asks = [hives for hives, _ask in rows], [ask for _hives, ask in rows]
    pairs = zip(doses(weights, asks, supply), doses(weights, asks, supply + 1), strict=True)
    assert all(more >= less for less, more in pairs)
