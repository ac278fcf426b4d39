"""Strips in and out on a time line, and plain bars with intervals (mites before and after, doses by lot)."""

import dataclasses
import datetime as dt
from collections.abc import Sequence

from django.utils import dateformat, timezone
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from coop import wording
from coop.drawing.ink import band, diamond, dot, line, svg, text, triangle
from coop.drawing.picture import Picture, two_sizes
from coop.drawing.scale import Scale, month_ticks, seconds


@dataclasses.dataclass(frozen=True)
class Stay:
    """Strips in one apiary: in, due out, and out, or None while they are in."""

    label: str
    since: dt.date
    due: dt.date
    out: dt.date | None = None


def timeline(stays: Sequence[Stay], *, title: str, today: dt.date | None = None, lead: str = "") -> Picture:
    """A bar from in to out for each stay; dashed to the due day, which is a triangle, or a rust diamond once past."""
    here = today or timezone.localdate()

    def draw(width: float) -> SafeString:
        return _timeline(width, stays, here)

    return Picture(
        title,
        **two_sizes(draw),
        lead=lead,
        heads=[_("Where"), _("In"), _("Due out"), _("Out")],
        rows=[
            [
                stay.label,
                wording.day(stay.since),
                wording.day(stay.due),
                wording.day(stay.out) if stay.out else _("still in"),
            ]
            for stay in stays
        ],
    )


def _timeline(width: float, stays: Sequence[Stay], today: dt.date) -> SafeString:
    if not stays:
        return svg(width, 24, [], title=_("No strips in or out yet"))
    first = min([today, *(stay.since for stay in stays)])
    last = max([today, *(stay.due for stay in stays), *(stay.out for stay in stays if stay.out)])
    x = Scale(seconds(first) - 86400, seconds(last) + 2 * 86400, 8, width - 12)
    foot = 26.0 + len(stays) * 46
    parts = [
        line([(x(seconds(today)), 24), (x(seconds(today)), foot)], "soft", 1),
        text(min(max(x(seconds(today)), 24), width - 24), 17, _("today"), "soft", "middle"),
    ]
    for place, stay in enumerate(stays):
        parts += _stay(x, 34.0 + place * 46, stay, today, width)
    parts.append(line([(0, foot), (width, foot)], "ink", 1))
    for month in month_ticks(first, last, 4 if width < 400 else 9):
        at = x(seconds(month))
        parts.append(line([(at, foot), (at, foot + 5)], "ink", 1))
        parts.append(
            text(
                min(at, width - 16), foot + 24, dateformat.format(month, "M"), "soft", "middle" if at > 20 else "start"
            )
        )
    still = sum(stay.out is None for stay in stays)
    desc = _("%(still)s of %(all)s still in.") % {"still": still, "all": len(stays)}
    return svg(width, foot + 34, parts, title=_("Strips in and out"), desc=desc)


def _stay(x: Scale, top: float, stay: Stay, today: dt.date, width: float) -> list[SafeString]:
    start, end = x(seconds(stay.since)), x(seconds(stay.out or max(today, stay.since)))
    due, middle = x(seconds(stay.due)), top + 28
    parts = [text(min(start, width * 0.6), top + 14, stay.label, halo=True)]
    parts.append(band(start, max(end, start + 3), middle - 4, middle + 4, "mid" if stay.out else "pine"))
    if stay.out is None and stay.due > today:
        parts += [line([(end, middle), (due, middle)], "pine", 2, "3 4"), triangle(due, middle, "ochre", 7)]
    elif stay.out is None:
        parts.append(diamond(due, middle, "rust", 7))
    else:
        parts.append(dot(end, middle, "pine", 5))
    return parts


@dataclasses.dataclass(frozen=True)
class Bar:
    """One bar: what, how much, and the interval it lies in, if known."""

    label: str
    value: float
    low: float | None = None
    high: float | None = None
    tone: str = "pine"


def bar_picture(bars: Sequence[Bar], *, title: str, unit: str = "", places: int = 1, lead: str = "") -> Picture:
    """Lying bars, each named above itself with its figure; a whisker shows the interval. Nought is at the left."""

    def draw(width: float) -> SafeString:
        return _bars(width, bars, title, unit, places)

    def words(value: float | None) -> str:
        if value is None:
            return wording.NOTHING
        return wording.with_unit(value, unit, places) if unit else wording.figure(value, places)

    return Picture(
        title,
        **two_sizes(draw),
        lead=lead,
        heads=[_("What"), _("Figure"), _("From"), _("To")],
        rows=[[bar.label, words(bar.value), words(bar.low), words(bar.high)] for bar in bars],
    )


def _bars(width: float, bars: Sequence[Bar], title: str, unit: str, places: int) -> SafeString:
    most = max([0.0, *(bar.high if bar.high is not None else bar.value for bar in bars)]) or 1.0
    x = Scale(0, most, 0, width - 4)
    parts: list[SafeString] = []
    for place, bar in enumerate(bars):
        top = place * 48.0
        figure = wording.with_unit(bar.value, unit, places) if unit else wording.figure(bar.value, places)
        parts += [
            text(0, top + 16, bar.label),
            text(width, top + 16, figure, anchor="end", bold=True),
            band(0, max(x(bar.value), 1), top + 24, top + 34, bar.tone),
            line([(0, top + 21), (0, top + 37)], "ink", 1.5),
        ]
        if bar.low is not None and bar.high is not None:
            ends = x(max(bar.low, 0)), x(bar.high)
            parts.append(line([(ends[0], top + 29), (ends[1], top + 29)], "ink", 1.5))
            parts += [line([(end, top + 24), (end, top + 34)], "ink", 1.5) for end in ends]
    return svg(width, max(len(bars) * 48.0 - 8, 24), parts, title=title)
