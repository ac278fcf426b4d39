"""Who reads this page: names of members are for coordinators, and for the member.

A volunteer works with bags, not with people. The door sets the reader of each request; outside a request (letters,
tasks, the shell) nothing is held back.
"""

import contextlib
from collections.abc import Iterator
from contextvars import ContextVar
from typing import Any

from django.utils.translation import gettext as _

from coop.models.people import Person

_reader: ContextVar[Any] = ContextVar("reader", default=None)


@contextlib.contextmanager
def one_request() -> Iterator[None]:
    """What is set inside ends with the request."""
    token = _reader.set(None)
    try:
        yield
    finally:
        _reader.reset(token)


def is_read_by(person: Any) -> None:
    """From here on this request is read by a person, or by a stranger."""
    _reader.set(person)


def may_learn(person: Person) -> bool:
    """Whether the reader may learn this person's name: staff of the bench are known to all, members are not."""
    reader = _reader.get()
    if reader is None or person.is_volunteer or person.is_system:
        return True
    return isinstance(reader, Person) and (reader.is_coordinator or reader.pk == person.pk)


def may_read_words_of(writer: Person) -> bool:
    """Whether the reader may read what somebody wrote about people: coordinators may, and who wrote it."""
    reader = _reader.get()
    return reader is None or (isinstance(reader, Person) and (reader.is_coordinator or reader.pk == writer.pk))


def name_of(person: Person) -> str:
    return person.name if may_learn(person) else _("a member")
