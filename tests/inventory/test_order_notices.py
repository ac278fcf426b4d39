"""Order by a day: told a week before, once in each supply cycle, and not while enough is on its way in time."""

import datetime as dt
import threading
from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from coop import notices as told
from coop import registry
from coop.models import Letter, Notice, Person
from inventory.commands.ordering import end_order, order
from inventory.models import Material
from inventory.notices import order_by
from inventory.outlook import Demand
from tests.makers import inventory as make
from tests.makers.coop import coordinator, do, member, volunteer

pytestmark = pytest.mark.django_db
KG = make.KG
DAY = dt.timedelta(days=1)
#: a bench takes 4 kg on Fri 16 April; three weeks before is Fri 26 March, a week before that Fri 19 March
BENCH_DAY = dt.date(2027, 4, 16)


@pytest.fixture(autouse=True)
def clock() -> Iterator[Any]:
    with time_machine.travel(dt.datetime(2027, 3, 1, 9, 0, tzinfo=dt.UTC), tick=False) as moving:
        yield moving


@pytest.fixture
def keeper() -> Person:
    return coordinator("Ida Holm")


@pytest.fixture
def acid(keeper: Person) -> Material:
    supplier = make.supplier(name="Calder", lead_days=21, phone="+33 1 99 00 44 44")
    return make.acid(name="Oxalic acid dihydrate", low_level=2 * KG, pack_size=KG, supplier=supplier)


@pytest.fixture
def plan(monkeypatch: pytest.MonkeyPatch, acid: Material) -> list[Demand]:
    """5 kg on the shelf, and a bench that will take 4 of them."""
    make.lot(acid, quantity=5 * KG)
    wanted = [Demand(acid.pk, BENCH_DAY, 4 * KG, "bench", "bench:1")]
    monkeypatch.setitem(registry.demands._functions, "a-test", lambda day, until: wanted)
    return wanted


def at(day: int, month: int = 3, hour: int = 9) -> dt.datetime:
    return dt.datetime(2027, month, day, hour, 0, tzinfo=dt.UTC)


def keys() -> list[str]:
    return [one.key for one in order_by.due(timezone.now())]


def bodies(person: Person) -> list[str]:
    rows = Letter.objects.filter(person=person).order_by("pk")
    return [row.body.replace("\u202f", " ") for row in rows]


def tick_daily(clock: Any, days: int) -> None:
    for _day in range(days):
        told.tick(timezone.now())
        told.tick(timezone.now())
        clock.shift(DAY)


def test_it_is_told_a_week_before_the_day_and_once(
    acid: Material, plan: list[Demand], keeper: Person, clock: Any
) -> None:
    volunteer(), member()
    tick_daily(clock, 18)
    assert not Notice.objects.exists()
    tick_daily(clock, 60)
    assert [body.count("Order Oxalic acid dihydrate by Fri 26 Mar: 1 pack of 1 000 g") for body in bodies(keeper)] == [
        1
    ]
    notice = Notice.objects.get(kind="order-by")
    assert (notice.person, notice.wanted_at.date()) == (keeper, dt.date(2027, 3, 19))
    letter = Letter.objects.get(person=keeper)
    assert " ".join(letter.subject.split()) == "Order Oxalic acid dihydrate by Fri 26 Mar: 1 pack of 1 000 g"
    assert "Under its safety stock from Fri 16 April." in letter.body
    assert "Calder needs 21 days, +33 1 99 00 44 44." in letter.body


def test_what_is_past_its_day_is_told_as_well(acid: Material, plan: list[Demand], keeper: Person, clock: Any) -> None:
    clock.move_to(at(1, 4))
    told.tick(timezone.now())
    assert "Order Oxalic acid dihydrate now: 1 pack of 1 000 g." in bodies(keeper)[0]


def test_an_order_in_time_is_enough_and_one_that_is_late_begins_a_new_cycle(
    acid: Material, plan: list[Demand], keeper: Person, clock: Any
) -> None:
    clock.move_to(at(20))
    told.tick(timezone.now())
    do(order, material=acid, quantity=KG)
    assert keys() == []
    tick_daily(clock, 21)
    assert Notice.objects.filter(kind="order-by").count() == 1
    clock.move_to(at(11, 4))
    told.tick(timezone.now())
    assert Notice.objects.filter(kind="order-by").count() == 2
    assert "1 000 g ordered for Sat 10 Apr have not come, and are not counted." in bodies(keeper)[-1]


