"""The projected balance of a material: a step line from what was counted to where it runs out."""

import dataclasses
import datetime as dt
import itertools
from collections.abc import Sequence

from django.utils import dateformat
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from coop import wording
from coop.drawing.ink import band, diamond, dot, el, joined, line, step_line, svg, text, triangle
from coop.drawing.picture import Picture, two_sizes
from coop.drawing.scale import Scale, month_ticks, seconds

TOP, FOOT = 30.0, 34.0


@dataclasses.dataclass(frozen=True)
class BalanceStep:
    """The balance from this day on, in mg (or pieces), and what happens on it."""

    day: dt.date
    balance: int
    what: str = ""


def projected_balance(
    steps: Sequence[BalanceStep],
    *,
    title: str,
    until: dt.date,
    safety: int = 0,
    order_by: dt.date | None = None,
    unit: str = "mass",
    lead: str = "",
) -> Picture:
    """The first step is what was counted. Each step is named on the line itself where there is room."""
    say = wording.mass_g if unit == "mass" else wording.counted

    def draw(width: float) -> SafeString:
        return _balance(width, steps, until, safety, order_by, 1000 if unit == "mass" else 1)

    return Picture(
        title,
        **two_sizes(draw),
        lead=lead,
        heads=[_("Day"), _("What"), _("Balance")],
        rows=[[wording.day(step.day), step.what, say(step.balance)] for step in steps],
    )


def balance_spark(steps: Sequence[BalanceStep], until: dt.date, safety: int = 0) -> SafeString:
    """The same line, small and without figures, beside a deed on Today."""
    if not steps:
        return SafeString("")
    x, y = _scales(steps, until, safety, 0, 150, 4, 56)
    parts = _line_and_run_out(steps, until, x, y, 2)
    if safety:
        parts.insert(0, line([(0, y(safety)), (150, y(safety))], "ochre", 1.5, "3 3"))
    return svg(150, 60, [line([(0, y(0)), (150, y(0))], "soft", 1.5), *parts])


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
    height = 280.0 if width < 400 else 440.0
    right, foot = width - (70 if width < 400 else 74), height - FOOT
    if not steps:
        return svg(width, height, [], title=_("Nothing to project yet"))
    x, y = _scales(steps, until, safety, 6, right, TOP, foot)
    parts = [band(0, right, y(0), foot, "wash-rust")] if y.low < 0 else []
    for place, tick in enumerate(reversed(y.ticks(6))):
        parts.append(line([(0, y(tick)), (right, y(tick))], "ink" if tick == 0 else "rule", 1.5 if tick == 0 else 1))
        words = wording.figure(tick / per_unit) + (f"{wording.NARROW}g" if place == 0 and per_unit > 1 else "")
        parts.append(text(width, y(tick) + 6, words, "soft", "end"))
    if safety:
        parts.append(line([(0, y(safety)), (right, y(safety))], "ochre", 1.5, "6 4"))
        parts.append(
            text(
                right,
                y(safety) - 6,
                _("safety stock %(amount)s") % {"amount": _say(safety, per_unit)},
                anchor="end",
                halo=True,
            )
        )
    if order_by is not None:
        parts += _order_line(x(seconds(order_by)), foot, order_by, right)
    parts += _line_and_run_out(steps, until, x, y, 2.5)
    parts.append(dot(x(seconds(steps[0].day)), y(steps[0].balance), "pine", 5))
    if width >= 400:
        parts += _step_words(steps, x, y, right, safety)
    parts += _months(steps[0].day, until, x, foot, right, 3 if width < 400 else 7)
    last = steps[-1]
    desc = _("From %(first)s on %(start)s to %(last)s on %(end)s.") % {
        "first": wording.figure(steps[0].balance / per_unit),
        "start": wording.day(steps[0].day),
        "last": wording.figure(last.balance / per_unit),
        "end": wording.day(last.day),
    }
    return svg(width, height, parts, title=_("Projected balance"), desc=desc)


def _line_and_run_out(
    steps: Sequence[BalanceStep], until: dt.date, x: Scale, y: Scale, width: float
) -> list[SafeString]:
    points = [(x(seconds(step.day)), y(step.balance)) for step in steps]
    parts = [step_line([*points, (x(max(seconds(until), seconds(steps[-1].day))), points[-1][1])], "pine", width)]
    out = next((step for step in steps if step.balance < 0), None)
    if out is not None:
        parts.append(diamond(x(seconds(out.day)), y(0), "rust", 7))
    return parts


def _say(amount: int, per_unit: int) -> str:
    return wording.figure(amount) if per_unit == 1 else wording.mass_g(amount)


def _order_line(at: float, foot: float, order_by: dt.date, right: float) -> list[SafeString]:
    words = _("order by %(day)s") % {"day": wording.day(order_by)}
    turned = at > right / 2
    return [
        line([(at, 22), (at, foot)], "ochre", 1.5, "1.5 4"),
        triangle(at, 13, "ochre", 7),
        text(at - 14 if turned else at + 14, 20, words, anchor="end" if turned else "start", bold=True),
    ]


def _step_words(steps: Sequence[BalanceStep], x: Scale, y: Scale, right: float, safety: int) -> list[SafeString]:
    """Day and event at the middle of each fall, left of it where the right has no room; none where two would meet."""
    parts: list[SafeString] = []
    taken: list[float] = [y(safety) - 6] if safety else []
    for before, step in itertools.pairwise(steps):
        at, middle = x(seconds(step.day)), (y(before.balance) + y(step.balance)) / 2 + 6
        if not step.what or any(abs(middle - other) < 21 for other in taken):
            continue
        taken.append(middle)
        words = joined([el("tspan", wording.day(step.day), cls="t-bold"), f" {step.what}"])
        turned = at > right * 0.55
        parts.append(
            text(at - 10 if turned else at + 10, middle, words, anchor="end" if turned else "start", halo=True)
        )
    return parts


def _months(first: dt.date, until: dt.date, x: Scale, foot: float, right: float, most: int) -> list[SafeString]:
    parts = [line([(0, foot), (right, foot)], "soft", 1)]
    for month in month_ticks(first, until, most):
        at = x(seconds(month))
        parts.append(line([(at, foot), (at, foot + 5)], "soft", 1))
        parts.append(
            text(
                min(at, right - 16), foot + 26, dateformat.format(month, "M"), "soft", "middle" if at > 20 else "start"
            )
        )
    return parts
