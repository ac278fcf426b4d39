"""The projected balance of a material: a step line from what was counted to where it runs out, and bars of its lots.

What expires falls by a dashed ochre line, what arrives rises, a diamond stands on zero where it runs out.
"""

import dataclasses
import datetime as dt
import itertools
from collections.abc import Sequence

from django.utils import dateformat
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from coop import wording
from coop.drawing.ink import Point, band, diamond, dot, el, joined, line, svg, text, triangle
from coop.drawing.picture import Picture, two_sizes
from coop.drawing.scale import Scale, month_ticks, seconds

TOP, FOOT = 38.0, 34.0
#: a letter's mean width and a line's height at 17 px, to keep labels apart
LETTER, HEIGHT = 8.4, 20.0
LOT_W, LOT_H = 284, 12


@dataclasses.dataclass(frozen=True)
class BalanceStep:
    """The balance from this day on, in mg (or pieces), and what happens on it.

    `kind` is "expired" for a dashed fall; `weight` says which label stays where two would meet (the larger).
    """

    day: dt.date
    balance: int
    what: str = ""
    kind: str = ""
    weight: int = 0


@dataclasses.dataclass(frozen=True)
class _Box:
    """Where a label stands, so that no other is written over it."""

    left: float
    right: float
    foot: float

    def meets(self, other: "_Box") -> bool:
        return abs(self.foot - other.foot) < HEIGHT and self.left < other.right and other.left < self.right


@dataclasses.dataclass(frozen=True)
class _Sheet:
    """What every part of one drawing needs to know."""

    steps: Sequence[BalanceStep]
    until: dt.date
    safety: int
    order_by: dt.date | None
    per_unit: int
    width: float
    x: Scale
    y: Scale

    @property
    def right(self) -> float:
        return self.x.end

    @property
    def foot(self) -> float:
        return self.y.start

    @property
    def is_wide(self) -> bool:
        return self.width >= 400

    def say(self, amount: int) -> str:
        return wording.figure(amount) if self.per_unit == 1 else wording.mass_g(amount)


def projected_balance(
    steps: Sequence[BalanceStep],
    *,
    title: str,
    until: dt.date,
    safety: int = 0,
    order_by: dt.date | None = None,
    unit: str = "mass",
    lead: str = "",
    heads: Sequence[str] = (),
    rows: Sequence[Sequence[str]] = (),
) -> Picture:
    """The first step is what was counted. Each step is named on the line itself where there is room.

    `heads` and `rows` are the table behind the picture; day, event and balance of each step unless said.
    """
    say = wording.mass_g if unit == "mass" else wording.figure

    def draw(width: float) -> SafeString:
        return _balance(width, steps, until, safety, order_by, 1000 if unit == "mass" else 1)

    return Picture(
        title,
        **two_sizes(draw),
        lead=lead,
        heads=heads or [_("Day"), _("What"), _("Balance")],
        rows=rows or [[wording.day(step.day), step.what, say(step.balance)] for step in steps],
    )


def balance_spark(steps: Sequence[BalanceStep], until: dt.date, safety: int = 0) -> SafeString:
    """The same line, small and without figures, beside a deed on Today."""
    if not steps:
        return SafeString("")
    x, y = _scales(steps, until, safety, 0, 150, 4, 56)
    parts = [*_fall(steps, until, x, y, 2), *_run_out(steps, x, y)]
    if safety:
        parts.insert(0, line([(0, y(safety)), (150, y(safety))], "ochre", 1.5, "3 3"))
    return svg(150, 60, [line([(0, y(0)), (150, y(0))], "soft", 1.5), *parts])


def lot_bar(quantity: int, largest: int, *, wasted: int = 0, is_counted: bool = True) -> SafeString:
    """One lot beside the largest: pine what will be used, ochre what will be left over on its last day; a dashed
    outline for what is not counted.
    """
    full = LOT_W * quantity / max(largest, 1)
    parts = []
    if not is_counted:
        parts.append(
            el("rect", x=1, y=1, width=max(full - 2, 4), height=LOT_H - 2, fill="none", stroke="rust",
               stroke_width=1.5, stroke_dasharray="4 3")
        )  # fmt: skip
    elif quantity:
        lost = full * wasted / quantity
        parts.append(band(0, max(full - lost - (2 if wasted else 0), 0), 0, LOT_H, "pine"))
        if wasted:
            parts.append(band(full - lost, full, 0, LOT_H, "ochre"))
    return svg(LOT_W, LOT_H, parts, cls="lot-bar")


