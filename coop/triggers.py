"""Triggers of both engines: lifted before migrations touch a table, laid again after, and looked for.

SQLite loses triggers silently when a table is rebuilt. `migrate` and `flush` (coop/management) lay them in a `finally`,
so a failed migration leaves none behind. `missing()` is asked by the start command, /health and a test.
"""

import dataclasses
from collections.abc import Iterable
from typing import Any

from django.apps import AppConfig
from django.db import DEFAULT_DB_ALIAS, connections
from django.db.models.signals import post_migrate, pre_migrate


@dataclasses.dataclass(frozen=True)
class Trigger:
    """One rule of a table. `events` like "UPDATE"; `when` is an SQL condition on NEW and OLD per engine."""

    name: str
    table: str
    event: str
    message: str
    sqlite_when: str = ""
    postgresql_when: str = ""
    others_than: tuple[str, ...] = ()


_known: dict[str, Trigger] = {}


def register(trigger: Trigger) -> None:
    _known[trigger.name] = trigger


def append_only(table: str, writable_once: Iterable[str] = ()) -> None:
    """No row of the table is ever deleted or altered, but for columns that go from NULL to a value once."""
    once = tuple(writable_once)
    register(Trigger(f"{table}_no_delete", table, "DELETE", f"{table} is append-only"))
    register(Trigger(f"{table}_no_update", table, "UPDATE", f"{table} is append-only", others_than=once))


def hook(config: AppConfig) -> None:
    pre_migrate.connect(_before, sender=config, dispatch_uid="coop.triggers.lift")
    post_migrate.connect(_after, sender=config, dispatch_uid="coop.triggers.lay")


def _before(using: str = DEFAULT_DB_ALIAS, **kwargs: Any) -> None:
    lift(using)


def _after(using: str = DEFAULT_DB_ALIAS, **kwargs: Any) -> None:
    lay(using)


def lift(using: str = DEFAULT_DB_ALIAS) -> None:
    connection = connections[using]
    present = set(_present(using))
    with connection.cursor() as cursor:
        for trigger in _known.values():
            if trigger.name not in present:
                continue
            on = f' ON "{trigger.table}"' if connection.vendor == "postgresql" else ""
            cursor.execute(f'DROP TRIGGER IF EXISTS "{trigger.name}"{on}')


def lay(using: str = DEFAULT_DB_ALIAS) -> None:
    """Lay every registered trigger whose table exists; laying twice is harmless."""
    connection = connections[using]
    lift(using)
    with connection.cursor() as cursor:
        tables = set(connection.introspection.table_names(cursor))
        for trigger in _known.values():
            if trigger.table in tables:
                for statement in _statements(trigger, using):
                    cursor.execute(statement)


def missing(using: str = DEFAULT_DB_ALIAS) -> list[str]:
    """Names of triggers that should stand and do not."""
    present = set(_present(using))
    return sorted(name for name in _known if name not in present)


def _present(using: str) -> list[str]:
    connection = connections[using]
    question = (
        "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal"
        if connection.vendor == "postgresql"
        else "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    )
    with connection.cursor() as cursor:
        cursor.execute(question)
        return [row[0] for row in cursor.fetchall()]


def _statements(trigger: Trigger, using: str) -> list[str]:
    when = _condition(trigger, using)
    if connections[using].vendor == "sqlite":
        clause = f"WHEN {when}" if when else ""
        return [
            f'CREATE TRIGGER "{trigger.name}" BEFORE {trigger.event} ON "{trigger.table}" {clause} '
            f"BEGIN SELECT RAISE(ABORT, '{trigger.message}'); END"
        ]
    body = (
        f"IF {when} THEN RAISE EXCEPTION '{trigger.message}' USING ERRCODE = 'integrity_constraint_violation'; END IF;"
    )
    if not when:
        body = f"RAISE EXCEPTION '{trigger.message}' USING ERRCODE = 'integrity_constraint_violation';"
    row = "OLD" if trigger.event == "DELETE" else "NEW"
    return [
        f'CREATE OR REPLACE FUNCTION "{trigger.name}"() RETURNS trigger LANGUAGE plpgsql AS '
        f"$trigger$ BEGIN {body} RETURN {row}; END $trigger$",
        f'CREATE TRIGGER "{trigger.name}" BEFORE {trigger.event} ON "{trigger.table}" '
        f'FOR EACH ROW EXECUTE FUNCTION "{trigger.name}"()',
    ]


def _condition(trigger: Trigger, using: str) -> str:
    """When the trigger bites: always, on its own condition, or on any column but those writable once."""
    connection = connections[using]
    own = trigger.sqlite_when if connection.vendor == "sqlite" else trigger.postgresql_when
    if own or not trigger.others_than:
        return own
    differs = "IS NOT" if connection.vendor == "sqlite" else "IS DISTINCT FROM"
    with connection.cursor() as cursor:
        columns = [column.name for column in connection.introspection.get_table_description(cursor, trigger.table)]
    cast = "" if connection.vendor == "sqlite" else "::text"
    guarded = [
        f'NEW."{name}"{cast} {differs} OLD."{name}"{cast}' for name in columns if name not in trigger.others_than
    ]
    spent = [f'OLD."{name}" IS NOT NULL' for name in trigger.others_than]
    return "(" + " OR ".join(guarded + spent) + ")"
