"""What a file would do to the book, gathered while its rows are judged; names are keys, resolved when it is written."""

import dataclasses
import datetime as dt
from typing import Any


def key_of(name: str) -> str:
    """How a name is compared: spaces and case do not matter."""
    return " ".join(name.split()).casefold()


@dataclasses.dataclass
class Thing:
    """A supplier, material or shed of the book or of the file; without `pk` it is made."""

    name: str
    facts: dict[str, Any]
    pk: int | None = None
    number: int = 0
    #: what the file sets right about one that is in the book
    changes: dict[str, Any] = dataclasses.field(default_factory=dict)


@dataclasses.dataclass
class LotRow:
    """A lot of the book or of the file. `openings` are amounts by the key of a shed."""

    material: Thing
    supplier: Thing
    facts: dict[str, Any]
    code: str = ""
    pk: int | None = None
    number: int = 0
    received_on: dt.date | None = None
    hold: str = ""
    changes: dict[str, Any] = dataclasses.field(default_factory=dict)
    openings: dict[str, int] = dataclasses.field(default_factory=dict)


@dataclasses.dataclass
class Plan:
    suppliers: dict[str, Thing] = dataclasses.field(default_factory=dict)
    materials: dict[str, Thing] = dataclasses.field(default_factory=dict)
    sheds: dict[str, Thing] = dataclasses.field(default_factory=dict)
    lots: list[LotRow] = dataclasses.field(default_factory=list)
    #: opening movements of the book whose amount the file sets right: movement id to the right amount
    corrections: dict[int, int] = dataclasses.field(default_factory=dict)
