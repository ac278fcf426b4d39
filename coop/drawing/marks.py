"""The small signs: state shapes, the limit bar, the bar under a figure to reach."""

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from coop.drawing.ink import band, dot, el, joined, line, svg, text, triangle

_TICK = el("path", d="M4.6 8.4l2.4 2.4 4.6-5", fill="none", stroke="paper", stroke_width=1.9)
_BARS = joined(
    [el("rect", x=4.6, y=4, width=2.4, height=8, fill="paper"), el("rect", x=9, y=4, width=2.4, height=8, fill="paper")]
)
STATES: dict[str, list[SafeString]] = {
    "fine": [el("circle", cx=8, cy=8, r=7.5, fill="pine"), _TICK],
    "waits": [
        el("circle", cx=8, cy=8, r=6.8, fill="none", stroke="slate", stroke_width=1.6),
        el("path", d="M8 1.2a6.8 6.8 0 0 0 0 13.6z", fill="slate"),
    ],
    "soon": [el("path", d="M8 1.2L16 15H0z", fill="ochre")],
    "overdue": [el("path", d="M8 0l8 8-8 8-8-8z", fill="rust")],
    "stop": [el("path", d="M4.7 0h6.6L16 4.7v6.6L11.3 16H4.7L0 11.3V4.7z", fill="rust")],
    "hold": [el("rect", width=16, height=16, fill="rust"), _BARS],
    "info": [el("rect", y=6.5, width=16, height=3, fill="slate")],
    "phone": [
        el("rect", x=3, y=1, width=10, height=14, rx=1.5, fill="none", stroke="slate", stroke_width=1.8),
        dot(8, 8, "slate", 2.2),
    ],
}


def state_mark(state: str, size: int = 16) -> SafeString:
    """The shape of a state, 16 px. An ornament: the word beside it carries the meaning."""
    drawn = svg(16, 16, STATES[state], cls="shape")
    return (
        drawn
        if size == 16
        else SafeString(drawn.replace('width="16" height="16"', f'width="{size}" height="{size}"', 1))
    )


# ---- the limit bar: 160 x 16, the band always between x = 40 and x = 120
WIDTH, LOW_X, HIGH_X, MIDDLE = 160, 40.0, 120.0, 8


def limit_bar(
    value: float | None,
    low: float | None = None,
    high: float | None = None,
    warn_low: float | None = None,
    warn_high: float | None = None,
    uncertainty: float = 0,
    to: float | None = None,
) -> SafeString:
    """Pale band = allowed, ticks = limits, dot = figure, whisker = uncertainty; a triangle for a figure outside.

    `low` None means "up to high", `high` None "from low on". `to` makes it a range from `value` to `to`. Beyond a
    warn limit the triangle is rust, between limit and warn limit ochre. Any one unit for all.
    """
    if low is None and high is None:
        return SafeString("")
    place = _placer(low, high)
    left = LOW_X if low is not None else 0.0
    right = HIGH_X if high is not None else float(WIDTH)
    parts = [line([(0, MIDDLE), (WIDTH, MIDDLE)], "rule", 1), band(left, right, 3, 13)]
    for warn, edge in ((warn_low, left), (warn_high, right)):
        if warn is not None:
            parts.append(band(place(warn), edge, 3, 13, "wash-ochre"))
    parts += [line([(x, 0), (x, 16)], "pine", 2) for x, at in ((left, low), (right, high)) if at is not None]
    if value is not None:
        parts += _figure_on(place, value, to, uncertainty, (low, high), (warn_low, warn_high))
    return svg(WIDTH, 16, parts, title=_spoken(value, to, low, high), cls="limit-bar")


def _figure_on(
    place: "_Placer",
    value: float,
    to: float | None,
    uncertainty: float,
    limits: tuple[float | None, float | None],
    warns: tuple[float | None, float | None],
) -> list[SafeString]:
    parts = []
    if uncertainty:
        ends = place(value - uncertainty), place(value + uncertainty)
        parts += [line([(ends[0], MIDDLE), (ends[1], MIDDLE)], "ink", 1.5)]
        parts += [line([(x, 4.5), (x, 11.5)], "ink", 1.5) for x in ends]
    if to is not None:
        parts.append(line([(place(value), MIDDLE), (place(to), MIDDLE)], "ink", 2.5))
    for figure in (value,) if to is None else (value, to):
        if not _outside(figure, limits):
            parts.append(dot(place(figure), MIDDLE, "ink", 4.5))
        else:
            beyond = _outside(figure, warns) or warns == (None, None)
            parts.append(triangle(place(figure), MIDDLE, "rust" if beyond else "ochre", 6.5))
    return parts


