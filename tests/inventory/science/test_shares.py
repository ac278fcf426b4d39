"""Shares by mass: case (d), exact sums, circles, and a check against fractions."""

import random
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.science.shares import (
    WHOLE,
    Circle,
    EdgeMass,
    apportion,
    closes_circle,
    downstream,
    in_order,
    share_of,
    shares_by_root,
    split,
    upstream,
)

K, N, Q, GL1, GL2, S1, S2, S3, S4, S5 = range(1, 11)
SOLUTIONS = [
    EdgeMass(K, S1, 1_200_000, 0),
    EdgeMass(N, S1, 600_000, 0),
    EdgeMass(GL1, S1, 3_000_000, 0),
    EdgeMass(S1, S2, 2_500_000, 0),
    EdgeMass(N, S2, 900_000, 0),
    EdgeMass(GL2, S2, 1_500_000, 0),
    EdgeMass(S2, S3, 2_000_000, 0),
    EdgeMass(Q, S3, 1_125_000, 0),
    EdgeMass(GL2, S3, 1_875_000, 0),
    EdgeMass(Q, S4, 1_500_000, 0),
    EdgeMass(GL2, S4, 2_500_000, 0),
    EdgeMass(K, S5, 400_000, 0),
    EdgeMass(Q, S5, 1_100_000, 0),
    EdgeMass(GL2, S5, 2_500_000, 0),
]
SHARES_OF_K = {
    S1: Fraction(1, 4),
    S2: Fraction(25, 196),
    S3: Fraction(5, 98),
    S4: Fraction(0),
    S5: Fraction(1, 10),
}
# grams of solution by row and the grams of lot K in them, case (d): bags, retained, on the shelf, losses
WHERE_IT_WENT = [
    (S1, 604, 151.000),
    (S1, 596, 149.000),
    (S2, 447, 57.015),
    (S2, 453, 57.781),
    (S3, 455, 23.214),
    (S3, 445, 22.704),
    (S1, 30, 7.500),
    (S2, 30, 3.827),
    (S3, 30, 1.531),
    (S1, 1020, 255.000),
    (S2, 1915, 244.260),
    (S3, 4020, 205.102),
    (S1, 50, 12.500),
    (S2, 55, 7.015),
    (S3, 50, 2.551),
]


def graphs() -> st.SearchStrategy[list[EdgeMass]]:
    """Edges that go from a lower to a higher number: no circle."""
    edge = st.tuples(st.integers(0, 11), st.integers(1, 12), st.integers(0, 10**7), st.integers(0, 40))
    return st.lists(edge.filter(lambda e: e[0] < e[1]).map(lambda e: EdgeMass(*e)), max_size=30)


def exact(edges: list[EdgeMass], root: int) -> dict[int, Fraction]:
    """The same shares in exact fractions, written another way: by recursion from each node."""

    def share(node: int) -> Fraction:
        into = [e for e in edges if e.child == node and (e.mass_mg or e.pieces)]
        if node == root:
            return Fraction(1)
        if not into:
            return Fraction(0)
        by_mass = any(e.mass_mg for e in into)
        weighed = [(e.mass_mg if by_mass else e.pieces, e.parent) for e in into]
        whole = sum(weight for weight, _parent in weighed)
        return sum((weight * share(parent) for weight, parent in weighed if weight), Fraction(0)) / whole

    return {node: share(node) for node in {e.parent for e in edges} | {e.child for e in edges}}


def test_lot_k_stands_in_five_solutions_as_the_case_says():
    up = shares_by_root(SOLUTIONS)
    down = share_of(K, SOLUTIONS)
    for solution, share in SHARES_OF_K.items():
        assert abs(up[solution].get(K, 0) - share * WHOLE) < 1
        assert abs(down.get(solution, 0) - share * WHOLE) < 2
    assert S4 not in down


def test_rows_of_lot_k_come_to_1200_g_exactly():
    up = shares_by_root(SOLUTIONS)
    rows = [(mass * 1000, up[solution][K]) for solution, mass, _in_k in WHERE_IT_WENT]
    parts = apportion(1_200_000, rows)
    assert sum(parts) == 1_200_000
    for part, (_solution, _mass, in_k) in zip(parts, WHERE_IT_WENT, strict=True):
        assert part == pytest.approx(in_k * 1000, abs=1)


