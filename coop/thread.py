"""The thread: what a thing came from, itself, and what became of it, as one line of stops."""

import dataclasses
import itertools
from collections.abc import Sequence


@dataclasses.dataclass(frozen=True)
class ThreadStop:
    """One stop on the line, from left to right (on a phone from above).

    `label` is what it is, `code` its canonical code if it has one, `url` where it leads, `lines` up to two short
    lines of figures. `is_self`: this page's own thing. `held`: the hold that reaches it begins here or before; the
    line is doubled and rust from the first held stop, which bears the square with two bars. `ahead`: still to
    come, the line to it is dashed; `soon` gives it the triangle. `begins`: the book knows nothing before it.
    """

    label: str
    code: str = ""
    url: str = ""
    lines: Sequence[str] = ()
    is_self: bool = False
    held: bool = False
    ahead: bool = False
    begins: bool = False
    soon: bool = False


@dataclasses.dataclass(frozen=True)
class DrawnStop:
    """A stop with what the line does beside it: the template only reads it."""

    stop: ThreadStop
    mark: str
    into: str
    out: str

    @property
    def classes(self) -> str:
        ends = [f"in-{self.into}" if self.into else "", f"out-{self.out}" if self.out else ""]
        return " ".join(["stop", f"is-{self.mark}", *filter(None, ends)])


def drawn(stops: Sequence[ThreadStop]) -> list[DrawnStop]:
    """The stops with the line into and out of each: "plain", "held", "ahead", or "" at an end."""
    pieces = [_piece(before, after) for before, after in itertools.pairwise(stops)]
    first_held = next((place for place, stop in enumerate(stops) if stop.held), None)
    return [
        DrawnStop(
            stop,
            mark=_mark(stop, place == first_held),
            into=pieces[place - 1] if place else "",
            out=pieces[place] if place < len(pieces) else "",
        )
        for place, stop in enumerate(stops)
    ]


def _piece(before: ThreadStop, after: ThreadStop) -> str:
    if after.ahead:
        return "ahead"
    return "held" if before.held and after.held else "plain"


def _mark(stop: ThreadStop, hold_begins: bool) -> str:
    if hold_begins:
        return "hold"
    if stop.is_self:
        return "self"
    if stop.soon:
        return "soon"
    return "ahead" if stop.ahead else "ring"
