"""The access marks as the API's permission; a module of its own, since the framework imports it with its views."""

from typing import Any

from django.http import Http404
from rest_framework import exceptions, status
from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from coop import access, fresh, reader


class NeedsFreshCode(exceptions.APIException):
    status_code = status.HTTP_403_FORBIDDEN
    default_detail = (
        "This needs a fresh code: POST /api/v1/fresh-code, then send the mailed code in the header Fresh-Code."
    )
    default_code = "fresh_code"


class MarkPermission(BasePermission):
    """Reads the same mark as the pages; an API view without one opens to nobody."""

    def has_permission(self, request: Request, view: Any) -> bool:
        mark = access.mark_of(type(view))
        if mark is None:
            raise Http404("a view without a mark opens to nobody")
        if not access.allows(mark, request.user):
            return False
        if mark.fresh and not fresh.is_fresh(request._request):
            raise NeedsFreshCode
        reader.is_read_by(request.user)
        return True
