"""From figures and moments to pixels, with round ticks."""

import dataclasses
import datetime as dt
import math

from django.utils import timezone


@dataclasses.dataclass(frozen=True)
class Scale:
    """A straight scale: `low` stands at pixel `start`, `high` at pixel `end`."""

    low: float
    high: float
    start: float
    end: float

    def __call__(self, value: float) -> float:
        span = (self.high - self.low) or 1.0
        return self.start + (value - self.low) * (self.end - self.start) / span

    def inside(self, value: float) -> float:
        """The pixel, kept within the scale."""
        return self(min(max(value, self.low), self.high))

    def ticks(self, about: int = 4) -> list[float]:
        """Round values inside the scale, about so many."""
        step = nice_step((self.high - self.low) / max(about, 1))
        first = math.ceil(self.low / step - 1e-9)
        last = math.floor(self.high / step + 1e-9)
        return [number * step for number in range(first, last + 1)]


def nice_step(rough: float) -> float:
    """The next larger of 1, 2, 5 times a power of ten."""
    if rough <= 0:
        return 1.0
    power = 10.0 ** math.floor(math.log10(rough))
    return next(factor * power for factor in (1, 2, 5, 10) if factor * power >= rough * 0.999)


def seconds(moment: dt.datetime | dt.date) -> float:
    """A moment, or the local noon of a day, as seconds: something a Scale can take."""
    if isinstance(moment, dt.datetime):
        return moment.timestamp()
    return dt.datetime.combine(moment, dt.time(12), tzinfo=timezone.get_current_timezone()).timestamp()


def clock_ticks(first: dt.datetime, last: dt.datetime, most: int) -> list[dt.datetime]:
    """Times from the first on at a round distance, at most so many."""
    minutes = max((last - first).total_seconds() / 60, 1)
    for step in (5, 10, 15, 30, 60, 120, 240, 360, 720, 1440):
        if minutes / step <= most - 1:
            break
    count = int(minutes // step) + 1
    return [first + dt.timedelta(minutes=step * number) for number in range(count)]


def month_ticks(first: dt.date, last: dt.date, most: int) -> list[dt.date]:
    """Firsts of months between two days, thinned to at most so many."""
    found = []
    year, month = first.year, first.month
    while dt.date(year, month, 1) <= last:
        if dt.date(year, month, 1) >= first:
            found.append(dt.date(year, month, 1))
        year, month = (year + 1, 1) if month == 12 else (year, month + 1)
    return found[:: max(1, -(-len(found) // most))]
