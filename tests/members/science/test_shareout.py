"""The share-out: case (c), the properties of the rule, doses of different size, no-shows, and why."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from members.science.shareout import Asker, Line, digest, divide, go_on, why

HIVES_ASK = [(1, 1), (2, 2), (3, 3), (5, 5), (8, 6), (12, 12), (20, 20), (2, 2)]
DRAWN = [6, 3, 7, 1, 8, 2, 5, 4]
A_HIVE = 4


def club(ask_of_m07: int = 20) -> list[Asker]:
    """The eight members of case (c); the numbers of the case are not defaults of anything."""
    askers = []
    for n, ((hives, ask), drawn) in enumerate(zip(HIVES_ASK, DRAWN, strict=True), 1):
        fill = (1, 2) if n == 8 else (1, 1)
        asked = ask_of_m07 if n == 7 else ask
        askers.append(Asker(n, (Line(A_HIVE, hives, asked),), drawn, *fill))
    return askers


def doses(strips: int, floor: bool = False, ask_of_m07: int = 20) -> list[int]:
    division = divide(club(ask_of_m07), strips, floor)
    return [division.doses(key) for key in range(1, 9)]


@pytest.mark.parametrize(
    ("supply", "expected"),
    [
        (31, [1, 1, 2, 3, 5, 7, 11, 1]),
        (12, [0, 0, 1, 1, 2, 3, 5, 0]),
        (13, [0, 0, 1, 1, 2, 3, 5, 1]),
        (26, [0, 1, 1, 3, 4, 6, 10, 1]),
        (27, [1, 1, 1, 3, 4, 6, 10, 1]),
    ],
)
def test_the_plain_rule_gives_the_table_of_the_case(supply, expected):
    assert doses(supply * A_HIVE) == expected


@pytest.mark.parametrize(("supply", "expected"), [(12, [1, 1, 1, 1, 1, 2, 4, 1]), (13, [1, 1, 1, 1, 2, 2, 4, 1])])
def test_with_a_floor_everybody_has_one_first(supply, expected):
    assert doses(supply * A_HIVE, floor=True) == expected


def test_126_strips_are_31_doses_and_2_loose_strips():
    division = divide(club(), 126)
    assert [division.doses(key) * A_HIVE for key in range(1, 9)] == [4, 4, 8, 12, 20, 28, 44, 4]
    assert (division.total, division.strips_left) == (31, 2)


def test_asking_for_more_than_ones_hives_gives_the_same():
    assert doses(124, ask_of_m07=40) == doses(124)


def test_the_tie_for_the_thirteenth_dose_goes_to_who_was_short_last_time():
    step = divide(club(), 13 * A_HIVE).steps[12]
    assert (step.key, step.level, step.settled) == (8, (2, 8), "short last time")
    assert step.quotient == 2


def test_a_tie_among_equals_goes_to_the_lowest_drawn_number():
    askers = [Asker(1, (Line(4, 2, 2),), 9), Asker(2, (Line(4, 2, 2),), 3)]
    step = divide(askers, 4).steps[0]
    assert (step.key, step.settled) == (2, "drawn number")


def test_every_step_is_recorded_with_its_quotient_and_what_is_left():
    steps = divide(club(), 126).steps
    assert [step.n for step in steps] == list(range(1, 32))
    assert [step.strips_left for step in steps] == [126 - 4 * n for n in range(1, 32)]
    quotients = [step.quotient for step in steps]
    assert quotients == sorted(quotients, reverse=True)
    assert steps[0].key == 7
    assert (steps[0].hives, steps[0].divisor) == (20, 1)


def test_what_a_no_show_leaves_goes_on_by_the_same_rule():
    first = divide(club(), 124)
    left = {**first.given, 6: (0,)}
    second = go_on(club(), left, 7 * A_HIVE, out=[6])
    assert [second.doses(key) for key in (1, 2, 3, 4, 5, 7, 8)] == [1, 1, 2, 4, 6, 15, 2]
    assert second.strips_left == 0
    assert second.doses(6) == 0


@pytest.mark.parametrize("floor", [False, True])
def test_for_every_supply_the_promises_hold(floor):
    before = [0] * 8
    for supply in range(61):
        now = doses(supply * A_HIVE, floor)
        assert sum(now) == min(supply, 51)
        assert all(got <= ask for got, (_hives, ask) in zip(now, HIVES_ASK, strict=True))
        assert all(got >= had for got, had in zip(now, before, strict=True))
        assert abs(now[1] - now[7]) <= 1
        before = now


def test_the_one_hive_keeper_gets_nothing_until_27_of_51_by_the_plain_rule():
    assert [doses(supply * A_HIVE)[0] for supply in (25, 26, 27)] == [0, 0, 1]


def test_each_can_read_why():
    askers = club()
    reasons = why(askers, divide(askers, 26 * A_HIVE))
    keeper = reasons[1]
    assert (keeper.got, keeper.asked, keeper.next_quotient) == (0, 1, (1, 1))
    assert keeper.last_given == Fraction(1)
    assert keeper.fell_short_by == Fraction(0)
    assert (keeper.doses_until_next, keeper.last_step, keeper.is_passed_over) == (1, None, False)
    earlier = why(askers, divide(askers, 12 * A_HIVE))[1]
    assert earlier.last_given == Fraction(20, 9)
    assert earlier.fell_short_by == Fraction(11, 9)
    assert earlier.doses_until_next == 27 - 12
    enough = why(askers, divide(askers, 51 * A_HIVE))
    assert all(reason.next_quotient is None and reason.doses_until_next is None for reason in enough.values())


def test_the_digest_names_the_input_and_not_its_order():
    askers = club()
    mark = divide(askers, 126).digest
    assert mark == divide(list(reversed(askers)), 126).digest == digest(askers, 126, False)
    assert mark != divide(askers, 125).digest
    assert mark != divide(askers, 126, floor=True).digest
    assert mark != divide(club(ask_of_m07=19), 126).digest


def test_the_same_number_drawn_twice_is_refused():
    with pytest.raises(ValueError, match="drawn number"):
        divide([Asker(1, (Line(4, 1, 1),), 1), Asker(2, (Line(4, 1, 1),), 1)], 4)


def test_a_dose_that_does_not_fit_is_passed_over_and_a_smaller_one_is_given():
    askers = [Asker(1, (Line(6, 3, 3),), 1), Asker(2, (Line(2, 1, 1),), 2)]
    division = divide(askers, 9)
    assert (division.doses(1), division.doses(2), division.strips_left) == (1, 1, 1)
    assert division.passed[0].key == 1
    assert why(askers, division)[1].is_passed_over


def lines() -> st.SearchStrategy[tuple[Line, ...]]:
    line = st.builds(Line, st.integers(1, 8), st.integers(0, 12), st.integers(0, 15))
    return st.lists(line, min_size=1, max_size=3).map(tuple)


def askers_of(some_lines: st.SearchStrategy[tuple[Line, ...]]) -> st.SearchStrategy[list[Asker]]:
    row = st.tuples(some_lines, st.integers(0, 5), st.integers(0, 5))
    return st.lists(row, min_size=1, max_size=8).map(
        lambda rows: [Asker(n, own, 50 - n, got, asked) for n, (own, got, asked) in enumerate(rows)]
    )


ALIKE = st.builds(lambda hives, ask: (Line(4, hives, ask),), st.integers(1, 25), st.integers(0, 30))


@given(askers_of(lines()), st.integers(0, 400), st.booleans())
def test_with_doses_of_any_size_nobody_is_above_and_nothing_that_fits_is_left_unmet(askers, strips, floor):
    division = divide(askers, strips, floor)
    used = 0
    for asker in askers:
        for line, got in zip(asker.lines, division.given[asker.key], strict=True):
            assert 0 <= got <= line.capped
            assert got == line.capped or line.strips > division.strips_left
            used += got * line.strips
    assert used + division.strips_left == strips


@given(askers_of(ALIKE), st.integers(0, 120), st.booleans())
def test_one_more_dose_takes_from_nobody_and_is_all_used(askers, supply, floor):
    less, more = divide(askers, 4 * supply, floor), divide(askers, 4 * supply + 4, floor)
    assert less.total == min(supply, sum(asker.ask for asker in askers))
    assert all(more.doses(asker.key) >= less.doses(asker.key) for asker in askers)


@given(askers_of(ALIKE), st.integers(0, 120), st.integers(1, 25), st.booleans())
def test_two_with_the_same_hives_and_ask_differ_by_at_most_one(askers, supply, hives, floor):
    twins = [Asker(100 + n, (Line(4, hives, hives),), 100 + n, n, 1) for n in range(2)]
    division = divide([*askers, *twins], 4 * supply, floor)
    assert abs(division.doses(100) - division.doses(101)) <= 1


@given(askers_of(ALIKE), st.integers(0, 120), st.integers(1, 30))
def test_asking_for_more_than_one_needs_never_brings_what_one_needs_sooner(askers, supply, more):
    first, rest = askers[0], askers[1:]
    line = first.lines[0]
    greedy = Asker(first.key, (Line(4, line.hives, line.ask + more),), first.drawn, first.last_got, first.last_asked)
    needed = first.ask
    plain = divide(askers, 4 * supply).doses(first.key)
    assert min(divide([greedy, *rest], 4 * supply).doses(first.key), needed) <= plain


@given(askers_of(lines()), st.integers(0, 200))
def test_a_division_can_be_repeated_from_its_record(askers, strips):
    first, again = divide(askers, strips), divide(list(reversed(askers)), strips)
    assert (first.steps, first.passed, first.digest) == (again.steps, again.passed, again.digest)
