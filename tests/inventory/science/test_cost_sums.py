"""Whatever is poured, returned, bagged and lost: cost sums to the micro-cent and nothing is below zero."""

from hypothesis import given
from hypothesis import strategies as st

from inventory.science.cost import Price, Waiting, costs
from inventory.science.shares import EdgeMass

LOTS, MIXES, SOAKS, BAGS, BACK, PARTS = (range(start, start + 3) for start in (1, 11, 21, 31, 41, 51))
LATER, SAMPLES = range(61, 63), range(71, 73)
KINDS = {
    **dict.fromkeys(LOTS, "lot"), **dict.fromkeys(MIXES, "mix"), **dict.fromkeys(SOAKS, "soak"),
    **dict.fromkeys(BAGS, "bag"), **dict.fromkeys(PARTS, "bag"), **dict.fromkeys(BACK, "returned"),
    **dict.fromkeys(LATER, "mix"), **dict.fromkeys(SAMPLES, "sample"),
}  # fmt: skip
masses = st.one_of(st.integers(0, 10), st.integers(0, 10**7), st.just(0))
counts = st.integers(0, 50)
NONE = st.just(0)


def between(draw, parents, children, mass=NONE, pieces=NONE):
    return [
        EdgeMass(parent, child, draw(mass), draw(pieces))
        for parent in parents
        for child in children
        if draw(st.booleans())
    ]


@st.composite
def books(draw):
    """Two generations: lots to mixes to soaks to bags, samples and returned solution, and that to later mixes."""
    edges = between(draw, LOTS[:2], MIXES, mass=masses) + between(draw, LOTS[2:], SOAKS, pieces=counts)
    edges += between(draw, MIXES, SOAKS, mass=masses) + between(draw, MIXES, BACK[:1], mass=masses)
    edges += between(draw, SOAKS, BACK[1:], mass=masses) + between(draw, SOAKS, SAMPLES, masses, counts)
    edges += between(draw, SOAKS, BAGS, masses, counts) + between(draw, BAGS, PARTS, pieces=counts)
    edges += between(draw, BACK, LATER, mass=masses) + between(draw, LOTS[:2], LATER, mass=masses)
    prices = {lot: Price(draw(st.integers(0, 10**7)), draw(st.integers(0, 10**8))) for lot in LOTS}
    waiting = {
        pk: Waiting(draw(masses), draw(counts) if pk in SOAKS else 0) for pk in [*MIXES, *SOAKS] if draw(st.booleans())
    }
    return edges, prices, waiting


@given(books())
def test_what_is_carried_kept_and_written_off_is_what_went_in(book):
    edges, prices, waiting = book
    found = costs(edges, KINDS, prices, waiting, KINDS)
    made = [pk for pk in KINDS if KINDS[pk] != "lot"]
    went_in = sum(found[pk].by_parent.get(lot, 0) for pk in made for lot in LOTS)
    ends = sum(found[pk].waiting + found[pk].kept + found[pk].written_off for pk in made)
    assert went_in == ends


@given(books())
def test_each_thing_closes_and_nothing_is_below_zero(book):
    edges, prices, waiting = book
    found = costs(edges, KINDS, prices, waiting, KINDS)
    for pk, cost in found.items():
        if cost.kind == "lot":
            continue
        parts = (cost.returned, cost.carried, cost.waiting, cost.kept, cost.written_off)
        assert min(parts) >= 0
        assert sum(parts) == cost.into == sum(cost.by_parent.values())
        given_on = sum(one.by_parent.get(pk, 0) for one in found.values())
        assert given_on == cost.returned + cost.carried
        if cost.kind == "sample":
            assert cost.total == 0


@given(books(), st.integers(2, 1000), st.randoms(use_true_random=False))
def test_the_order_of_the_edges_and_an_edge_in_two_parts_change_nothing(book, cut, chance):
    edges, prices, waiting = book
    halves = [
        EdgeMass(edge.parent, edge.child, *(part // cut * sign + (part if sign < 0 else 0) for part in edge[2:]))
        for edge in edges
        for sign in (1, -1)
    ]
    chance.shuffle(halves)
    assert costs(edges, KINDS, prices, waiting, KINDS) == costs(halves, KINDS, prices, waiting, KINDS)


@given(books())
def test_without_prices_all_is_a_gift(book):
    edges, _prices, waiting = book
    assert not any(cost.total for cost in costs(edges, KINDS, {}, waiting, KINDS).values())
