"""The projected balance: worked figures, and what must hold whatever the figures are."""

import datetime as dt
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.science.outlook import EVERY_DAY, Arrival, Draw, LotAhead, Projection, Terms, order_day, project

TODAY = dt.date(2027, 2, 15)
UNTIL = dt.date(2027, 8, 31)
WORKDAYS = frozenset({1, 2, 3, 4, 5})
TERMS = Terms(2000, 21, WORKDAYS, 2500)
# case (e) of the club's worked cases
A1 = LotAhead(1, 3200, dt.date(2027, 4, 10))
A2 = LotAhead(2, 5000, dt.date(2028, 9, 30))
A3 = LotAhead(3, 2500, dt.date(2028, 9, 30))
PLANNED = [
    Draw(dt.date(2027, month, day), quantity, "batch")
    for month, day, quantity in ((3, 6, 1800), (3, 27, 2400), (4, 17, 2250), (5, 8, 1900), (8, 7, 3000))
]


def look(
    lots: Sequence[LotAhead],
    draws: Sequence[Draw] = PLANNED,
    arrivals: Sequence[Arrival] = (),
    terms: Terms = TERMS,
    until: dt.date = UNTIL,
) -> Projection:
    return project(TODAY, lots, draws, arrivals, terms, until)


def rows(projection: Projection) -> list[tuple[str, str, int, int]]:
    return [(step.day.strftime("%m-%d"), step.kind, step.change, step.balance) for step in projection.steps]


def test_the_worked_case_as_planned() -> None:
    found = look([A1, A2])
    assert rows(found) == [
        ("03-06", "draw", -1800, 6400),
        ("03-27", "draw", -2400, 4000),
        ("04-11", "expired", 0, 4000),
        ("04-17", "draw", -2250, 1750),
        ("05-08", "draw", -1900, -150),
        ("08-07", "draw", -3000, -3150),
    ]
    assert (found.start, found.breached_on, found.runs_out_on) == (8200, dt.date(2027, 4, 17), dt.date(2027, 5, 8))
    assert (found.order_by, found.short, found.packs, found.buy) == (dt.date(2027, 3, 26), 5150, 3, 7500)
    assert found.wasted == {}


def test_the_worked_case_with_the_hold_lifted() -> None:
    found = look([A1, A2, A3])
    assert [row[3] for row in rows(found)] == [8900, 6500, 6500, 4250, 2350, -650]
    assert found.breached_on == found.runs_out_on == dt.date(2027, 8, 7)
    assert (found.order_by, found.short, found.buy) == (dt.date(2027, 7, 16), 2650, 5000)


def test_the_worked_case_with_a_batch_that_slips() -> None:
    slipped = [PLANNED[0], PLANNED[1]._replace(day=dt.date(2027, 4, 17)), *PLANNED[2:]]
    found = look([A1, A2], slipped)
    assert rows(found) == [
        ("03-06", "draw", -1800, 6400),
        ("04-11", "expired", -1400, 5000),
        ("04-17", "draw", -2400, 2600),
        ("04-17", "draw", -2250, 350),
        ("05-08", "draw", -1900, -1550),
        ("08-07", "draw", -3000, -4550),
    ]
    assert found.wasted == {1: 1400}
    assert (found.order_by, found.short, found.buy) == (dt.date(2027, 3, 26), 6550, 7500)


def test_a_lot_may_be_used_on_its_best_before_day_and_not_on_the_next() -> None:
    on_the_day = look([A1], [Draw(dt.date(2027, 4, 10), 3200, "")])
    assert on_the_day.end == 0
    assert on_the_day.wasted == {}
    a_day_late = look([A1], [Draw(dt.date(2027, 4, 11), 3200, "")])
    assert a_day_late.end == -3200
    assert a_day_late.wasted == {1: 3200}


def test_a_shortage_is_filled_by_the_next_arrival_first() -> None:
    found = look([], [Draw(dt.date(2027, 3, 6), 700, "")], [Arrival(dt.date(2027, 4, 1), 1000, "order")])
    assert [row[3] for row in rows(found)] == [-700, 300]


def test_what_arrives_in_the_morning_is_there_for_the_bench_of_that_day() -> None:
    day = dt.date(2027, 3, 6)
    found = look([], [Draw(day, 700, "")], [Arrival(day, 1000, "order")], Terms(0, 21))
    assert found.runs_out_on is None
    assert found.end == 300


def test_under_safety_already_is_breached_today_and_the_order_is_past() -> None:
    found = look([LotAhead(1, 1999, None)], [])
    assert found.breached_on == TODAY
    assert found.order_by == dt.date(2027, 1, 25)
    assert look([LotAhead(1, 2000, None)], []).breached_on is None


def test_an_empty_shelf_runs_out_only_when_something_is_drawn() -> None:
    assert look([], [], terms=Terms(0, 21)).runs_out_on is None
    assert look([], PLANNED, terms=Terms(0, 21)).runs_out_on == dt.date(2027, 3, 6)


def test_a_draw_whose_day_is_past_is_taken_today_and_one_after_the_end_is_not() -> None:
    draws = [Draw(dt.date(2027, 1, 2), 100, "late"), Draw(dt.date(2027, 9, 1), 5000, "after")]
    assert rows(look([A2], draws)) == [("02-15", "draw", -100, 4900)]


