"""Where matter went, in numbers: parts that sum, strips that carry their part, and ways back up."""

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from inventory.science.shares import WHOLE, EdgeMass
from members.science.reach import IN_STRIPS, contents, ends, through, whole_parts


@given(st.lists(st.fractions(-(10**9), 10**9, max_denominator=97), min_size=1, max_size=30))
def test_whole_parts_sum_and_stay_next_to_the_exact_ones(exact):
    total = round(sum(exact))
    parts = whole_parts(total, exact)
    assert sum(parts) == total
    assert all(abs(part - one) < 2 for part, one in zip(parts, exact, strict=True))


def test_whole_parts_of_nothing():
    assert whole_parts(0, []) == []


def test_a_bag_keeps_what_its_parts_did_not_take():
    tub, bag, part, small = 1, 2, 3, 4
    edges = [EdgeMass(tub, bag, 600, 40), EdgeMass(bag, part, 0, 10), EdgeMass(part, small, 0, 5)]
    found = contents(edges, {tub: 40, bag: 40, part: 10, small: 5}, {tub})
    assert [(one.whole, one.left) for one in found.values()] == [(600, 450), (150, 75), (75, 75)]
    assert list(found) == [bag, part, small]


def test_parts_of_a_bag_sum_to_the_bag_and_all_of_it_to_the_total():
    tub, bag, part = 1, 2, 3
    edges = [EdgeMass(tub, bag, 100, 3), EdgeMass(bag, part, 0, 1)]
    strips = contents(edges, {bag: 3, part: 1}, {tub})
    share = {tub: WHOLE // 3, bag: WHOLE // 3, part: WHOLE // 3}
    rows = ends(100, strips, {(tub, 9): 200}, share)
    assert {(row.node, row.place): row.of_it_mg for row in rows} == {
        (bag, IN_STRIPS): 22, (part, IN_STRIPS): 11, (tub, 9): 67
    }  # fmt: skip


def test_what_does_not_carry_it_is_no_end():
    strips = contents([EdgeMass(1, 2, 100, 3)], {2: 3}, {1})
    assert ends(0, strips, {(1, 9): 5}, {}) == []


def test_the_way_up_counts_every_path_once():
    lot, other, mix, back, again = 1, 2, 3, 4, 5
    edges = [
        EdgeMass(lot, mix, 30, 0), EdgeMass(other, mix, 70, 0), EdgeMass(mix, back, 50, 0),
        EdgeMass(back, again, 50, 0), EdgeMass(lot, again, 50, 0),
    ]  # fmt: skip
    found = through(again, edges)
    assert Fraction(found[lot], WHOLE) == Fraction(65, 100)
    assert Fraction(found[mix], WHOLE) == Fraction(1, 2)
    assert found[again] == WHOLE


def test_pieces_beside_mass_carry_no_share():
    blanks, mix, soak = 1, 2, 3
    assert blanks not in through(soak, [EdgeMass(blanks, soak, 0, 60), EdgeMass(mix, soak, 900, 0)])
