"""Case (f): days across a clock change."""

import datetime as dt
from zoneinfo import ZoneInfo

import pytest

from members.science.calendar_days import all_day, at_local, due_on, latest_stage, local_day, reminders

PARIS, AUCKLAND = "Europe/Paris", "Pacific/Auckland"


def paris(*parts: int) -> dt.datetime:
    return dt.datetime(*parts, tzinfo=ZoneInfo(PARIS))  # type: ignore[misc,arg-type]


def utc(*parts: int) -> dt.datetime:
    return dt.datetime(*parts, tzinfo=dt.UTC)  # type: ignore[misc,arg-type]


def test_42_days_over_the_autumn_change_end_on_the_calendar_date():
    assert due_on(paris(2026, 9, 19, 17, 40), 42, PARIS) == dt.date(2026, 10, 31)


def test_shortly_after_midnight_counts_from_the_local_date():
    entered = paris(2026, 9, 20, 0, 20)
    assert due_on(entered, 42, PARIS) == dt.date(2026, 11, 1)
    assert entered.astimezone(dt.UTC).date() == dt.date(2026, 9, 19)
    by_hours = (entered.astimezone(dt.UTC) + dt.timedelta(hours=42 * 24)).astimezone(ZoneInfo(PARIS))
    assert by_hours == paris(2026, 10, 31, 23, 20)


def test_notices_stand_at_eight_local_on_both_sides_of_the_change():
    found = {row.stage: row.at for row in reminders(dt.date(2026, 10, 31), PARIS)}
    assert found[-7] == utc(2026, 10, 24, 6)
    assert found[0] == utc(2026, 10, 31, 7)
    assert found[3] == utc(2026, 11, 3, 7)
    assert found[10] == utc(2026, 11, 10, 7)


def test_the_days_of_the_notices_are_local_dates():
    days = [row.day for row in reminders(dt.date(2026, 10, 31), PARIS)]
    assert days == [dt.date(2026, 10, 24), dt.date(2026, 10, 31), dt.date(2026, 11, 3), dt.date(2026, 11, 10)]


def test_in_auckland_the_notice_stands_on_the_utc_day_before():
    due = due_on(dt.datetime(2026, 8, 22, 12, tzinfo=ZoneInfo(AUCKLAND)), 42, AUCKLAND)
    assert due == dt.date(2026, 10, 3)
    at = at_local(due, 8, AUCKLAND)
    assert at == utc(2026, 10, 2, 19)
    assert local_day(at, AUCKLAND) == due


def test_entered_late_only_the_latest_stage_is_told():
    late = paris(2026, 11, 4, 9)
    found = latest_stage(dt.date(2026, 10, 31), late, PARIS)
    assert found is not None
    assert found.stage == 3


def test_a_stage_is_due_from_its_own_minute_on():
    due = dt.date(2026, 10, 31)
    before, then = utc(2026, 10, 24, 5, 59), utc(2026, 10, 24, 6)
    assert latest_stage(due, before, PARIS) is None
    found = latest_stage(due, then, PARIS)
    assert found is not None
    assert found.stage == -7


def test_a_date_corrected_to_a_week_before_is_due_a_week_before():
    assert due_on(paris(2026, 9, 12, 17, 40), 42, PARIS) == dt.date(2026, 10, 24)


def test_an_all_day_entry_ends_before_the_next_day():
    assert all_day(dt.date(2026, 10, 31)) == (dt.date(2026, 10, 31), dt.date(2026, 11, 1))


def test_a_date_from_the_reference_and_one_over_new_year():
    """2026-08-01 + 42 days (computed)."""
    assert due_on(utc(2026, 8, 1, 12), 42, "UTC") == dt.date(2026, 9, 12)
    assert due_on(paris(2026, 12, 30, 12), 42, PARIS) == dt.date(2027, 2, 10)


def test_an_hour_that_the_clock_leaves_out_and_one_that_comes_twice_have_a_moment():
    assert at_local(dt.date(2026, 3, 29), 2, PARIS) == utc(2026, 3, 29, 1)
    assert at_local(dt.date(2026, 10, 25), 2, PARIS) == utc(2026, 10, 25, 0)


def test_a_moment_without_a_zone_is_refused():
    with pytest.raises(ValueError, match="without a zone"):
        due_on(dt.datetime(2026, 9, 19, 17, 40), 42, PARIS)
