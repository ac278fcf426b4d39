"""The temperature curve of a mix: readings, the ceiling, where to turn down, and the forecast once there is one."""

import dataclasses
import datetime as dt
from collections.abc import Sequence

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from coop import wording
from coop.drawing.ink import band, between, dot, line, ring, svg, text
from coop.drawing.picture import Picture, two_sizes
from coop.drawing.scale import Scale, clock_ticks, seconds

HEIGHT, TOP, FOOT, RIGHT = 236.0, 8.0, 32.0, 44.0


@dataclasses.dataclass(frozen=True)
class HeatReading:
    """One reading, corrected, in degrees Celsius. `only_here`: known to this phone only so far."""

    at: dt.datetime
    solution_c: float
    uncertainty_c: float = 0.0
    clarity: str = ""
    only_here: bool = False


@dataclasses.dataclass(frozen=True)
class HeatForecast:
    """What is expected at a moment, with the range it is expected in, degrees Celsius."""

    at: dt.datetime
    mean_c: float
    low_c: float
    high_c: float


def temperature_curve(
    readings: Sequence[HeatReading],
    *,
    ceiling_c: float,
    turn_down_c: float | None = None,
    forecast: Sequence[HeatForecast] = (),
    note: str = "",
) -> Picture:
    """The curve with its ceiling. `note` says what the forecast says, or why there is none."""

    def draw(width: float) -> SafeString:
        return _curve(width, readings, ceiling_c, turn_down_c, forecast)

    return Picture(
        _("Solution, °C, since heating began"),
        **two_sizes(draw),
        heads=[_("Time"), _("Solution"), _("Clarity")],
        rows=[
            [
                wording.clock(one.at),
                _with_range(one.solution_c, one.uncertainty_c),
                one.clarity,
            ]
            for one in readings
        ],
        note=note,
    )


def _with_range(value_c: float, uncertainty_c: float) -> str:
    if not uncertainty_c:
        return wording.with_unit(value_c, "°C", 1)
    return f"{wording.figure(value_c, 1)} ±{wording.with_unit(uncertainty_c, '°C', 1)}"


def _curve(
    width: float,
    readings: Sequence[HeatReading],
    ceiling_c: float,
    turn_down_c: float | None,
    forecast: Sequence[HeatForecast],
) -> SafeString:
    right, foot = width - RIGHT, HEIGHT - FOOT
    highest = max([ceiling_c + 8, *(one.solution_c + 2 for one in readings), *(one.high_c + 1 for one in forecast)])
    lowest = min([10.0, *(one.solution_c - 2 for one in readings)])
    y = Scale(lowest, highest, foot, TOP)
    x = _time_scale(readings, forecast, right)
    parts = [*_limits(y, right, ceiling_c, turn_down_c), *_axes(x, y, width, right, readings, forecast, ceiling_c)]
    parts += _expected(x, y, readings, forecast)
    points = [(x(seconds(one.at)), y(one.solution_c)) for one in readings]
    if len(points) > 1:
        parts.append(line(points, "pine", 2.5))
    parts += [
        ring(*point, "slate", 5.5) if one.only_here else dot(*point, "pine", 4)
        for point, one in zip(points, readings, strict=True)
    ]
    return svg(width, HEIGHT, parts, title=_("Temperature curve"), desc=_said(readings, ceiling_c))


def _time_scale(readings: Sequence[HeatReading], forecast: Sequence[HeatForecast], right: float) -> Scale:
    """At least half an hour wide, so that the first readings do not fill the picture."""
    times = [*(seconds(one.at) for one in readings), *(seconds(one.at) for one in forecast)] or [0.0]
    return Scale(times[0], max(times[-1], times[0] + 1800), 4, right - 4)


def _limits(y: Scale, right: float, ceiling_c: float, turn_down_c: float | None) -> list[SafeString]:
    parts = [
        band(0, right, TOP, y(ceiling_c), "wash-rust"),
        line([(0, y(ceiling_c)), (right, y(ceiling_c))], "rust", 2),
        text(6, y(ceiling_c) - 6, _("ceiling %(temp)s") % {"temp": wording.figure(ceiling_c)}, "rust"),
    ]
    if turn_down_c is not None:
        words = _("turn down at %(temp)s") % {"temp": wording.figure(turn_down_c)}
        parts.append(line([(0, y(turn_down_c)), (right, y(turn_down_c))], "ochre", 1.5, "6 4"))
        parts.append(text(6, y(turn_down_c) - 6, words, halo=True))
    return parts


def _axes(
    x: Scale,
    y: Scale,
    width: float,
    right: float,
    readings: Sequence[HeatReading],
    forecast: Sequence[HeatForecast],
    ceiling_c: float,
) -> list[SafeString]:
    foot = y.start
    parts = [line([(0, foot), (right, foot)], "ink", 1)]
    for value in (20.0, 40.0, ceiling_c):
        if y.low < value < y.high:
            if value != ceiling_c:
                parts.append(line([(0, y(value)), (right, y(value))], "rule", 1))
            parts.append(text(width, y(value) + 6, wording.figure(value), "soft", "end"))
    if not readings:
        return parts
    last = dt.datetime.fromtimestamp(x.high, tz=dt.UTC)
    for place, tick in enumerate(clock_ticks(readings[0].at, last, 4 if width < 400 else 7)):
        at = x(seconds(tick))
        parts.append(line([(at, foot), (at, foot + 5)], "ink", 1))
        anchor = "start" if place == 0 else "end" if at > right - 24 else "middle"
        parts.append(text(0 if place == 0 else min(at, right), foot + 24, wording.clock(tick), "soft", anchor))
    return parts


def _expected(
    x: Scale, y: Scale, readings: Sequence[HeatReading], forecast: Sequence[HeatForecast]
) -> list[SafeString]:
    if not forecast or not readings:
        return []
    begins = (x(seconds(readings[-1].at)), y(readings[-1].solution_c))
    at = [x(seconds(one.at)) for one in forecast]
    low = [begins, *((px, y(one.low_c)) for px, one in zip(at, forecast, strict=True))]
    high = [begins, *((px, y(one.high_c)) for px, one in zip(at, forecast, strict=True))]
    mean = [begins, *((px, y(one.mean_c)) for px, one in zip(at, forecast, strict=True))]
    return [between(low, high, "pale"), line(mean, "pine", 2, "3 4")]


def _said(readings: Sequence[HeatReading], ceiling_c: float) -> str:
    if not readings:
        return _("No reading yet.")
    return _("From %(first)s at %(start)s to %(last)s at %(end)s; the ceiling is %(ceiling)s.") % {
        "first": wording.with_unit(readings[0].solution_c, "°C", 1),
        "start": wording.clock(readings[0].at),
        "last": wording.with_unit(readings[-1].solution_c, "°C", 1),
        "end": wording.clock(readings[-1].at),
        "ceiling": wording.with_unit(ceiling_c, "°C"),
    }
