"""Small carriers that pages fill and the shared template parts read."""

import dataclasses
from collections.abc import Sequence
from typing import Any, NamedTuple

from django.utils.safestring import SafeString

from coop.drawing.ink import BLANK


class Crumb(NamedTuple):
    """A step of the way here; without an address it is where one stands."""

    name: str
    url: str = ""


@dataclasses.dataclass(frozen=True)
class MarginDeed:
    """One thing to do, for Today: time left of the margin line, the deed, one button behind it.

    `state` and `when` ("overdue", "in 2 days") stand over `since` ("6 days"); `title` says the deed; `lines` explain;
    `rows` are a small table; `link` is a (word, url) inside the text; `button` and `url` are the one thing to press.
    """

    state: str
    when: str
    title: str
    since: str = ""
    lines: Sequence[str] = ()
    rows: Sequence[Sequence[Any]] = ()
    link: tuple[str, str] | None = None
    button: str = ""
    url: str = ""
    picture: SafeString = BLANK


class QuietLine(NamedTuple):
    """What is in order, last and quiet: shape, sentence, and a link if it has one."""

    state: str
    sentence: str
    link_word: str = ""
    url: str = ""


@dataclasses.dataclass(frozen=True)
class LimitRow:
    """One check: figure, limit in force, the bar against it, the verdict, and a reason under its own row.

    `bar` comes from coop.drawing.marks.limit_bar. `reason` is plain text; `said` is what somebody wrote, quoted;
    `link` is a (word, url) to what is to be done about it.
    """

    name: str
    figure: str
    limit: str
    state: str
    verdict: str
    bar: SafeString = BLANK
    reason: str = ""
    said: str = ""
    after: str = ""
    link: tuple[str, str] | None = None


@dataclasses.dataclass(frozen=True)
class Reach:
    """A figure to reach on the bench. Masses in mg; `fine` and `warn` are distances from the target."""

    target_mg: int
    fine_mg: int
    warn_mg: int
    value_mg: int | None = None
    places: int = 0
    fine_text: str = ""
