"""Case (f): soak and heating time is elapsed time, also over a clock change."""

import datetime as dt
from zoneinfo import ZoneInfo

import pytest

from batches.science import clock

PARIS = ZoneInfo("Europe/Paris")


def paris(*parts: int, fold: int = 0) -> dt.datetime:
    return dt.datetime(*parts, tzinfo=PARIS, fold=fold)  # type: ignore[misc,arg-type]


def test_48_hours_from_before_the_autumn_change_end_an_hour_earlier_on_the_wall():
    assert clock.after(paris(2026, 10, 24, 19), 48) == paris(2026, 10, 26, 18)
    assert clock.after(paris(2026, 10, 24, 19), 48).hour == 18


def test_48_hours_from_before_the_spring_change_end_an_hour_later_on_the_wall():
    assert clock.after(paris(2026, 3, 28, 10, 15), 48) == paris(2026, 3, 30, 11, 15)


def test_two_days_on_the_wall_over_the_autumn_change_are_49_hours():
    assert clock.hours(paris(2026, 10, 23, 20), paris(2026, 10, 25, 20)) == 49


def test_two_readings_with_the_same_wall_time_are_an_hour_apart():
    first, second = paris(2026, 10, 25, 2, 30), paris(2026, 10, 25, 2, 30, fold=1)
    assert first.astimezone(dt.UTC) == dt.datetime(2026, 10, 25, 0, 30, tzinfo=dt.UTC)
    assert clock.minutes(first, second) == 60


def test_ten_minutes_over_the_spring_change():
    assert clock.minutes(paris(2026, 3, 29, 1, 55), paris(2026, 3, 29, 3, 5)) == 10


def test_a_moment_without_a_zone_is_refused():
    with pytest.raises(ValueError, match="without a zone"):
        clock.hours(dt.datetime(2026, 3, 29), paris(2026, 3, 29, 3))
