"""The outlook over the book: what counts, what is left out and why, what is on its way, what is wanted when."""

import datetime as dt
from collections.abc import Callable, Iterator

import pytest
import time_machine
from django.utils import timezone

from coop import registry
from inventory import outlook
from inventory.commands.correcting import correct
from inventory.commands.stock import draw, transfer
from inventory.models import Lot, Material, Order, Place
from inventory.outlook import Demand, Outlook
from tests.makers import inventory as make
from tests.makers.coop import club, deed, do

pytestmark = pytest.mark.django_db
KG = make.KG
TODAY = dt.date(2027, 2, 15)
UNTIL = dt.date(2027, 8, 31)


@pytest.fixture(autouse=True)
def clock() -> Iterator[None]:
    with time_machine.travel(dt.datetime(2027, 2, 15, 9, 0, tzinfo=dt.UTC), tick=False):
        yield


@pytest.fixture
def shed() -> Place:
    return make.shed()


@pytest.fixture
def acid() -> Material:
    return make.acid(
        name="Oxalic acid dihydrate",
        low_level=2 * KG,
        pack_size=KG,
        supplier=make.supplier(lead_days=21),
    )


Plan = Callable[..., None]


@pytest.fixture
def plan(monkeypatch: pytest.MonkeyPatch) -> Plan:
    """Says what a room wants: tuples of material, day, quantity, key."""
    wanted: list[Demand] = []
    monkeypatch.setitem(registry.demands._functions, "a-test", lambda day, until: wanted)

    def add(material: Material, day: dt.date, quantity: int, key: str = "bench:1") -> None:
        wanted.append(Demand(material.pk, day, quantity, "bench", key))

    return add


def look(material: Material, **facts: object) -> Outlook:
    return outlook.for_materials(TODAY, [material], **facts)[0]  # type: ignore[arg-type]


def on_order(material: Material, quantity: int, expected_on: dt.date, outcome: str = "") -> Order:
    made = deed()
    return Order.objects.create(
        material=material,
        quantity=quantity,
        ordered_on=TODAY,
        expected_on=expected_on,
        deed=made,
        outcome=outcome,
        ended_by=made if outcome else None,
    )


def test_it_looks_to_the_last_day_of_the_sixth_month_from_now() -> None:
    assert outlook.default_until(TODAY) == UNTIL
    assert outlook.default_until(dt.date(2027, 8, 31)) == dt.date(2028, 2, 29)
    assert outlook.default_until(dt.date(2027, 12, 1)) == dt.date(2028, 6, 30)


def test_each_amount_that_is_not_counted_stands_with_its_reason(acid: Material, shed: Place) -> None:
    good = make.lot(acid, shed, quantity=5 * KG, best_before=TODAY)
    held = make.lot(acid, shed, quantity=4 * KG)
    make.hold(held)
    make.lot(acid, shed, quantity=3 * KG, best_before=TODAY - dt.timedelta(days=1))
    for form in ("unknown", "anhydrous"):
        Lot.objects.filter(item=make.lot(acid, shed, quantity=2 * KG)).update(form=form)
    quarantine = Place.objects.the(Place.Kind.QUARANTINE)
    do(transfer, item=good, source=shed, target=quarantine, quantity=KG)
    found = look(acid)
    amounts = {
        reason: sum(lot.quantity for lot in found.of(reason))
        for reason in ("", "hold", "expired", "form", "quarantine")
    }
    assert amounts == {"": 4 * KG, "hold": 4 * KG, "expired": 3 * KG, "form": 4 * KG, "quarantine": KG}
    assert found.projection.start == 4 * KG


def test_glycerine_has_no_form_to_know(shed: Place) -> None:
    glycerine = make.glycerine()
    make.lot(glycerine, shed, quantity=5 * KG)
    assert look(glycerine).projection.start == 5 * KG


def test_what_if_a_hold_were_lifted_counts_its_lot_and_no_other(acid: Material, shed: Place) -> None:
    first, second = make.lot(acid, shed, quantity=4 * KG), make.lot(acid, shed, quantity=3 * KG)
    lifted, _other = make.hold(first), make.hold(second)
    assert look(acid).projection.start == 0
    assert look(acid, lifted=[lifted.pk]).projection.start == 4 * KG
    make.hold(first)
    assert look(acid, lifted=[lifted.pk]).projection.start == 0


def test_open_orders_arrive_on_their_day_and_overdue_ones_are_not_counted(acid: Material) -> None:
    on_order(acid, 2 * KG, TODAY + dt.timedelta(days=3))
    late = on_order(acid, 7 * KG, TODAY - dt.timedelta(days=1))
    on_order(acid, 9 * KG, TODAY + dt.timedelta(days=3), outcome="cancelled")
    found = look(acid)
    assert [(step.kind, step.change) for step in found.projection.steps] == [("arrival", 2 * KG)]
    assert found.overdue == [late]
    assert found.comes_late
    assert found.order_by is None


def test_a_bench_that_slips_keeps_its_place_before_one_planned_later(acid: Material, shed: Place, plan: Plan) -> None:
    make.lot(acid, shed, quantity=5 * KG)
    plan(acid, dt.date(2027, 4, 17), 2250, "bench:2")
    plan(acid, dt.date(2027, 3, 27), 2400, "bench:1")
    moved = look(acid, moved={"bench:1": dt.date(2027, 4, 17)}).projection
    assert [step.change for step in moved.steps] == [-2400, -2250]
    assert {step.day for step in moved.steps} == {dt.date(2027, 4, 17)}


