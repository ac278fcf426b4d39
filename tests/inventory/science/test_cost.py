"""Cost by hand: case (a), two mixes in two tubs with a topping up, a second generation, and all that must not go wrong.

Money in the worked figures is in whole units of the club's currency; a micro-cent is 1/10^8 of it.
"""

from fractions import Fraction

import pytest

from inventory.science.cost import Price, Waiting, costs
from inventory.science.shares import Circle, EdgeMass

ONE = 10**8
ACID, GLY, BLANKS, M1, M2, S1, S2, B1, B2, B3, PART, R0, R1, R2, SAMPLE, M3 = range(1, 17)
KINDS = {
    ACID: "lot", GLY: "lot", BLANKS: "lot", M1: "mix", M2: "mix", M3: "mix", S1: "soak", S2: "soak", B1: "bag",
    B2: "bag", B3: "bag", PART: "bag", R0: "returned", R1: "returned", R2: "returned", SAMPLE: "sample",
}  # fmt: skip
# 6.00 a kilogram, 3.00 a kilogram, 0.20 a strip
PRICES = {ACID: Price(15_000, 25_000_000), GLY: Price(7_500, 25_000_000), BLANKS: Price(20_000, 1000)}


def g(mass):
    return mass * 1000


CASE_A = [
    EdgeMass(ACID, M1, g(1807), 0),
    EdgeMass(GLY, M1, g(2993), 0),
    EdgeMass(M1, S1, g(4778), 0),
    EdgeMass(BLANKS, S1, 0, 98),
    EdgeMass(S1, R1, g(3272), 0),
    EdgeMass(S1, SAMPLE, 30_000, 2),
    EdgeMass(S1, B1, 722_000, 48),
    EdgeMass(S1, B2, 724_000, 48),
]
CASE_A_PRICES = {ACID: Price(14_500, 25_000_000), GLY: Price(8_500, 25_000_000), BLANKS: Price(21_000, 1000)}

# 1000 g acid and 3000 g glycerine: 15.00 for 4000 g; 80 g of it come back from the pail (0.30), the tubs bear 14.70
# over 2450 and 1225 g: 9.80 and 4.90. 1000 and 1000 g: 9.00 for 2000 g, over 600 g topping up and 1200 g: 3.00, 6.00.
TWO = [
    EdgeMass(ACID, M1, g(1000), 0),
    EdgeMass(GLY, M1, g(3000), 0),
    EdgeMass(ACID, M2, g(1000), 0),
    EdgeMass(GLY, M2, g(1000), 0),
    EdgeMass(M1, R0, g(80), 0),
    EdgeMass(M1, S1, g(2450), 0),
    EdgeMass(M1, S2, g(1225), 0),
    EdgeMass(M2, S1, g(600), 0),
    EdgeMass(M2, S2, g(1200), 0),
    EdgeMass(BLANKS, S1, 0, 60),
    EdgeMass(BLANKS, S2, 0, 40),
    EdgeMass(S1, R1, g(610), 0),
    EdgeMass(S2, R2, g(485), 0),
    EdgeMass(S1, B1, 450_000, 30),
    EdgeMass(S1, B2, 300_000, 20),
    EdgeMass(S1, SAMPLE, 120_000, 8),
    EdgeMass(S2, B3, 600_000, 40),
    EdgeMass(B3, PART, 0, 16),
]


def of(edges, prices=PRICES, waiting=None):
    return costs(edges, KINDS, prices, waiting)


def test_case_a_by_its_edges():
    found = of(CASE_A, CASE_A_PRICES)
    assert found[M1].total == round(20.6568 * ONE)
    assert round(found[R1].total / ONE, 4) == 14.0811
    assert found[S1].by_parent[BLANKS] == round(20.58 * ONE)
    assert round(found[S1].total / ONE, 4) == 27.1557
    assert round(float(found[S1].of(4)) / ONE, 4) == 1.1315
    assert found[B1].total + found[B2].total == found[S1].total
    assert found[SAMPLE].total == 0


def test_solution_that_is_thrown_away_carries_nothing():
    found = of([edge for edge in CASE_A if edge.child != R1], CASE_A_PRICES)
    assert round(float(found[S1].of(4)) / ONE, 4) == 1.7182