def _scales(
    steps: Sequence[BalanceStep], until: dt.date, safety: int, left: float, right: float, top: float, foot: float
) -> tuple[Scale, Scale]:
    balances = [0, safety, *(step.balance for step in steps)]
    return (
        Scale(seconds(steps[0].day), max(seconds(until), seconds(steps[-1].day) + 86400), left, right),
        Scale(min(balances) * 1.05, (max(balances) or 1) * 1.05, foot, top),
    )


def _balance(
    width: float, steps: Sequence[BalanceStep], until: dt.date, safety: int, order_by: dt.date | None, per_unit: int
) -> SafeString:
    height = 300.0 if width < 400 else 440.0
    if not steps:
        return svg(width, height, [], title=_("Nothing to project yet"))
    _x, y = _scales(steps, until, safety, 0, 0, TOP, height - FOOT)
    longest = max(len(wording.figure(tick / per_unit)) for tick in y.ticks(6)) + (2 if per_unit > 1 else 0)
    x, y = _scales(steps, until, safety, 6, width - max(70, longest * LETTER + 14), TOP, height - FOOT)
    sheet = _Sheet(steps, until, safety, order_by, per_unit, width, x, y)
    parts = [*_ground(sheet), *_order_line(sheet), *_fall(steps, until, x, y, 2.5), *_run_out(steps, x, y)]
    parts.append(dot(x(seconds(steps[0].day)), y(steps[0].balance), "pine", 5))
    parts += [*_labels(sheet), *_months(sheet)]
    desc = _("From %(first)s on %(start)s to %(last)s on %(end)s.") % {
        "first": wording.figure(steps[0].balance / per_unit),
        "start": wording.day(steps[0].day),
        "last": wording.figure(steps[-1].balance / per_unit),
        "end": wording.day(until),
    }
    return svg(width, height, parts, title=_("Projected balance"), desc=desc)


def _ground(sheet: _Sheet) -> list[SafeString]:
    """What lies below zero, the lines of the figures, the safety stock."""
    y, right = sheet.y, sheet.right
    parts = [band(0, right, y(0), sheet.foot, "wash-rust")] if y.low < 0 else []
    for place, tick in enumerate(reversed(y.ticks(6 if sheet.is_wide else 5))):
        parts.append(line([(0, y(tick)), (right, y(tick))], "ink" if tick == 0 else "rule", 1.5 if tick == 0 else 1))
        words = wording.figure(tick / sheet.per_unit) + (
            f"{wording.NARROW}g" if place == 0 and sheet.per_unit > 1 else ""
        )
        parts.append(text(sheet.width, y(tick) + 6, words, "soft", "end"))
    if sheet.safety:
        parts.append(line([(0, y(sheet.safety)), (right, y(sheet.safety))], "ochre", 1.5, "6 4"))
    return parts


def _fall(steps: Sequence[BalanceStep], until: dt.date, x: Scale, y: Scale, width: float) -> list[SafeString]:
    """The line itself. What expires is not drawn by anybody: its fall is dashed."""
    parts: list[SafeString] = []
    points: list[Point] = [(x(seconds(steps[0].day)), y(steps[0].balance))]
    for before, step in itertools.pairwise(steps):
        at = x(seconds(step.day))
        points.append((at, y(before.balance)))
        if step.kind == "expired":
            parts += [line(points, "pine", width), line([points[-1], (at, y(step.balance))], "ochre", width, "3 3")]
            points = []
        points.append((at, y(step.balance)))
    points.append((x(max(seconds(until), seconds(steps[-1].day))), y(steps[-1].balance)))
    return [*parts, line(points, "pine", width)]


def _run_out(steps: Sequence[BalanceStep], x: Scale, y: Scale) -> list[SafeString]:
    out = next((step for step in steps if step.balance < 0), None)
    return [] if out is None else [diamond(x(seconds(out.day)), y(0), "rust", 7)]


def _order_line(sheet: _Sheet) -> list[SafeString]:
    if sheet.order_by is None:
        return []
    at = sheet.x.inside(seconds(sheet.order_by))
    return [line([(at, 22), (at, sheet.foot)], "ochre", 1.5, "1.5 4"), triangle(at, 13, "ochre", 7)]