class _Placer:
    """Figure to x: both limits stand where the band's edges are; a one-sided scale starts at nought."""

    def __init__(self, low: float | None, high: float | None) -> None:
        if low is not None and high is not None:
            span = (high - low) or abs(high) or 1.0
            self.zero, self.factor = LOW_X - low * (HIGH_X - LOW_X) / span, (HIGH_X - LOW_X) / span
        elif high is not None:
            self.zero, self.factor = 0.0, HIGH_X / (high or 1.0)
        else:
            self.zero, self.factor = 0.0, LOW_X / (low or 1.0)

    def __call__(self, figure: float) -> float:
        return min(max(self.zero + float(figure) * self.factor, 7.0), WIDTH - 7.0)


def _placer(low: float | None, high: float | None) -> _Placer:
    return _Placer(None if low is None else float(low), None if high is None else float(high))


def _outside(figure: float, limits: tuple[float | None, float | None]) -> bool:
    low, high = limits
    return (low is not None and figure < low) or (high is not None and figure > high)


def _spoken(value: float | None, to: float | None, low: float | None, high: float | None) -> str:
    if value is None:
        return _("no figure yet")
    inside = not any(_outside(one, (low, high)) for one in (value, to) if one is not None)
    return _("inside the limit") if inside else _("outside the limit")


# ---- under a figure to reach, wide enough for its four figures; a small module moves the pointer
REACH_W = 328


def reach_bar(target: float, fine: float, warn: float, value: float | None, labels: list[str]) -> SafeString:
    """The band round a figure to reach. `fine` and `warn` are distances from it; `labels` name the four limits."""
    fine_x, warn_x, middle = 30.0, 118.0, REACH_W / 2
    xs = [middle - warn_x, middle - fine_x, middle + fine_x, middle + warn_x]
    parts = [
        band(xs[0], xs[3], 6, 26, "wash-ochre"),
        band(xs[1], xs[2], 6, 26),
        line([(0, 16), (REACH_W, 16)], "rule", 1),
        line([(middle, 8), (middle, 24)], "ink", 1.5),
        *(line([(x, 6), (x, 26)], "ochre", 1.5, "3 3") for x in (xs[0], xs[3])),
        *(line([(x, 3), (x, 29)], "pine", 2) for x in (xs[1], xs[2])),
        text(xs[0], 46, labels[0], "soft", "end"),
        text(xs[1], 46, labels[1], "ink", "end"),
        text(xs[2], 46, labels[2], "ink"),
        text(xs[3], 46, labels[3], "soft"),
    ]
    at = reach_x(value, target, fine, warn)
    pointer = el("path", d="M-7 3H7L0 17z", fill="ink", transform=f"translate({at:.1f} 0)" if at is not None else None)
    parts.append(el("g", pointer, data_pointer="", visibility=None if at is not None else "hidden"))
    return svg(REACH_W, 52, parts, cls="reach-bar")


def reach_x(value: float | None, target: float, fine: float, warn: float) -> float | None:
    """Where the pointer stands: in proportion inside the fine band, and again between fine and warn."""
    if value is None:
        return None
    off = value - target
    size, fine = abs(off), fine or 1.0
    if size <= fine:
        x = 30.0 * size / fine
    else:
        x = min(30.0 + 88.0 * (size - fine) / ((warn - fine) or fine), REACH_W / 2 - 7)
    return REACH_W / 2 + (x if off >= 0 else -x)


def empty_thread() -> SafeString:
    """The thread with one dashed ring: nothing has happened here yet."""
    return svg(
        240,
        24,
        [
            line([(1, 4), (1, 20)], "pine", 2),
            line([(1, 12), (104, 12)], "pine", 2, "3 5"),
            el("circle", cx=114, cy=12, r=9, fill="none", stroke="pine", stroke_width=2, stroke_dasharray="4 3.07"),
            line([(125, 12), (240, 12)], "pine", 2, "3 5"),
        ],
    )