def test_a_bench_whose_day_is_past_is_taken_today_and_said(acid: Material, plan: Plan) -> None:
    plan(acid, dt.date(2027, 2, 1), 500)
    found = look(acid)
    assert found.projection.steps[0].day == TODAY
    assert [one.key for one in found.late] == ["bench:1"]


def test_what_nobody_can_tell_is_said_and_draws_nothing(acid: Material, plan: Plan) -> None:
    plan(acid, dt.date(2027, 3, 1), 0, "round:4")
    found = look(acid)
    assert found.projection.steps == []
    assert [one.key for one in found.unknown] == ["round:4"]


def test_without_a_supplier_there_is_something_to_buy_and_no_day_to_order_by(shed: Place) -> None:
    found = look(make.acid(low_level=KG))
    assert (found.projection.buy, found.order_by) == (KG, None)
    assert not found.is_due_soon(TODAY)


def test_it_is_due_soon_seven_days_before_and_ever_after(acid: Material, shed: Place, plan: Plan) -> None:
    make.lot(acid, shed, quantity=3 * KG)
    plan(acid, dt.date(2027, 4, 17), 2 * KG)
    found = look(acid)
    assert found.order_by == dt.date(2027, 3, 26)
    assert [found.is_due_soon(dt.date(2027, 3, day)) for day in (18, 19, 30)] == [False, True, True]
    assert not found.is_order_now


# ---- last season -----------------------------------------------------------------------------------------------------
def used(material: Material, shed: Place, day: dt.date, quantity: int = 400_000) -> object:
    item = make.lot(material, shed, quantity=5 * KG, happened_at=noon(dt.date(2025, 12, 1)))
    return do(draw, item=item, place=shed, quantity=quantity, happened_at=noon(day))


def noon(day: dt.date) -> dt.datetime:
    return dt.datetime.combine(day, dt.time(12), tzinfo=dt.UTC)


def season(material: Material) -> list[tuple[dt.date, int]]:
    return [(step.day, -step.change) for step in look(material).projection.steps if step.key == "season"]


def test_last_seasons_use_stands_on_the_same_weekday(acid: Material, shed: Place) -> None:
    used(acid, shed, dt.date(2026, 8, 8))
    assert season(acid) == [(dt.date(2027, 8, 7), 400_000)]
    assert dt.date(2026, 8, 8).isoweekday() == dt.date(2027, 8, 7).isoweekday()


def test_last_season_counts_only_in_months_in_which_nothing_else_is_wanted(
    acid: Material, shed: Place, plan: Plan
) -> None:
    used(acid, shed, dt.date(2026, 4, 11))
    used(acid, shed, dt.date(2026, 8, 8))
    plan(make.acid(), dt.date(2027, 8, 1), 5, "bench:9")
    assert [day.month for day, _amount in season(acid)] == [4, 8]
    plan(acid, dt.date(2027, 8, 31), 5, "bench:9")
    assert [day.month for day, _amount in season(acid)] == [4]
    moved = look(acid, moved={"bench:9": dt.date(2027, 7, 1)})
    assert [one.day.month for one in moved.demands if one.key == "season"] == [4]


def test_an_ask_of_which_nobody_can_tell_what_it_takes_leaves_last_season_be(
    acid: Material, shed: Place, plan: Plan
) -> None:
    used(acid, shed, dt.date(2026, 8, 8))
    plan(acid, dt.date(2027, 8, 1), 0, "round:4")
    assert [day.month for day, _amount in season(acid)] == [8]


def test_last_seasons_use_is_net_of_corrections_and_keeps_its_day(acid: Material, shed: Place) -> None:
    with time_machine.travel(noon(dt.date(2026, 8, 8)), tick=False):
        right = used(acid, shed, dt.date(2026, 4, 11), 900_000)
        never = used(acid, shed, dt.date(2026, 5, 2))
        again = do(correct, movement=right, quantity=800_000, note="misread")
        do(correct, movement=again, quantity=700_000, note="misread again")
        do(correct, movement=never, quantity=0, note="never was")
    assert season(acid) == [(dt.date(2027, 4, 10), 700_000)]


def test_last_season_begins_after_today_and_ends_with_the_outlook(acid: Material, shed: Place) -> None:
    for day in (TODAY, TODAY + dt.timedelta(days=1), UNTIL, UNTIL + dt.timedelta(days=1)):
        used(acid, shed, day - dt.timedelta(days=364))
    assert [day for day, _amount in season(acid)] == [TODAY + dt.timedelta(days=1), UNTIL]


def test_days_are_the_clubs_own(acid: Material, shed: Place) -> None:
    club(zone="Pacific/Auckland")
    item = make.lot(acid, shed, quantity=5 * KG, happened_at=noon(dt.date(2025, 12, 1)))
    late_evening_utc = dt.datetime(2026, 4, 10, 23, 0, tzinfo=dt.UTC)
    do(draw, item=item, place=shed, quantity=1000, happened_at=late_evening_utc)
    assert season(acid) == [(dt.date(2027, 4, 10), 1000)]


def test_twenty_materials_take_no_more_questions_than_two(shed: Place, django_assert_max_num_queries) -> None:  # type: ignore[no-untyped-def]
    def queries(count: int) -> int:
        for _number in range(count):
            material = make.acid()
            make.lot(material, shed, quantity=KG)
            on_order(material, KG, TODAY + dt.timedelta(days=3))
            used(material, shed, dt.date(2026, 8, 8))
        with django_assert_max_num_queries(30) as seen:
            outlook.for_materials(timezone.localdate())
        return len(seen)

    assert queries(2) == queries(18)
