"""Phones of the shed: a session that lasts thirty days, sees the bench only, and ends when the coordinator says so."""

import datetime as dt

from django.contrib.auth import logout
from django.http import HttpRequest
from django.utils import timezone

from coop.models import ShedPhone

KEY = "coop_shed_phone"
BENCH = "/bench"
#: what such a phone may open: the bench, the mixes, soaks and bags it works on, and the way out. Releasing needs a
#: fresh code, which such a session never has.
OPEN_PREFIXES = (
    *("/bench", "/mix", "/soak", "/bag", "/sample", "/solution", "/titrate", "/weighing", "/instruments"),
    *(f"/api/v1/{noun}" for noun in ("benches", "mixes", "soaks", "bags", "weighings", "solutions", "equipment")),
    *("/sign-out", "/theme", "/health"),
)


def mark(request: HttpRequest, phone: ShedPhone) -> None:
    """The session that was just opened is this phone's. It does not count as a fresh sign-in."""
    request.session[KEY] = phone.pk
    request.session["account_authentication_methods"] = []
    request.session.set_expiry(max(dt.timedelta(0), phone.valid_until - timezone.now()))


def is_shed_phone(request: HttpRequest) -> bool:
    return KEY in getattr(request, "session", {})


def turn_out(request: HttpRequest) -> bool:
    """End the session of a phone that was revoked or whose thirty days are over; true when it was ended."""
    good = ShedPhone.objects.filter(pk=request.session[KEY], revoked_at=None, valid_until__gt=timezone.now())
    if good.exists():
        return False
    logout(request)
    return True


def may_open(path: str) -> bool:
    return any(path == prefix or path.startswith(f"{prefix}/") for prefix in OPEN_PREFIXES)
