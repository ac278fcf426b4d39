"""A picture with its title and the same figures as a table."""

import dataclasses
from collections.abc import Callable, Sequence
from typing import TypedDict

from django.utils.safestring import SafeString

from coop.drawing.ink import BLANK

NARROW_W = 320
WIDE_W = 640
HALF_W = 480  # two side by side


@dataclasses.dataclass(frozen=True)
class LegendRow:
    """A line of a legend that is part of the picture: a square of this colour, a word, its figures."""

    label: str
    tone: str = ""
    figure: str = ""
    extra: str = ""


@dataclasses.dataclass(frozen=True)
class Picture:
    """What `{% picture p %}` shows. `wide` is for desks (640 px), `narrow` for phones (320 px); one may be enough.

    `heads` and `rows` are the same figures as a table, already in words, behind one tap.
    """

    title: str
    narrow: SafeString
    wide: SafeString = BLANK
    lead: str = ""
    heads: Sequence[str] = ()
    rows: Sequence[Sequence[str]] = ()
    legend: Sequence[LegendRow] = ()
    note: str = ""


class Sizes(TypedDict):
    narrow: SafeString
    wide: SafeString


def two_sizes(draw: Callable[[float], SafeString], wide: float = WIDE_W) -> Sizes:
    """Draw once for a phone and once for a desk, so that labels are 17 px in both."""
    return {"narrow": draw(NARROW_W), "wide": draw(wide)}
