"""The clock and the voice of the demo: days counted back from today, deeds done by somebody through commands."""

import dataclasses
import datetime as dt
from typing import Any
from zoneinfo import ZoneInfo

from coop.command import new_key
from coop.models import Deed, Person

ZONE = "Europe/London"


@dataclasses.dataclass(frozen=True)
class Teller:
    """Tells what happened, in order. `now` is when the story is told; nothing in it happens later."""

    now: dt.datetime

    def day(self, ago: int) -> dt.date:
        """The local date so many days before today; a negative number lies ahead."""
        return self.now.astimezone(ZoneInfo(ZONE)).date() - dt.timedelta(days=ago)

    def moment(self, ago: int, clock: str) -> dt.datetime:
        """So many days ago at this time on the club's clocks; it may lie ahead."""
        local = dt.datetime.combine(self.day(ago), dt.time.fromisoformat(clock), ZoneInfo(ZONE))
        return local.astimezone(dt.UTC)

    def at(self, ago: int, clock: str) -> dt.datetime:
        """The same, but never later than now: for what has happened."""
        return min(self.moment(ago, clock), self.now)

    def did(self, who: Person, when: dt.datetime, command: Any, **arguments: Any) -> Any:
        """Somebody did this then. Returns what the command returns; a refusal is a fault of the story and rises."""
        return command(actor=who, key=new_key(), happened_at=when, door=Deed.Door.SHELL, **arguments)
