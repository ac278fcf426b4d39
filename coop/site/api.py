"""The roof of the API: what somebody may reach, the OpenAPI document, and a page that shows it."""

from collections.abc import Iterator
from functools import cache
from typing import Any, NamedTuple

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe
from drf_spectacular.utils import extend_schema
from drf_spectacular.views import SpectacularAPIView
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from coop import access
from coop.api.base import CommandView
from coop.api.permission import MarkPermission

PREFIX = "api/v1/"


class Door(NamedTuple):
    """One address of the API: its pattern, its mark, and how it is asked."""

    path: str
    method: str
    does: str
    mark: access.Mark


class DoorRow(serializers.Serializer[Any]):
    path = serializers.CharField()
    method = serializers.CharField()
    does = serializers.CharField()
    fresh_code = serializers.BooleanField(help_text="whether it needs a fresh code")


class RootOut(serializers.Serializer[Any]):
    schema = serializers.CharField()
    docs = serializers.CharField()
    doors = DoorRow(many=True)


def patterns(prefix: str = "", resolver: Any = None) -> Iterator[tuple[str, URLPattern]]:
    """Every address of the site, as a path with its parameters in place, with its pattern."""
    for one in (resolver or get_resolver()).url_patterns:
        path = f"{prefix}{one.pattern}"
        if isinstance(one, URLResolver):
            yield from patterns(path, one)
        else:
            yield path, one


@cache
def doors() -> tuple[Door, ...]:
    found = []
    for path, pattern in patterns():
        view = getattr(pattern.callback, "cls", None)
        mark = access.mark_of(pattern.callback)
        if not path.startswith(PREFIX) or view is None or mark is None:
            continue
        method = "POST" if issubclass(view, CommandView) or not hasattr(view, "get") else "GET"
        does = " ".join((view.__doc__ or "").split("\n\n")[0].split())
        found.append(Door(f"/{path}", method, does, mark))
    return tuple(found)


class Root(APIView):
    """What you may reach here: every address with what it does. Parameters stand in angle brackets."""

    opens_to = access.Mark(access.MEMBER)

    @extend_schema(responses=RootOut, operation_id="root")
    def get(self, request: Request) -> Response:
        rows = [door for door in doors() if access.allows(door.mark, request.user)]
        body = {
            "schema": request.build_absolute_uri(reverse("api_schema")),
            "docs": request.build_absolute_uri(reverse("api_docs")),
            "doors": [
                {"path": door.path, "method": door.method, "does": door.does, "fresh_code": door.mark.fresh}
                for door in rows
            ],
        }
        return Response(RootOut(body).data)


class Schema(SpectacularAPIView):
    """The OpenAPI document of everything under /api/v1/."""

    opens_to = access.Mark(access.MEMBER)
    permission_classes = [MarkPermission]


@access.opens_to(access.MEMBER)
@require_safe
def docs(request: HttpRequest) -> HttpResponse:
    """The document as a page, from this host alone: script and style are files, so that the policy stays strict."""
    known = {"title": _("The API"), "lead": _("The same commands and queries as the pages, for programs.")}
    return render(request, "site/api_docs.html", known)
