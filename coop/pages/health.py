"""/health: whether the server can do its work, for the supervisor and for whoever watches it. Names no one."""

from collections.abc import Callable

from celery import current_app
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe
from kombu.exceptions import OperationalError

from coop import pulse, triggers
from coop.access import NOBODY, opens_to


def _database() -> str:
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
        cursor.fetchone()
    return ""


def _migrations() -> str:
    executor = MigrationExecutor(connection)
    plan = executor.migration_plan(executor.loader.graph.leaf_nodes())
    return f"{len(plan)} not applied" if plan else ""


def _guards() -> str:
    gone = triggers.missing()
    return f"{len(gone)} missing" if gone else ""


def _sender() -> str:
    now = timezone.now()
    if pulse.is_sender_alive(now):
        return ""
    last = pulse.last_ran()
    return f"last ran {last:%Y-%m-%dT%H:%M:%SZ}" if last else "never ran"


def _bell() -> str:
    with current_app.connection_for_write() as bell:
        bell.ensure_connection(max_retries=1, timeout=2)
    return ""


CHECKS: dict[str, Callable[[], str]] = {
    "database": _database,
    "migrations": _migrations,
    "guards": _guards,
    "sender": _sender,
    "bell": _bell,
}


@opens_to(NOBODY)
@never_cache
@require_safe
def health(request: HttpRequest) -> HttpResponse:
    """200 when everything answers, else 503; each check is "ok" or says in a few words what is wrong."""
    found = {name: _ask(check) for name, check in CHECKS.items()}
    is_well = all(word == "ok" for word in found.values())
    body = {"status": "ok" if is_well else "not ok", "checks": found, "at": timezone.now().isoformat()}
    return JsonResponse(body, status=200 if is_well else 503)


def _ask(check: Callable[[], str]) -> str:
    try:
        return check() or "ok"
    except (DatabaseError, OSError, OperationalError) as trouble:
        return f"does not answer ({type(trouble).__name__})"
