"""The recursive query against a plain closure, on random graphs, both ways, with stops; and shares that sum exactly."""

import itertools
from collections import defaultdict
from fractions import Fraction

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coop.codes import new_code
from inventory import ancestry
from inventory.models import Edge, Item
from inventory.science.shares import WHOLE
from tests.makers.coop import deed

SIZE = 12
PAIRS = list(itertools.combinations(range(SIZE), 2))
GRAPHS = st.lists(st.tuples(st.sampled_from(PAIRS), st.integers(0, 5000)), max_size=40, unique_by=lambda row: row[0])
SOME = st.sets(st.integers(0, SIZE - 1), max_size=4)


@pytest.fixture
def items(db: None) -> list[Item]:
    """A dozen mixes; edges always go from an earlier to a later one, so there is no circle."""
    by = deed()
    return [
        Item.objects.create(code=new_code(), kind="mix", unit="mass", deed=by, made_at=by.happened_at)
        for _number in range(SIZE)
    ]


def lay(items: list[Item], graph: list[tuple[tuple[int, int], int]]) -> None:
    Edge.objects.all().delete()
    Edge.objects.bulk_create(
        Edge(parent=items[parent], child=items[child], mass_mg=mass) for (parent, child), mass in graph
    )


def reach(starts: set[int], steps: dict[int, set[int]], stops: set[int]) -> set[int]:
    found: set[int] = set()
    ahead = list(starts - stops)
    while ahead:
        here = ahead.pop()
        if here not in found:
            found.add(here)
            ahead += steps[here] - stops
    return found


@pytest.mark.django_db
@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(graph=GRAPHS, starts=SOME, stops=SOME)
def test_the_query_is_the_plain_closure(
    items: list[Item], graph: list[tuple[tuple[int, int], int]], starts: set[int], stops: set[int]
) -> None:
    with transaction.atomic():
        lay(items, graph)
        below, above = defaultdict(set), defaultdict(set)
        for (parent, child), mass in graph:
            if mass:
                below[parent].add(child)
                above[child].add(parent)
        number = {item.pk: place for place, item in enumerate(items)}
        ids = [items[start].pk for start in starts]
        ends = [items[stop].pk for stop in stops]
        assert {number[pk] for pk in ancestry.down(ids)} == reach(starts, below, set())
        assert {number[pk] for pk in ancestry.up(ids)} == reach(starts, above, set())
        assert {number[pk] for pk in ancestry.down(ids, stop_at=ends)} == reach(starts, below, stops)


@pytest.mark.django_db
@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(graph=GRAPHS)
def test_shares_sum_exactly_and_agree_up_and_down(items: list[Item], graph: list[tuple[tuple[int, int], int]]) -> None:
    with transaction.atomic():
        lay(items, graph)
        everything = ancestry.all_shares_up([item.pk for item in items])
        assert all(sum(shares.values()) == WHOLE for shares in everything.values())
        exact = plain_shares(items, graph)
        for place, item in enumerate(items):
            for root, share in everything[item.pk].items():
                assert abs(Fraction(share, WHOLE) - exact[place][root]) < Fraction(SIZE * 2, WHOLE)
        assert ancestry.shares_up(items[-1]) == everything[items[-1].pk]
        down = ancestry.share_down(items[0])
        for item in items:
            share = everything[item.pk].get(items[0].pk, 0)
            assert abs(down.get(item.pk, 0) - share) <= SIZE * 2


def plain_shares(items: list[Item], graph: list[tuple[tuple[int, int], int]]) -> list[dict[int, Fraction]]:
    """Exact fractions of each root in each item, the plain way."""
    shares: list[dict[int, Fraction]] = []
    for place, item in enumerate(items):
        parents = [(parent, mass) for (parent, child), mass in graph if child == place and mass]
        total = sum(mass for _parent, mass in parents)
        mine: dict[int, Fraction] = defaultdict(Fraction)
        for parent, mass in parents:
            for root, share in shares[parent].items():
                mine[root] += share * mass / total
        shares.append(mine or {item.pk: Fraction(1)})
    return shares


@pytest.mark.django_db
def test_nothing_is_walked_from_nothing() -> None:
    assert ancestry.up([]) == ancestry.down([]) == set()