def _labels(sheet: _Sheet) -> list[SafeString]:
    """The words on the picture, the weightiest first; one that would be written over another is left to the table."""
    page = _Page(sheet)
    if sheet.order_by is not None:
        is_past = sheet.order_by <= sheet.steps[0].day
        words = _("order now") if is_past else _("order by %(day)s") % {"day": wording.day(sheet.order_by)}
        page.write(sheet.x.inside(seconds(sheet.order_by)), 20, words, "", 14)
    pairs = [pair for pair in itertools.pairwise(sheet.steps) if pair[1].what]
    pairs.sort(key=lambda pair: -pair[1].weight)
    for before, step in pairs[:3] if sheet.is_wide else [pair for pair in pairs[:1] if pair[1].balance < 0]:
        page.write_step(before, step)
    if sheet.safety:
        page.write_safety(_("safety stock %(amount)s") % {"amount": sheet.say(sheet.safety)})
    for before, step in pairs[3:] if sheet.is_wide else []:
        page.write_step(before, step)
    return page.parts


class _Page:
    """Labels as they are written one after the other, each where neither a label nor the falling line stands."""

    def __init__(self, sheet: _Sheet) -> None:
        self.sheet = sheet
        self.parts: list[SafeString] = []
        self.taken: list[_Box] = []
        self.falls = [
            (sheet.x(seconds(step.day)), *sorted((sheet.y(before.balance), sheet.y(step.balance))))
            for before, step in itertools.pairwise(sheet.steps)
        ]

    def is_free(self, box: _Box) -> bool:
        if box.left < 0 or box.right > self.sheet.right or any(box.meets(other) for other in self.taken):
            return False
        return not any(
            box.left < at < box.right and top < box.foot + 4 and foot > box.foot - 15 for at, top, foot in self.falls
        )

    def write_step(self, before: BalanceStep, step: BalanceStep) -> None:
        """Day and event at the middle of a fall, the day alone on a phone."""
        middle = (self.sheet.y(before.balance) + self.sheet.y(step.balance)) / 2 + 6
        words = step.what if self.sheet.is_wide else ""
        self.write(self.sheet.x(seconds(step.day)), middle, wording.day(step.day), words, 10)

    def write(self, at: float, foot: float, bold: str, words: str, gap: float) -> None:
        """One label: right of where it belongs, else left of it, else nowhere."""
        width = (len(bold) * 1.08 + (len(words) + 1 if words else 0)) * LETTER
        inside = joined([el("tspan", bold, cls="t-bold"), f" {words}" if words else ""])
        right, left = _Box(at + gap, at + gap + width, foot), _Box(at - gap - width, at - gap, foot)
        if self.is_free(right):
            self.put(right, inside, "start")
        elif self.is_free(left):
            self.put(left, inside, "end")

    def write_safety(self, words: str) -> None:
        """As far right over its line as there is room, else under it."""
        width, line_y = len(words) * LETTER, self.sheet.y(self.sheet.safety)
        ends = [self.sheet.right, *sorted((at - 8 for at, _top, _foot in self.falls), reverse=True)]
        places = [_Box(end - width, end, foot) for foot in (line_y - 6, line_y + 18) for end in ends]
        box = next((place for place in places if self.is_free(place)), None)
        if box is not None:
            self.put(box, words, "end")

    def put(self, box: _Box, words: str, anchor: str) -> None:
        self.taken.append(box)
        ground = "wash-rust" if box.foot - 8 > self.sheet.y(0) else ""
        x = box.left if anchor == "start" else box.right
        self.parts.append(text(x, box.foot, words, anchor=anchor, halo=True, ground=ground))


def _months(sheet: _Sheet) -> list[SafeString]:
    parts = [line([(0, sheet.foot), (sheet.right, sheet.foot)], "soft", 1)]
    for month in month_ticks(sheet.steps[0].day, sheet.until, 7 if sheet.is_wide else 3):
        at = sheet.x(seconds(month))
        parts.append(line([(at, sheet.foot), (at, sheet.foot + 5)], "soft", 1))
        words, anchor = dateformat.format(month, "M"), "middle" if at > 20 else "start"
        parts.append(text(min(at, sheet.right - 16), sheet.foot + 26, words, "soft", anchor))
    return parts