def test_a_child_with_any_mass_is_shared_by_mass_and_one_without_by_pieces():
    edges = [EdgeMass(1, 3, 500, 0), EdgeMass(2, 3, 0, 40), EdgeMass(1, 4, 0, 30), EdgeMass(2, 4, 0, 10)]
    found = shares_by_root(edges)
    assert found[3] == {1: WHOLE}
    assert found[4] == {1: WHOLE * 3 // 4, 2: WHOLE // 4}


def test_a_node_by_itself_and_one_with_nothing_left_are_their_own_root():
    found = shares_by_root([EdgeMass(1, 2, 0, 0)], [1, 2, 7])
    assert found == {1: {1: WHOLE}, 2: {2: WHOLE}, 7: {7: WHOLE}}


def test_two_movements_between_the_same_two_count_together():
    edges = [EdgeMass(1, 3, 100, 0), EdgeMass(1, 3, 200, 0), EdgeMass(2, 3, 100, 0)]
    assert shares_by_root(edges)[3] == {1: WHOLE * 3 // 4, 2: WHOLE // 4}


def test_a_share_of_something_made_leaves_out_what_it_was_made_from():
    found = share_of(S1, SOLUTIONS)
    assert found[S1] == WHOLE
    assert K not in found
    assert abs(found[S2] - Fraction(2500, 4900) * WHOLE) < 1


def test_a_circle_is_refused_with_its_members():
    edges = [EdgeMass(1, 2, 1, 0), EdgeMass(2, 3, 1, 0), EdgeMass(3, 2, 1, 0)]
    with pytest.raises(Circle) as caught:
        shares_by_root(edges)
    assert caught.value.nodes == (2, 3)


def test_only_a_true_circle_is_questioned():
    assert closes_circle(SOLUTIONS, S3, S1)
    assert closes_circle(SOLUTIONS, S1, S1)
    assert not closes_circle(SOLUTIONS, S1, S3)


def test_a_walk_down_does_not_pass_where_it_is_told_to_stop():
    assert downstream(SOLUTIONS, [K]) == {K, S1, S2, S3, S5}
    assert downstream(SOLUTIONS, [K], stop_at=[S2]) == {K, S1, S5}
    assert downstream(SOLUTIONS, [K], stop_at=[K]) == set()


def test_a_long_chain_needs_no_deep_stack():
    chain = [EdgeMass(n, n + 1, 1000, 0) for n in range(20_000)]
    assert shares_by_root(chain)[20_000] == {0: WHOLE}
    assert len(upstream(chain, [20_000])) == 20_001


@given(graphs())
def test_shares_sum_exactly_in_every_node(edges):
    for shares in shares_by_root(edges).values():
        assert sum(shares.values()) == WHOLE
        assert min(shares.values()) >= 0


@given(graphs(), st.integers(0, 11))
def test_both_directions_agree_with_exact_fractions(edges, root):
    up, down = shares_by_root(edges, range(13)), share_of(root, edges)
    is_root = not any(e.child == root and (e.mass_mg or e.pieces) for e in edges)
    for node, share in exact(edges, root).items():
        assert abs(down.get(node, 0) - share * WHOLE) <= 20
        if is_root:
            assert abs(up[node].get(root, 0) - share * WHOLE) <= 20


@given(graphs(), st.randoms(use_true_random=False))
def test_the_order_in_which_edges_are_read_changes_nothing(edges, shuffler: random.Random):
    other = list(edges)
    shuffler.shuffle(other)
    assert shares_by_root(other) == shares_by_root(edges)


@given(graphs())
def test_parents_come_before_children(edges):
    place = {node: n for n, node in enumerate(in_order(edges))}
    assert all(place[e.parent] < place[e.child] for e in edges)


@given(graphs(), st.integers(0, 12), st.integers(0, 12))
def test_up_and_down_are_each_others_mirror(edges, a, b):
    assert (b in downstream(edges, [a])) == (a in upstream(edges, [b]))


@given(st.integers(-(10**12), 10**12), st.lists(st.integers(0, 10**9), min_size=1, max_size=20))
def test_a_split_sums_exactly_and_is_never_a_unit_off(total, weights):
    if not any(weights):
        weights[0] = 1
    parts = split(total, weights)
    assert sum(parts) == total
    for part, weight in zip(parts, weights, strict=True):
        assert abs(part - Fraction(total * weight, sum(weights))) < 1


def test_a_split_of_something_by_nothing_is_refused():
    assert split(0, [0, 0]) == [0, 0]
    with pytest.raises(ValueError, match="nothing to divide by"):
        split(5, [0, 0])
    with pytest.raises(ValueError, match="below zero"):
        split(5, [1, -1])


def test_what_a_batch_cost_follows_its_matter():
    """Case (a), in micro-cents: 1807 g at 5.80 and 2993 g at 3.40 a kilogram; 3272 g of 4800 g went back."""
    solution = 1807 * 580_000 + 2993 * 340_000
    returned, kept = split(solution, [3272, 4800 - 3272])
    strips = 98 * 21_000_000
    assert solution == 2_065_680_000
    assert returned == pytest.approx(1_408_110_000, abs=10_000)
    assert kept + strips == pytest.approx(2_715_570_000, abs=10_000)
    assert split(kept + strips, [1] * 24)[0] == pytest.approx(113_150_000, abs=10_000)
