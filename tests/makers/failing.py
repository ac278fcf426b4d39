"""Makes the n-th statement of a command fail, n = 1, 2, 3 … until it succeeds, and looks at the books after each.

Needs a test on the real database (`django_db(transaction=True)`): only there a rollback is a rollback. The wrapper sees
BEGIN and savepoints but no COMMIT, which is failed apart: before it, and after it has been done.
"""

import contextlib
from collections.abc import Callable, Iterator
from typing import Any

from django.apps import apps
from django.db import OperationalError, connection
from django.db.models import Model

from coop import proof
from coop.command import new_key
from coop.models import Person
from tests.makers import coop as make

MOST = 400


class Broken(OperationalError):
    """The database, the disk or the plug gave way here."""


def everything() -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table of ours and of the sign-in library."""
    found = {}
    for model in apps.get_models():
        if model._meta.managed and not model._meta.proxy:
            rows = [tuple(map(str, row)) for row in model._base_manager.order_by("pk").values_list()]
            if rows:
                found[model._meta.label] = rows
    return found


@contextlib.contextmanager
def failing_at(number: int) -> Iterator[Callable[[], bool]]:
    """The `number`-th statement fails; what is yielded says whether it came to that."""
    seen = 0

    def count(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        nonlocal seen
        seen += 1
        if seen == number:
            raise Broken(sql)
        return execute(sql, params, many, context)

    with connection.execute_wrapper(count):
        yield lambda: seen >= number


@contextlib.contextmanager
def failing_commit(*, after: bool) -> Iterator[None]:
    real = connection.commit

    def commit() -> None:
        if after:
            real()
        raise Broken("commit")

    connection.commit = commit  # type: ignore[method-assign]
    try:
        yield
    finally:
        connection.commit = real  # type: ignore[method-assign]


def survives(command: Callable[..., Any], by: Person | None = None, **arguments: Any) -> Any:
    """The command leaves nothing behind wherever it fails, works once under the same key, and the books prove.

    Returns its result. `by` is a coordinator unless said.
    """
    actor = by or Person.objects.filter(role="coordinator").first() or make.coordinator()
    arguments.setdefault("key", new_key())
    before = everything()

    def run() -> Any:
        return command(actor=actor, **{name: _read_again(value) for name, value in arguments.items()})

    def nothing_changed() -> None:
        """Every row is as it was when the books proved, so they prove still."""
        assert everything() == before

    assert list(proof.differences()) == []
    number = 1
    while number < MOST and _fails_at(number, run, nothing_changed):
        number += 1
    assert 3 < number < MOST, number
    return _once(run, before)


def _read_again(value: Any) -> Any:
    """A row as the next request would read it, not as the one that failed has left it in memory."""
    return type(value)._base_manager.get(pk=value.pk) if isinstance(value, Model) else value


def _fails_at(number: int, run: Callable[[], Any], nothing_changed: Callable[[], None]) -> bool:
    """Whether the command has so many statements; with one more it would succeed, so its commit is made to fail."""
    try:
        with failing_commit(after=False), failing_at(number) as came_to_it:
            run()
    except Broken:
        nothing_changed()
        return came_to_it()
    raise AssertionError("a command that failed has returned")


def _once(run: Callable[[], Any], before: dict[str, Any]) -> Any:
    """The answer is lost after the commit; the retry finds what was done, and does it no second time."""
    try:
        with failing_commit(after=True):
            run()
    except Broken:
        pass
    done = everything()
    assert done != before
    result = run()
    assert everything() == done
    assert list(proof.differences()) == []
    return result
