"""Two people at one stocktake, in real threads on PostgreSQL: begun once, ended once."""

from typing import Any

import pytest

from coop.command import Refused, new_key
from inventory import ledger, proofs, stocktakes
from inventory.commands import stocktaking
from inventory.models import Count, Item, Movement, Place, Stocktake
from tests.inventory.test_together import Meeting, together
from tests.makers import inventory as make
from tests.makers.coop import coordinator, do, volunteer

pytestmark = [pytest.mark.postgresql, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def shed() -> Place:
    return make.shed()


@pytest.fixture
def lot(shed: Place) -> Item:
    Place.objects.the(Place.Kind.UNEXPLAINED), Place.objects.the(Place.Kind.FOUND)
    return make.lot(place=shed, quantity=5_000)


def at_once(command: Any, **call: Any) -> list[Any]:
    people = [volunteer(), coordinator()]
    return together(*(lambda p=p: command(actor=p, key=new_key(), **call) for p in people))


def test_two_who_begin_count_along(shed: Place) -> None:
    got = at_once(stocktaking.begin_stocktake, place=shed)
    assert got[0] == got[1] == Stocktake.objects.get(), got


def counted_twice(shed: Place, lot: Item) -> Stocktake:
    take: Stocktake = do(stocktaking.begin_stocktake, place=shed)
    for _look in range(2):
        do(stocktaking.count_in, stocktake=take, item=lot, quantity=4_000)
    return take


def ended_by_two(take: Stocktake, monkeypatch: Any) -> list[Any]:
    """Both have read the sheet before either of them writes, if nothing keeps one out."""
    meeting, read = Meeting(), stocktakes.read

    def after_meeting(one: Stocktake) -> stocktakes.Sheet:
        sheet = read(one)
        meeting.wait()
        return sheet

    monkeypatch.setattr(stocktakes, "read", after_meeting)
    return at_once(stocktaking.end_stocktake, stocktake=take)


def test_two_who_end_it_write_the_difference_once(shed: Place, lot: Item, monkeypatch: Any) -> None:
    got = ended_by_two(counted_twice(shed, lot), monkeypatch)
    refused = [one for one in got if isinstance(one, Refused)]
    assert [one.code for one in refused] == ["ended"], got
    assert Movement.objects.filter(cause="count").count() == 1
    assert ledger.on_hand(lot) == 4_000
    assert [*proofs.holdings(), *proofs.edges()] == []


def test_without_the_locks_it_is_written_twice(shed: Place, lot: Item, monkeypatch: Any) -> None:
    monkeypatch.setattr(stocktaking, "_open", lambda take: Stocktake.objects.get(pk=take.pk))
    monkeypatch.setattr(ledger, "lock_all", lambda items, place: {})
    got = ended_by_two(counted_twice(shed, lot), monkeypatch)
    assert [type(one) for one in got] == [Stocktake, Stocktake], got
    assert Movement.objects.filter(cause="count").count() == 2


def test_a_count_at_the_moment_of_the_end_is_in_it_or_refused(shed: Place, lot: Item) -> None:
    take = counted_twice(shed, lot)
    people = [volunteer(), coordinator()]
    facts = {"stocktake": take, "item": lot, "quantity": 4_500}
    got = together(
        lambda: stocktaking.count_in(actor=people[0], key=new_key(), **facts),
        lambda: stocktaking.end_stocktake(actor=people[1], key=new_key(), stocktake=take),
    )
    assert isinstance(got[1], Stocktake), got
    stands = Count.objects.filter(stocktake=take).latest("pk").quantity
    assert ledger.on_hand(lot) == stands == (4_500 if isinstance(got[0], Count) else 4_000)
