"""Many holdings changed by one statement: as right as one by one, and as ready to refuse."""

from collections.abc import Sequence
from typing import Any

import pytest

from coop.command import Refused
from coop.models import Deed
from inventory import ledger, proofs
from inventory.ledger import Move
from inventory.models import Holding, Item, Movement, Place
from tests.makers import inventory as make
from tests.makers.coop import club, coordinator, deed

pytestmark = pytest.mark.django_db

MANY = ledger.SOME + 30


@pytest.fixture
def by() -> Deed:
    club()
    return deed(coordinator())


def items(by: Deed, count: int) -> list[Item]:
    """So many lots of one material, nothing of them anywhere."""
    material = make.glycerine()
    return [ledger.new_item(by, kind=Item.Kind.LOT, unit="mass", material=material) for _number in range(count)]


def opened(by: Deed, rows: Sequence[Item], shed: Place, quantities: Sequence[int]) -> list[Move]:
    door = Place.objects.the(Place.Kind.SUPPLIER)
    moves = [Move(row, door, shed, much, Movement.Cause.OPENING) for row, much in zip(rows, quantities, strict=True)]
    ledger.post(by, moves, fact=True)
    return moves


def held(shed: Place) -> dict[int, int]:
    return dict(Holding.objects.filter(place=shed).values_list("item_id", "quantity"))


def test_each_holding_gets_its_own_change_in_a_few_statements(by, django_assert_max_num_queries):
    shed, other, rows = make.shed(), make.shed(), items(by, MANY)
    with django_assert_max_num_queries(20):
        opened(by, rows, shed, [10 + number for number in range(MANY)])
    assert held(shed) == {row.pk: 10 + number for number, row in enumerate(rows)}
    moves = [Move(row, shed, other, 1 + number % 10, Movement.Cause.TRANSFER) for number, row in enumerate(rows)]
    ledger.post(by, moves, fact=False)
    assert held(shed) == {row.pk: 10 + number - 1 - number % 10 for number, row in enumerate(rows)}
    assert held(other) == {row.pk: 1 + number % 10 for number, row in enumerate(rows)}
    assert list(proofs.holdings()) == []


def test_one_that_is_short_refuses_all(by):
    shed, rows = make.shed(), items(by, MANY)
    opened(by, rows, shed, [10] * MANY)
    used = Place.objects.the(Place.Kind.USED)
    moves = [Move(row, shed, used, 11 if row == rows[-3] else 3, Movement.Cause.DRAW) for row in rows]
    with pytest.raises(Refused) as refusal:
        ledger.post(by, moves, fact=False)
    assert refusal.value.code == "short"
    assert set(held(shed).values()) == {10}


@pytest.mark.parametrize("count", [1, 2, MANY])
@pytest.mark.parametrize("takes_alike", [True, False])
def test_who_was_told_more_than_there_is_loses_however_many_change_at_once(by, monkeypatch, count, takes_alike):
    """A rival took from the last one after it was looked at: the update itself notices."""
    shed, rows = make.shed(), items(by, count)
    opened(by, rows, shed, [100] * count)
    Holding.objects.filter(item=rows[-1]).update(quantity=4)
    real = ledger._lock_holdings

    def stale(deltas: Any) -> Any:
        seen = real(deltas)
        for row in seen.values():
            row.quantity = 100
        return seen

    monkeypatch.setattr(ledger, "_lock_holdings", stale)
    used = Place.objects.the(Place.Kind.USED)
    moves = [
        Move(row, shed, used, 50 if takes_alike else 50 + number % 5, Movement.Cause.DRAW)
        for number, row in enumerate(rows)
    ]
    with pytest.raises(Refused, match="Somebody else took") as refusal:
        ledger.post(by, moves, fact=False)
    assert refusal.value.code == "short"
    assert held(shed)[rows[-1].pk] == 4


def test_what_comes_in_beside_what_goes_out_is_held_to_the_same_rule(by, monkeypatch):
    shed, rows = make.shed(), items(by, 2)
    opened(by, rows, shed, [100, 100])
    Holding.objects.filter(item=rows[0]).update(quantity=4)
    monkeypatch.setattr(ledger, "_missing", lambda *_given: [])
    used, door = Place.objects.the(Place.Kind.USED), Place.objects.the(Place.Kind.SUPPLIER)
    moves = [
        Move(rows[0], shed, used, 5, Movement.Cause.DRAW),
        Move(rows[1], door, shed, 7, Movement.Cause.RECEIVE),
    ]
    with pytest.raises(Refused, match="Somebody else took"):
        ledger.post(by, moves, fact=False)
    assert held(shed)[rows[0].pk] == 4


def test_a_holding_that_is_gone_is_noticed(by, monkeypatch):
    """Fewer rows changed than were to change: nothing is written beside a holding that is not there."""
    shed, rows = make.shed(), items(by, 3)
    opened(by, rows, shed, [100, 100, 100])
    real = ledger._lock_holdings

    def taken_away(deltas: Any) -> Any:
        seen = real(deltas)
        Holding.objects.filter(item=rows[1]).delete()
        return seen

    monkeypatch.setattr(ledger, "_lock_holdings", taken_away)
    door = Place.objects.the(Place.Kind.SUPPLIER)
    moves = [Move(row, door, shed, 1 + number, Movement.Cause.RECEIVE) for number, row in enumerate(rows)]
    with pytest.raises(Refused, match="Somebody else took"):
        ledger.post(by, moves, fact=True)
