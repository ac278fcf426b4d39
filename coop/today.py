"""What a room may put on somebody's Today page. Rooms register functions in coop.registry.today."""

import dataclasses
import enum
from collections.abc import Sequence

from django.utils.translation import gettext_lazy as _


class Urgency(enum.Enum):
    """How much a hand is needed. The value names the shape and the colour; the word always stands beside it."""

    STOP = "stop"
    OVERDUE = "overdue"
    NOW = "now"
    SOON = "soon"
    INFO = "info"

    @property
    def word(self) -> str:
        return str(_WORDS[self])

    @property
    def rank(self) -> int:
        return list(Urgency).index(self)


_WORDS = {
    Urgency.STOP: _("Stop"),
    Urgency.OVERDUE: _("Overdue"),
    Urgency.NOW: _("Now"),
    Urgency.SOON: _("Soon"),
    Urgency.INFO: _("For your information"),
}


@dataclasses.dataclass(frozen=True)
class Task:
    """One thing that needs doing: what, until when, and the one button that begins it.

    `when` is text as people say it ("tomorrow", "since Sat 6 Jun"); `rows` are short lines under the title; tasks are
    shown by urgency, then by `order` (smaller first), then by title. `label` and `url` make the button; with `post`
    the button sends a form with `fields` instead of following a link.
    """

    urgency: Urgency
    title: str
    when: str = ""
    text: str = ""
    rows: Sequence[str] = ()
    label: str = ""
    url: str = ""
    order: int = 0
    post: bool = False
    fields: tuple[tuple[str, str], ...] = ()

    @property
    def sort_key(self) -> tuple[int, int, str]:
        return (self.urgency.rank, self.order, self.title)