def test_nothing_short_is_no_pack_and_no_pack_size_is_the_bare_amount() -> None:
    assert (look([A2], []).packs, look([A2], []).buy) == (0, 0)
    bare = look([A1, A2], terms=TERMS._replace(pack=None))
    assert (bare.packs, bare.buy) == (None, 5150)


@pytest.mark.parametrize(
    ("needed", "lead", "weekdays", "by"),
    [
        ("2027-04-17", 21, WORKDAYS, "2027-03-26"),  # Saturday back to Friday
        ("2027-08-07", 21, WORKDAYS, "2027-07-16"),
        ("2027-04-17", 21, frozenset({2, 4}), "2027-03-25"),  # Tuesday and Thursday only
        ("2027-04-17", 21, frozenset({1}), "2027-03-22"),
        ("2027-04-17", 0, EVERY_DAY, "2027-04-17"),
        ("2027-04-17", 21, frozenset(), "2027-03-27"),
    ],
)
def test_the_day_to_order_by(needed: str, lead: int, weekdays: frozenset[int], by: str) -> None:
    assert order_day(dt.date.fromisoformat(needed), lead, weekdays) == dt.date.fromisoformat(by)


def test_without_lead_days_there_is_no_day_to_order_by() -> None:
    assert look([A1, A2], terms=TERMS._replace(lead_days=None)).order_by is None


days = st.integers(0, 240).map(lambda n: TODAY + dt.timedelta(days=n))
amounts = st.integers(1, 5000)
some_lots = st.lists(st.tuples(amounts, st.none() | days), max_size=6).map(
    lambda found: [LotAhead(key, quantity, best) for key, (quantity, best) in enumerate(found, 1)]
)
some_draws = st.lists(st.builds(Draw, days, amounts, st.just(""), st.just("")), max_size=8)
some_arrivals = st.lists(st.builds(Arrival, days, amounts, st.just(""), st.just("")), max_size=3)


@given(some_lots, some_draws, some_arrivals)
def test_nothing_comes_from_nowhere(lots: list[LotAhead], draws: list[Draw], arrivals: list[Arrival]) -> None:
    found = look(lots, draws, arrivals)
    came = sum(arrival.quantity for arrival in arrivals if arrival.day <= UNTIL)
    went = sum(draw.quantity for draw in draws if draw.day <= UNTIL)
    assert found.start == sum(lot.quantity for lot in lots)
    assert found.end == found.start + came - went - sum(found.wasted.values())
    balance = found.start
    for step in found.steps:
        balance += step.change
        assert step.balance == balance
    assert [step.day for step in found.steps] == sorted(step.day for step in found.steps)


@given(some_lots, some_draws, some_arrivals)
def test_no_lot_loses_more_than_it_held(lots: list[LotAhead], draws: list[Draw], arrivals: list[Arrival]) -> None:
    held = {lot.key: lot.quantity for lot in lots if lot.best_before is not None}
    wasted = look(lots, draws, arrivals).wasted
    assert all(0 < lost <= held[key] for key, lost in wasted.items())


@given(some_lots, some_draws, some_arrivals, amounts, st.none() | days)
def test_more_stock_never_brings_the_run_out_nearer(
    lots: list[LotAhead], draws: list[Draw], arrivals: list[Arrival], more: int, best: dt.date | None
) -> None:
    before, after = look(lots, draws, arrivals), look([*lots, LotAhead(99, more, best)], draws, arrivals)
    last = dt.date.max
    assert (after.runs_out_on or last) >= (before.runs_out_on or last)
    assert (after.breached_on or last) >= (before.breached_on or last)
    assert after.end >= before.end
    assert after.buy <= before.buy


@given(some_lots, st.lists(st.builds(Draw, days, amounts, st.just(""), st.just("")), min_size=1, max_size=8), days)
def test_a_draw_that_slips_saves_nothing_in_the_end(lots: list[LotAhead], draws: list[Draw], later: dt.date) -> None:
    """Until the new day there is as much or more; from then on as much or less, for more may have expired."""
    if later < draws[0].day or later > UNTIL:
        return
    before, after = look(lots, draws), look(lots, [draws[0]._replace(day=later), *draws[1:]])
    assert after.end <= before.end
    assert sum(after.wasted.values()) >= sum(before.wasted.values())

    def at(found: Projection, day: dt.date) -> int:
        return next((step.balance for step in reversed(found.steps) if step.day <= day), found.start)

    for day in (TODAY + dt.timedelta(days=n) for n in range(0, 200, 7)):
        if day < later:
            assert at(after, day) >= at(before, day)
        else:
            assert at(after, day) <= at(before, day)


@given(some_lots, some_draws, some_arrivals)
def test_what_is_bought_ends_at_safety_and_less_would_not(
    lots: list[LotAhead], draws: list[Draw], arrivals: list[Arrival]
) -> None:
    found = look(lots, draws, arrivals)
    assert found.packs is not None
    assert found.end + found.buy >= 2000
    assert found.packs == 0 or found.end + found.buy - 2500 < 2000


@given(days, st.integers(0, 60), st.sets(st.integers(1, 7), min_size=1).map(frozenset))
def test_the_order_day_is_the_last_open_one_in_time(needed: dt.date, lead: int, weekdays: frozenset[int]) -> None:
    by = order_day(needed, lead, weekdays)
    latest = needed - dt.timedelta(days=lead)
    assert by is not None
    assert by <= latest
    assert by.isoweekday() in weekdays
    between = (by + dt.timedelta(days=n) for n in range(1, (latest - by).days + 1))
    assert all(day.isoweekday() not in weekdays for day in between)
