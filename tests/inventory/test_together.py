"""Two at once, in real threads on PostgreSQL: right once, and the fault shown with the guard off."""

import contextlib
import threading
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.db import connection

from coop import command as road
from coop.command import COMMANDS, Refused, command, new_key
from coop.models import Deed
from inventory import holds, ledger, proofs
from inventory.commands.holding import place_hold
from inventory.commands.stock import draw
from inventory.models import Holding, Item, Movement, Place, Question
from tests.makers import brew
from tests.makers import inventory as make
from tests.makers.coop import coordinator, member

pytestmark = [pytest.mark.postgresql, pytest.mark.django_db(transaction=True)]
Work = Callable[[], Any]


def together(*works: Work) -> list[Any]:
    """What each gave back, or its exception, all begun at the same moment."""
    start, got = threading.Barrier(len(works)), [None] * len(works)

    def run(number: int, work: Work) -> None:
        try:
            start.wait(timeout=10)
            got[number] = work()
        except Exception as trouble:
            got[number] = trouble  # type: ignore[call-overload]
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=pair) for pair in enumerate(works)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    return got


class Meeting:
    """Lets two threads go past a point only when both are there, or after a moment when one is kept out."""

    def __init__(self) -> None:
        self.barrier = threading.Barrier(2)

    def wait(self) -> None:
        with contextlib.suppress(threading.BrokenBarrierError):
            self.barrier.wait(timeout=1)


@pytest.fixture
def shed() -> Place:
    return make.shed()


@pytest.fixture
def lot(shed: Place) -> Item:
    return make.lot(place=shed, quantity=500)


def all_differences() -> list[str]:
    return [*proofs.holdings(), *proofs.edges()]


def test_two_draw_the_last_500_g_and_one_of_them_found_them(lot: Item, shed: Place) -> None:
    people = [coordinator(), coordinator()]
    Place.objects.the(Place.Kind.USED), Place.objects.the(Place.Kind.FOUND)

    def work(person: Any) -> Work:
        return lambda: draw(actor=person, key=new_key(), item=lot, place=shed, quantity=500)

    got = together(*(work(person) for person in people))
    assert all(isinstance(one, Movement) for one in got), got
    assert ledger.on_hand(lot) == 0
    assert Movement.objects.get(cause="found").quantity == 500
    assert Question.objects.get().kind == "found"
    assert all_differences() == []


@pytest.fixture
def asking() -> Iterator[Any]:
    """A request for stock, without the gate: only the conditional update guards it."""

    @command("test.ask")
    def ask(deed: Deed, *, item: Item, place: Place, quantity: int) -> None:
        move = ledger.Move(item, place, Place.objects.the(Place.Kind.LOST), quantity, "loss")
        ledger.post(deed, [move], fact=False)

    yield ask
    del COMMANDS["test.ask"]


def test_two_ask_for_the_last_500_g_and_one_gets_them(asking: Any, lot: Item, shed: Place) -> None:
    people = [coordinator(), coordinator()]
    Place.objects.the(Place.Kind.LOST)
    got = together(*(lambda p=p: asking(actor=p, key=new_key(), item=lot, place=shed, quantity=500) for p in people))
    assert sorted(type(one).__name__ for one in got) == ["NoneType", "Refused"]
    assert Movement.objects.filter(cause="loss").count() == 1
    assert all_differences() == []


