"""The door: reads the access mark of every page before the page runs."""

import datetime as dt
from collections.abc import Callable
from typing import Any

from django.contrib.auth.views import redirect_to_login
from django.db import DatabaseError
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone

from coop import access, fresh, reader, shed
from coop.models import Club


class AccessMiddleware:
    """Fails closed. API views are judged by coop.api.permission.MarkPermission, since tokens are only read there."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        with timezone.override(_zone()), reader.one_request():
            return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: Callable[..., Any], args: tuple[Any, ...], kwargs: dict[str, Any]
    ) -> HttpResponseBase | None:
        match = request.resolver_match
        mark = access.mark_of(view, match.view_name if match else "")
        if mark is None:
            raise Http404("a view without a mark opens to nobody")
        if shed.is_shed_phone(request):
            if shed.turn_out(request):
                return redirect("account_request_login_code")
            if not shed.may_open(request.path):
                return redirect(shed.BENCH)
        reader.is_read_by(request.user)
        if hasattr(view, "cls"):
            return None
        if not access.allows(mark, request.user):
            return self._turn_away(request, mark)
        if mark.fresh and not fresh.is_fresh(request):
            return fresh.ask_again(request)
        return None

    def _turn_away(self, request: HttpRequest, mark: access.Mark) -> HttpResponseBase:
        if not request.user.is_authenticated:
            return redirect_to_login(request.get_full_path())
        answer: HttpResponse = render(request, "403.html", {"who": mark.who.value}, status=403)
        return answer


def _zone() -> dt.tzinfo:
    """What people mean by a day: the club's zone, and UTC before there is a club or while the database is away."""
    try:
        club = Club.objects.filter(pk=1).only("zone").first()
    except DatabaseError:
        return dt.UTC
    return club.tz if club else dt.UTC
