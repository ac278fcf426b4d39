"""Days as people in the club's zone mean them: when strips are due out, and when to say so.

Moments come and go in UTC, a day is a local calendar date. Days are counted on the calendar, never in hours: over a
clock change 42 days are not 42 x 24 hours.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

STAGES = (-7, 0, 3, 10)
NOTICE_HOUR = 8


@dataclass(frozen=True)
class Reminder:
    """A stage (days from the due date), its local day, and the moment in UTC from which it is due."""

    stage: int
    day: dt.date
    at: dt.datetime


def local_day(moment: dt.datetime, zone: str) -> dt.date:
    """The calendar date at that moment in the zone. Refuses (ValueError) a moment without a zone."""
    if moment.utcoffset() is None:
        raise ValueError("a moment without a zone")
    return moment.astimezone(ZoneInfo(zone)).date()


def due_on(entered_at: dt.datetime, days: int, zone: str) -> dt.date:
    """The day strips are due out: the local date they went in, and so many calendar days."""
    return local_day(entered_at, zone) + dt.timedelta(days=days)


def at_local(day: dt.date, hour: int, zone: str) -> dt.datetime:
    """That full hour of that day in the zone, in UTC. Of an hour that comes twice the first, of one that the clock
    leaves out the moment just as far after the change.
    """
    return dt.datetime.combine(day, dt.time(hour), tzinfo=ZoneInfo(zone)).astimezone(dt.UTC)


def reminders(due: dt.date, zone: str, stages: Sequence[int] = STAGES, hour: int = NOTICE_HOUR) -> tuple[Reminder, ...]:
    """One for each stage, in order of time."""
    days = [(stage, due + dt.timedelta(days=stage)) for stage in sorted(stages)]
    return tuple(Reminder(stage, day, at_local(day, hour, zone)) for stage, day in days)


def latest_stage(
    due: dt.date, now: dt.datetime, zone: str, stages: Sequence[int] = STAGES, hour: int = NOTICE_HOUR
) -> Reminder | None:
    """The one to tell as of now: the latest whose moment has come. None before the first."""
    come = [reminder for reminder in reminders(due, zone, stages, hour) if reminder.at <= now]
    return come[-1] if come else None


def all_day(due: dt.date) -> tuple[dt.date, dt.date]:
    """Start and end of an all-day entry: the end is exclusive (RFC 5545)."""
    return due, due + dt.timedelta(days=1)