def test_without_the_lock_and_the_condition_both_get_the_same_500_g(
    asking: Any, lot: Item, shed: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    people, meeting = [coordinator(), coordinator()], Meeting()
    Holding.objects.create(item=lot, place=Place.objects.the(Place.Kind.LOST))

    def read(deltas: dict[tuple[int, int], int]) -> dict[tuple[int, int], Holding]:
        rows = Holding.objects.filter(item_id__in=[item for item, _place in deltas])
        found = {(row.item_id, row.place_id): row for row in rows}
        meeting.wait()
        return {key: found[key] for key in deltas}

    def write(deltas: dict[tuple[int, int], int], holdings: dict[tuple[int, int], Holding]) -> None:
        for key, delta in deltas.items():
            Holding.objects.filter(pk=holdings[key].pk).update(quantity=holdings[key].quantity + delta)

    monkeypatch.setattr(ledger, "_lock_holdings", read)
    monkeypatch.setattr(ledger, "_apply", write)
    got = together(*(lambda p=p: asking(actor=p, key=new_key(), item=lot, place=shed, quantity=500) for p in people))
    assert got == [None, None]
    assert Movement.objects.filter(cause="loss").count() == 2
    assert all_differences() != []


@pytest.fixture
def giving() -> Iterator[Any]:
    """A hand-over: refused for what is on hold, decided behind the gate."""
    meeting = Meeting()

    @command("test.give", gate=True)
    def give(deed: Deed, *, item: Item, place: Place, person: Any, quantity: int) -> None:
        holds.refuse_if_held(item)
        meeting.wait()
        target = Place.objects.of_member(person)
        ledger.post(deed, [ledger.Move(item, place, target, quantity, "hand_over")], fact=False)

    give.meeting = meeting  # type: ignore[attr-defined]
    yield give
    del COMMANDS["test.give"]


def _hold_beside_a_hand_over(giving: Any, shed: Place, monkeypatch: pytest.MonkeyPatch) -> tuple[bool, bool]:
    """Whether the bag went out, and whether the hold was on the book before the bag's movement was."""
    acid = make.lot(place=shed, quantity=1_000)
    mix = brew.mix((acid, shed, 1_000))
    tub = brew.soak((mix, 1_000), blanks=(make.lot(make.strips(), shed), shed, 10))
    bag = brew.bag(tub, shed, 10, 100)
    keeper, person = coordinator(), member()
    Place.objects.of_member(person)

    def hold() -> Any:
        giving.meeting.wait()
        return place_hold(actor=keeper, key=new_key(), items=[acid], reason="torn sack")

    def give() -> Any:
        return giving(actor=coordinator(), key=new_key(), item=bag, place=shed, person=person, quantity=10)

    got = together(hold, give)
    assert not isinstance(got[0], Exception), got
    movement = Movement.objects.filter(cause="hand_over").first()
    if movement is None:
        assert isinstance(got[1], Refused)
        return False, True
    return True, got[0].placed_by_id < movement.deed_id


def test_a_hold_beside_a_hand_over_waits_for_it_or_stops_it(
    giving: Any, shed: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    order: list[str] = []
    post = ledger.post

    def watched(deed: Deed, moves: Any, *, fact: bool) -> Any:
        if moves and moves[0].cause == "hand_over":
            order.append("held already" if _committed_holds() else "not held")
        return post(deed, moves, fact=fact)

    monkeypatch.setattr(ledger, "post", watched)
    _hold_beside_a_hand_over(giving, shed, monkeypatch)
    assert "held already" not in order
    assert all_differences() == []


def test_without_the_gate_a_bag_slips_out_beside_a_hold(
    giving: Any, shed: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    order: list[str] = []
    post = ledger.post
    done = threading.Event()
    place = place_hold

    def watched(deed: Deed, moves: Any, *, fact: bool) -> Any:
        if moves and moves[0].cause == "hand_over":
            done.wait(timeout=5)
            order.append("held already" if _committed_holds() else "not held")
        return post(deed, moves, fact=fact)

    def held(**call: Any) -> Any:
        try:
            return place(**call)
        finally:
            done.set()

    monkeypatch.setattr(ledger, "post", watched)
    monkeypatch.setitem(globals(), "place_hold", held)
    monkeypatch.setattr(road, "pass_gate", lambda: None)
    went_out, _first = _hold_beside_a_hand_over(giving, shed, monkeypatch)
    assert went_out
    assert order == ["held already"]


def _committed_holds() -> bool:
    """Whether another transaction's hold can be seen from here (READ COMMITTED)."""
    from inventory.models import Hold

    return Hold.objects.exists()


def test_a_double_tap_draws_once(lot: Item, shed: Place) -> None:
    person, key = coordinator(), new_key()
    Place.objects.the(Place.Kind.USED)

    def tap() -> Any:
        return draw(actor=person, key=key, item=lot, place=shed, quantity=200)

    first, second = together(tap, tap)
    assert isinstance(first, Movement)
    assert first == second
    assert ledger.on_hand(lot) == 300


def test_two_taps_under_keys_of_their_own_draw_twice(lot: Item, shed: Place) -> None:
    """What the key guards against: without it a double tap is two deeds."""
    person = coordinator()
    Place.objects.the(Place.Kind.USED)
    together(*(lambda: draw(actor=person, key=new_key(), item=lot, place=shed, quantity=200) for _tap in range(2)))
    assert ledger.on_hand(lot) == 100


def test_crossing_transfers_do_not_lock_each_other_out(shed: Place) -> None:
    from inventory.commands.stock import transfer

    other, person = make.shed(), coordinator()
    one, two = make.lot(place=shed, quantity=500), make.lot(place=other, quantity=500)

    def go(item: Item, source: Place, target: Place) -> Work:
        return lambda: [
            transfer(actor=person, key=new_key(), item=item, source=source, target=target, quantity=1)
            for _time in range(10)
        ]

    got = together(go(one, shed, other), go(one, shed, other), go(two, other, shed), go(two, other, shed))
    assert not any(isinstance(one, Exception) for one in got), got
    assert all_differences() == []
