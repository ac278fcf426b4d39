"""Elapsed time on the bench: real hours between two moments, whatever the wall clock did in between."""

import datetime as dt

_UTC = dt.UTC


def elapsed(start: dt.datetime, end: dt.datetime) -> dt.timedelta:
    """Real time from start to end. Both must carry a zone (ValueError).

    Two moments of one zone would otherwise be subtracted by their wall clocks, an hour wrong over a clock change.
    """
    return _utc(end) - _utc(start)


def hours(start: dt.datetime, end: dt.datetime) -> float:
    return elapsed(start, end) / dt.timedelta(hours=1)


def minutes(start: dt.datetime, end: dt.datetime) -> float:
    return elapsed(start, end) / dt.timedelta(minutes=1)


def after(start: dt.datetime, hours: float) -> dt.datetime:
    """The moment so many real hours later, in the zone of `start`."""
    return (_utc(start) + dt.timedelta(hours=hours)).astimezone(start.tzinfo)


def _utc(moment: dt.datetime) -> dt.datetime:
    if moment.utcoffset() is None:
        raise ValueError("a moment without a zone")
    return moment.astimezone(_UTC)
