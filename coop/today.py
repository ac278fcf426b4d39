"""What a room may put on somebody's Today page. Rooms register functions in coop.registry.today."""

import dataclasses
import enum
from collections.abc import Sequence

from django.utils.safestring import SafeString
from django.utils.translation import gettext_lazy as _

from coop.drawing.ink import BLANK
from coop.parts import MarginDeed


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
    Urgency.STOP: _("stop"),
    Urgency.OVERDUE: _("overdue"),
    Urgency.NOW: _("now"),
    Urgency.SOON: _("soon"),
    Urgency.INFO: _("for your information"),
}


#: the shapes of the look (coop.drawing.marks) that stand for each urgency
SHAPES = {
    Urgency.STOP: "stop",
    Urgency.OVERDUE: "overdue",
    Urgency.NOW: "soon",
    Urgency.SOON: "soon",
    Urgency.INFO: "info",
}


@dataclasses.dataclass(frozen=True)
class Task:
    """One thing that needs doing: what, until when, and the one button that begins it.

    `when` is text as people say it ("tomorrow", "since Sat 6 Jun"); `rows` are short lines under the title, `cells` a
    small table under these; tasks are shown by urgency, then by `order` (smaller first), then by title. `label` and
    `url` make the button, a link; `picture` is a small drawing beside the text.
    """

    urgency: Urgency
    title: str
    when: str = ""
    text: str = ""
    rows: Sequence[str] = ()
    cells: Sequence[Sequence[str]] = ()
    label: str = ""
    url: str = ""
    order: int = 0
    picture: SafeString = BLANK

    @property
    def margin(self) -> MarginDeed:
        """The same as the Today page draws it."""
        return MarginDeed(
            state=SHAPES[self.urgency],
            when=self.when or self.urgency.word,
            title=self.title,
            lines=[line for line in (self.text, *self.rows) if line],
            rows=self.cells,
            button=self.label,
            url=self.url,
            picture=self.picture,
        )

    @property
    def sort_key(self) -> tuple[int, int, str]:
        return (self.urgency.rank, self.order, self.title)
