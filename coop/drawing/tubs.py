"""Tubs filled by share: how far one thing reaches from batch to batch, and what came out of each."""

import dataclasses
from collections.abc import Sequence

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from coop import wording
from coop.drawing.ink import BLANK, band, el, line, svg, text
from coop.drawing.picture import NARROW_W, WIDE_W

TUB_W, TUB_H, CELL_H = 132.0, 76.0, 250.0


@dataclasses.dataclass(frozen=True)
class Tub:
    """One tub: when, how it came there, its share (0 to 1), and two lines about what came out of it."""

    when: str
    how: str
    share: float
    amount: str
    made: str = ""
    each: str = ""


def tubs(title: str, drawn: Sequence[Tub]) -> tuple[SafeString, SafeString]:
    """For a phone one tub under the other, for a desk three or four in a row."""
    return _draw(NARROW_W, drawn, 1, title), _draw(WIDE_W + 320, drawn, 4, title)


def _draw(width: float, drawn: Sequence[Tub], per_row: int, title: str) -> SafeString:
    if not drawn:
        return BLANK
    rows = -(-len(drawn) // per_row)
    pitch = width / min(per_row, max(len(drawn), 1)) if per_row > 1 else width
    pitch = min(pitch, 300.0) if per_row > 1 else pitch
    parts: list[SafeString] = []
    for number, tub in enumerate(drawn):
        parts += _tub((number % per_row) * pitch + 1, (number // per_row) * CELL_H, tub)
    said = [f"{tub.when}: {wording.percent(tub.share)}" for tub in drawn]
    return svg(width, rows * CELL_H, parts, title=title, desc="; ".join(said))


def _tub(x: float, y: float, tub: Tub) -> list[SafeString]:
    top = y + 56
    full = top + TUB_H
    height = max(TUB_H * min(max(tub.share, 0.0), 1.0), 2.0)
    lines = [
        text(x, y + 18, tub.when, bold=True),
        text(x, y + 42, tub.how, "soft"),
        band(x, x + TUB_W, top, full, "key"),
        band(x, x + TUB_W, full - height, full, "mid-rust"),
        line([(x, full - height), (x + TUB_W, full - height)], "rust", 1.5),
        line([(x, top), (x, full), (x + TUB_W, full), (x + TUB_W, top)], "ink", 1.5),
        el("text", wording.percent(tub.share), x=x + 10, y=top + 26, fill="ink", font_size=20, cls="t-halo"),
        text(x + 10, top + 50, _("%(amount)s of it") % {"amount": tub.amount}, "ink", halo=True),
    ]
    if tub.made:
        middle = x + TUB_W / 2
        lines += [
            line([(middle, full), (middle, full + 18)], "rust", 3),
            _bag(middle, full + 18, tub.share),
            text(x, full + 72, tub.made, "rust"),
            text(x, full + 96, tub.each, "soft"),
        ]
    return lines


def _bag(x: float, y: float, share: float) -> SafeString:
    """A bag as a small trapeze with a rust foot."""
    return el(
        "path",
        d=f"M{x - 11:.1f} {y:.1f}h22l4 30h-30z",
        fill="wash-rust" if share else "paper",
        stroke="rust",
        stroke_width=1.5,
    )
