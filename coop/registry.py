"""Registries: questions that an upper floor answers for a lower one. Nothing imports upward."""

from collections.abc import Callable
from typing import Any, Generic, TypeVar

F = TypeVar("F", bound=Callable[..., Any])


class Registry(Generic[F]):
    """Named module-level functions, filled by each app when it is ready. A second one under a key is refused."""

    def __init__(self, name: str) -> None:
        self.name = name
        self._functions: dict[str, F] = {}

    def register(self, key: str) -> Callable[[F], F]:
        def decorate(function: F) -> F:
            if "<" in function.__qualname__ or "." in function.__qualname__:
                raise TypeError(f"{self.name}: only module-level functions, not {function.__qualname__}")
            known = self._functions.get(key)
            if known is not None and known is not function:
                raise RuntimeError(f"{self.name}: {key!r} has a provider already")
            self._functions[key] = function
            return function

        return decorate

    def items(self) -> list[tuple[str, F]]:
        return sorted(self._functions.items())

    def __getitem__(self, key: str) -> F:
        return self._functions[key]

    def get(self, key: str) -> F | None:
        return self._functions.get(key)

    def __contains__(self, key: str) -> bool:
        return key in self._functions


#: kind -> NoticeKind-like provider, see coop/notices.py
notices: Registry[Callable[..., Any]] = Registry("notices")
#: name -> function() yielding sentences, one for each difference `manage.py prove` finds
proofs: Registry[Callable[..., Any]] = Registry("proofs")
#: name -> function(person, now) yielding coop.today.Task rows for the Today page
today: Registry[Callable[..., Any]] = Registry("today")
#: item kind -> function(item) giving the page address of an item of that kind
item_pages: Registry[Callable[..., Any]] = Registry("item pages")
#: item kind -> function(items) giving {item id: words} in few queries, for threads and tables
item_words: Registry[Callable[..., Any]] = Registry("item words")
#: name -> function(item) giving {person id: ...} etc; asked by the stranger's page whether an item may be used
clearances: Registry[Callable[..., Any]] = Registry("clearances")
#: name -> function(person) giving {heading: list of plain rows} for the export of what is kept about one person
belongings: Registry[Callable[..., Any]] = Registry("belongings")
#: name -> function(person) yielding sentences that say why somebody cannot leave yet
leavings: Registry[Callable[..., Any]] = Registry("leavings")
#: name -> function(person) that forgets what a room keeps about somebody who leaves, inside the command
forgettings: Registry[Callable[..., Any]] = Registry("forgettings")
#: name -> function(day, until) giving inventory.outlook.Demand rows: what will be drawn from the shelf, and when
demands: Registry[Callable[..., Any]] = Registry("demands")
#: name -> function() giving {verb: words} of the room's commands that move stock, for the ledger
moving_deeds: Registry[Callable[..., Any]] = Registry("moving deeds")
#: name -> function(deed, item) that follows up, inside the command, when a lot's form or assay was set right
lot_changes: Registry[Callable[..., Any]] = Registry("lot changes")