def test_two_mixes_in_two_tubs_with_a_topping_up_by_hand():
    found = of(TWO)
    assert {pk: Fraction(found[pk].total, ONE) for pk in (M1, M2, R0)} == {M1: 15, M2: 9, R0: Fraction("0.30")}
    assert dict(found[S1].by_parent) == {M1: 980_000_000, M2: 3 * ONE, BLANKS: 12 * ONE}
    # in tub 1: (2450 x 0.00375 + 600 x 0.0045) / 3050 a gram; 610 g of it came back
    assert Fraction(found[R1].total, ONE) == Fraction("2.3775")
    assert Fraction(found[S1].total, ONE) == Fraction("22.4225")
    assert Fraction(found[B1].total, ONE) == Fraction("13.4535")
    assert Fraction(found[B2].total, ONE) == Fraction("8.969")
    assert found[SAMPLE].total == 0
    # in tub 2: (1225 x 0.00375 + 1200 x 0.0045) / 2425 a gram; 485 g of it came back
    assert Fraction(found[R2].total, ONE) == Fraction("1.99875")
    assert Fraction(found[S2].total, ONE) == Fraction("16.90125")
    assert Fraction(found[PART].total, ONE) == Fraction("6.7605")
    assert Fraction(found[B3].kept, ONE) == Fraction("10.14075")
    ends = sum(found[pk].kept for pk in (R0, R1, R2, B1, B2, B3, PART, SAMPLE))
    assert ends == 44 * ONE


def test_returned_solution_takes_its_cost_into_the_next_mix():
    again = [*TWO, EdgeMass(R1, M3, g(305), 0), EdgeMass(ACID, M3, g(100), 0)]
    found = of(again)
    assert Fraction(found[M3].total, ONE) == Fraction("2.3775") / 2 + Fraction("0.60")
    assert found[R1].kept == found[R1].carried == found[R1].total // 2


def test_a_gift_costs_nothing_and_neither_does_a_lot_of_which_nothing_came():
    found = of(CASE_A, {ACID: Price(0, 25_000_000), GLY: Price(8_500, 0), BLANKS: Price(21_000, 1000)})
    assert found[M1].total == found[R1].total == 0
    assert Fraction(found[S1].total, ONE) == Fraction("20.58")


def test_more_drawn_than_was_received_costs_as_its_lot_does():
    found = of([EdgeMass(ACID, M1, g(2000), 0)], {ACID: Price(600, g(1000))})
    assert found[M1].total == 12 * ONE


def test_more_returned_than_was_poured_carries_all_there_is_and_says_so():
    edges = [EdgeMass(ACID, M1, g(1000), 0), EdgeMass(M1, S1, g(900), 0), EdgeMass(BLANKS, S1, 0, 10)]
    edges += [EdgeMass(S1, R1, g(1500), 0), EdgeMass(S1, R2, g(500), 0), EdgeMass(S1, B1, 100_000, 10)]
    found = of(edges)
    assert found[S1].is_capped
    assert not found[M1].is_capped
    assert [found[pk].total for pk in (R1, R2)] == [4.5 * ONE, 1.5 * ONE]
    assert found[B1].total == 2 * ONE


def test_more_returned_from_the_pail_than_went_in_leaves_nothing_for_the_tub():
    found = of([EdgeMass(ACID, M1, g(1000), 0), EdgeMass(M1, R0, g(1200), 0), EdgeMass(M1, S1, g(100), 0)])
    assert found[M1].is_capped
    assert (found[R0].total, found[S1].total) == (6 * ONE, 0)


def test_a_mix_that_nobody_carries_on_is_written_off():
    found = of([EdgeMass(ACID, M1, g(1000), 0), EdgeMass(M1, R0, g(250), 0)])
    assert (found[M1].returned, found[M1].written_off) == (1.5 * ONE, 4.5 * ONE)


def test_a_soak_without_a_bag_is_written_off_but_for_what_came_back():
    found = of([edge for edge in CASE_A if edge.child not in (B1, B2)], CASE_A_PRICES)
    assert found[S1].written_off == found[S1].total
    assert found[S1].each is None


def test_what_stands_on_the_bench_is_not_written_off_and_not_borne_by_others():
    half = [EdgeMass(ACID, M1, g(1000), 0), EdgeMass(M1, S1, g(500), 0), EdgeMass(BLANKS, S1, 0, 10)]
    found = of([*half, EdgeMass(S1, B1, 50_000, 5)], waiting={M1: Waiting(g(500)), S1: Waiting(g(250), 5)})
    assert (found[M1].carried, found[M1].waiting, found[M1].written_off) == (3 * ONE, 3 * ONE, 0)
    # 250 g in the tub are worth 1.50; the rest, 1.50 and 2.00, is shared by five strips bagged and five to bag
    assert (found[B1].total, found[S1].waiting) == (1.75 * ONE, 3.25 * ONE)


def test_a_circle_is_said():
    with pytest.raises(Circle):
        of([EdgeMass(R1, M1, 1, 0), EdgeMass(M1, R1, 1, 0)])


def test_an_odd_micro_cent_goes_to_the_same_bag_in_whatever_order_the_edges_come():
    edges = [EdgeMass(BLANKS, S1, 0, 1), EdgeMass(S1, B1, 0, 5), EdgeMass(S1, B2, 0, 5)]
    gift = {BLANKS: Price(1, 333)}  # 3003 micro-cents
    assert [of(some, gift)[B1].total for some in (edges, edges[::-1])] == [1502, 1502]
