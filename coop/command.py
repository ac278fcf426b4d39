"""The one road for every change: a command runs in one transaction behind one Deed.

    page / API / shell / task   ->   a command   ->   models   ->   notices, after commit

Locks are taken in one order: the Deed, the club's row (the gate, for commands that write an edge or mind a hold), then
holdings by (item, place). A crash anywhere before the commit leaves nothing; a crash after it leaves the whole, and the
retry under the same key returns what was stored.
"""

import datetime as dt
import enum
import functools
import hashlib
import json
import uuid
from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal
from typing import Any, TypeVar

from django.apps import apps
from django.db import connection, models, transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from coop.models.club import Club
from coop.models.deeds import Deed
from coop.refusals import Conflict as Conflict
from coop.refusals import Refused as Refused

R = TypeVar("R")
COMMANDS: dict[str, Callable[..., Any]] = {}
_MODEL = "~model"


def new_key() -> str:
    return uuid.uuid4().hex


def command(verb: str, *, gate: bool = False) -> Callable[[Callable[..., R]], Callable[..., R]]:
    """Make a plain function the one way to do a thing.

    The function takes `deed` first and keyword-only arguments after it. Callers add `actor`, `key`, and may add
    `happened_at` (aware; never later than now) and `door`. With `gate` the club's row is locked first, so that no two
    such commands interleave. Raises Refused (nothing written, nothing remembered) and Conflict.
    """

    def decorate(function: Callable[..., R]) -> Callable[..., R]:
        if verb in COMMANDS:
            raise RuntimeError(f"two commands are called {verb!r}")

        @functools.wraps(function)
        def run(
            *,
            actor: Any,
            key: str,
            happened_at: dt.datetime | None = None,
            door: str = Deed.Door.PAGE,
            **arguments: Any,
        ) -> R:
            fingerprint = _fingerprint(verb, arguments, happened_at)
            with transaction.atomic(durable=True):
                deed = _claim(actor, key, verb, fingerprint, happened_at, door)
                if deed.result is not None:
                    return _decode(deed.result["value"])  # type: ignore[no-any-return]
                if gate:
                    pass_gate()
                deed.has_gate = gate  # type: ignore[attr-defined]
                result = function(deed, **arguments)
                Deed.objects.filter(pk=deed.pk).update(result={"value": _encode(result)})
            return result

        run.verb = verb  # type: ignore[attr-defined]
        run.is_gated = gate  # type: ignore[attr-defined]
        COMMANDS[verb] = run
        return run

    return decorate


def pass_gate() -> None:
    """Lock the club's row without blocking inserts that refer to it (SQLite already holds its write lock)."""
    if connection.features.has_select_for_no_key_update:
        list(Club.objects.select_for_update(no_key=True).filter(pk=1))


def _claim(actor: Any, key: str, verb: str, fingerprint: str, happened_at: dt.datetime | None, door: str) -> Deed:
    """Write the Deed or find the rival's: insert ignoring conflicts with one's own token, then read; no savepoint."""
    now = timezone.now()
    token = uuid.uuid4()
    mine = Deed(
        actor=actor,
        key=key,
        verb=verb,
        fingerprint=fingerprint,
        token=token,
        door=door,
        happened_at=min(happened_at or now, now),
    )
    Deed.objects.bulk_create([mine], ignore_conflicts=True)
    deed = Deed.objects.select_related("actor").get(actor=actor, key=key)
    if deed.token == token:
        return deed
    if deed.verb != verb or deed.fingerprint != fingerprint:
        raise Conflict(
            _("This was sent once before with other figures. What was sent first is kept. Open the page again."),
            code="key_used",
        )
    return deed


def _fingerprint(verb: str, arguments: Mapping[str, Any], happened_at: dt.datetime | None) -> str:
    plain = {"verb": verb, "at": happened_at, "arguments": dict(arguments)}
    return hashlib.sha256(json.dumps(_canonical(plain), sort_keys=True).encode()).hexdigest()


def _canonical(value: Any) -> Any:
    if isinstance(value, enum.Enum):
        return _canonical(value.value)
    if value is None or isinstance(value, str | int | bool):
        return value
    if isinstance(value, models.Model):
        return [value._meta.label_lower, value.pk]
    if isinstance(value, Mapping):
        return {str(key): _canonical(one) for key, one in value.items()}
    if isinstance(value, bytes | memoryview):
        return hashlib.sha256(bytes(value)).hexdigest()
    if isinstance(value, Decimal | uuid.UUID):
        return str(value)
    if isinstance(value, dt.datetime | dt.date | dt.time):
        return value.isoformat()
    if hasattr(value, "__dataclass_fields__"):
        return {name: _canonical(getattr(value, name)) for name in value.__dataclass_fields__}
    if isinstance(value, Sequence | set | frozenset | models.QuerySet):
        plain = [_canonical(one) for one in value]
        return sorted(plain, key=repr) if isinstance(value, set | frozenset) else plain
    raise TypeError(f"a command cannot take {type(value).__name__}: {value!r}")


def _encode(value: Any) -> Any:
    if isinstance(value, models.Model):
        return {_MODEL: value._meta.label_lower, "pk": value.pk}
    if isinstance(value, Mapping):
        return {key: _encode(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_encode(one) for one in value]
    if value is None or isinstance(value, str | int | bool):
        return value
    raise TypeError(f"a command cannot return {type(value).__name__}")


def _decode(value: Any) -> Any:
    if isinstance(value, dict):
        if _MODEL in value:
            return apps.get_model(value[_MODEL])._default_manager.get(pk=value["pk"])
        return {key: _decode(one) for key, one in value.items()}
    if isinstance(value, list):
        return [_decode(one) for one in value]
    return value