def test_a_cancelled_order_is_told_again(acid: Material, plan: list[Demand], clock: Any) -> None:
    clock.move_to(at(20))
    first = keys()
    made = do(order, material=acid, quantity=KG)
    assert keys() == []
    do(end_order, order=made, outcome="cancelled")
    assert keys() == [f"order-by:{acid.pk}:{made.deed_id}"] != first


def test_what_comes_in_begins_a_new_cycle(acid: Material, plan: list[Demand], clock: Any) -> None:
    clock.move_to(at(20))
    first = keys()
    lot = make.lot(acid, quantity=KG // 2)
    assert keys() == [f"order-by:{acid.pk}:{lot.movements.get().deed_id}"] != first
    make.lot(acid, quantity=KG)
    assert keys() == []


def test_what_was_ordered_in_the_night_is_dropped(
    acid: Material, plan: list[Demand], keeper: Person, clock: Any
) -> None:
    clock.move_to(at(20, hour=3))
    told.tick(timezone.now())
    assert Notice.objects.get(kind="order-by").state == Notice.State.WANTED
    do(order, material=acid, quantity=KG)
    clock.move_to(at(20, hour=9))
    told.tick(timezone.now())
    assert Notice.objects.get(kind="order-by").state == Notice.State.DROPPED
    assert bodies(keeper) == []


def test_no_supplier_and_so_no_day_is_not_told(acid: Material, plan: list[Demand], clock: Any) -> None:
    acid.supplier = None
    acid.save()
    clock.move_to(at(20))
    assert keys() == []


def test_the_outlook_is_worked_out_once_a_club_day(acid: Material, plan: list[Demand], clock: Any) -> None:
    clock.move_to(at(20))
    assert len(list(order_by.wanted(timezone.now()))) == 1
    for hours in (0, 1, 8):
        clock.shift(dt.timedelta(hours=hours))
        assert list(order_by.wanted(timezone.now())) == []
    with CaptureQueriesContext(connection) as seen:
        list(order_by.wanted(timezone.now()))
    assert len(seen) <= 3
    clock.move_to(at(21))
    assert len(list(order_by.wanted(timezone.now()))) == 1


def test_the_night_that_the_clocks_go_forward_has_its_day_too(acid: Material, plan: list[Demand], clock: Any) -> None:
    """On 28 March 2027 it is three o'clock in Paris at 01:00 UTC, not at 02:00."""
    clock.move_to(at(27))
    assert list(order_by.wanted(timezone.now()))
    clock.move_to(at(28, hour=0))
    assert not list(order_by.wanted(timezone.now()))
    clock.move_to(at(28, hour=1))
    assert list(order_by.wanted(timezone.now()))


def test_a_day_on_which_the_outlook_fails_is_tried_again(
    acid: Material, plan: list[Demand], clock: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    clock.move_to(at(20))
    with monkeypatch.context() as broken:
        broken.setattr(order_by, "due", lambda now: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            list(order_by.wanted(timezone.now()))
    assert len(list(order_by.wanted(timezone.now()))) == 1


def test_somebody_without_mail_waits_on_the_telephone_list_without_an_outlook_a_minute(
    acid: Material, plan: list[Demand], keeper: Person, clock: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    keeper.email = None
    keeper.save()
    clock.move_to(at(20))
    told.tick(timezone.now())
    notice = Notice.objects.get(kind="order-by")
    assert notice.state == Notice.State.PHONE
    monkeypatch.setattr(order_by.outlook, "for_materials", lambda *args: pytest.fail("an outlook at each tick"))
    told.tick(timezone.now())
    do(order, material=acid, quantity=KG)
    told.tick(timezone.now())
    notice.refresh_from_db()
    assert notice.state == Notice.State.DROPPED


@pytest.mark.postgresql
@pytest.mark.django_db(transaction=True)
def test_two_schedulers_tell_it_once(acid: Material, plan: list[Demand], keeper: Person, clock: Any) -> None:
    clock.move_to(at(20))
    start = threading.Barrier(2)

    def run() -> None:
        try:
            start.wait(timeout=10)
            told.tick(timezone.now())
        finally:
            connection.close()

    threads = [threading.Thread(target=run) for _scheduler in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    told.tick(timezone.now())
    assert Notice.objects.filter(kind="order-by").count() == 1
    assert Letter.objects.filter(person=keeper).count() == 1
