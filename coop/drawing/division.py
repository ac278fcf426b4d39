"""Divided things: a cell for each hive dose, and the bar of what went in and what came out."""

from collections.abc import Collection, Sequence
from typing import NamedTuple

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from coop import wording
from coop.drawing.ink import band, dot, el, svg, text
from coop.drawing.picture import HALF_W, LegendRow, Picture, two_sizes

CELL_W, CELL_H, PITCH, ROW = 14.0, 18.0, 18.0, 24.0


def share_cells(asked: int, given: int, drawn: Collection[int] = (), per_row: int = 18) -> SafeString:
    """One cell a hive dose: filled = given, outlined = asked. `drawn`: numbers (from 1) of the doses that a drawn
    number settled; they bear a dot. Rows of eighteen, so that it fits a phone."""
    shown = max(asked, given)
    if not shown:
        return SafeString("")
    parts = []
    for place in range(shown):
        x, y = (place % per_row) * PITCH, (place // per_row) * ROW
        if place < given:
            parts.append(band(x, x + CELL_W, y, y + CELL_H, "pine"))
            if place + 1 in drawn:
                parts.append(dot(x + CELL_W / 2, y + CELL_H / 2, "paper", 3))
        else:
            parts.append(
                el(
                    "rect",
                    x=x + 0.75,
                    y=y + 0.75,
                    width=CELL_W - 1.5,
                    height=CELL_H - 1.5,
                    fill="none",
                    stroke="soft",
                    stroke_width=1.5,
                )
            )
    rows = -(-shown // per_row)
    return svg(
        min(shown, per_row) * PITCH - (PITCH - CELL_W),
        (rows - 1) * ROW + CELL_H,
        parts,
        title=_("%(given)s of %(asked)s") % {"given": given, "asked": wording.counted(asked, "hive dose")},
        cls="cells",
    )


class BalancePart(NamedTuple):
    """A part of a whole: a word, an amount, a colour of coop.drawing.ink, and a remark such as "+0.67 %"."""

    label: str
    amount: int
    tone: str = "pine"
    extra: str = ""


def balance_bar(
    title: str, whole_label: str, parts: Sequence[BalancePart], *, unit: str = "mass", lead: str = "", note: str = ""
) -> Picture:
    """The whole as one dark bar, its parts as a second under it, a line of figures for each.

    `unit` "mass" reads amounts as mg, "pieces" as strips. A negative amount (more came out than went in) is told in
    words only.
    """
    say = wording.mass_g if unit == "mass" else wording.counted
    whole = sum(part.amount for part in parts)

    def draw(width: float) -> SafeString:
        return _stack(width, whole_label, say(whole), parts, title)

    rows = [LegendRow(part.label, part.tone, say(part.amount), part.extra) for part in parts]
    return Picture(
        title,
        **two_sizes(draw, HALF_W),
        lead=lead,
        legend=rows,
        note=note,
        heads=[_("Part"), _("Amount"), _("Of the whole")],
        rows=[[part.label, say(part.amount), wording.percent(part.amount, whole)] for part in parts],
    )


def _stack(width: float, whole_label: str, figure: str, parts: Sequence[BalancePart], title: str) -> SafeString:
    total = sum(max(part.amount, 0) for part in parts) or 1
    drawn = [text(0, 16, whole_label), text(width, 16, figure, anchor="end", bold=True), band(0, width, 26, 40, "ink")]
    at = 0.0
    for part in parts:
        share = max(part.amount, 0) * width / total
        if share:
            drawn.append(band(at, max(at + share - 1.5, at + 1), 44, 58, part.tone))
        at += share
    desc = wording.listed(f"{part.label} {wording.percent(part.amount, total)}" for part in parts)
    return svg(width, 60, drawn, title=f"{title}: {whole_label}", desc=desc)


def progress_bar(done: int, whole: int, title: str, width: float = 320) -> SafeString:
    """How far something is, with a tick where it stands."""
    at = width * min(max(done, 0), whole) / whole if whole else 0.0
    parts = [band(0, width, 4, 9, "rule"), band(0, at, 4, 9, "pine"), band(max(at - 2, 0), max(at, 2), 0, 13, "ink")]
    return svg(width, 13, parts, title=title)
