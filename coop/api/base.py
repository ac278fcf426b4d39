"""The API's shared parts: one command view, the marks as permission, problem+json answers.

Every POST that does a deed wants an `Idempotency-Key` header; the same key with the same body answers the same again.
"""

import logging
from collections.abc import Callable
from typing import Any, ClassVar

from django.core.exceptions import PermissionDenied
from django.http import Http404
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.utils import OpenApiParameter
from rest_framework import exceptions, serializers, status
from rest_framework.generics import GenericAPIView
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from coop import access
from coop.command import Refused
from coop.models import Deed

log = logging.getLogger("coop.api")


class ProblemRenderer(JSONRenderer):
    media_type = "application/problem+json"


class ProblemSerializer(serializers.Serializer[Any]):
    """RFC 9457 problem details."""

    type = serializers.CharField()
    title = serializers.CharField()
    status = serializers.IntegerField()
    detail = serializers.CharField()
    code = serializers.CharField()
    errors = serializers.DictField(  # type: ignore[assignment]
        child=serializers.ListField(child=serializers.CharField()), required=False
    )
    facts = serializers.DictField(required=False)


class CommandSchema(AutoSchema):
    """Documents the header and the problems of every command."""

    def get_override_parameters(self) -> list[Any]:
        if self.method == "POST" and isinstance(self.view, CommandView):
            return [
                OpenApiParameter(
                    "Idempotency-Key", str, OpenApiParameter.HEADER, required=True, description="One for each deed."
                )
            ]
        return []

    def get_filter_backends(self) -> list[Any]:
        """A deed that answers with several rows is no list to be filtered."""
        return [] if isinstance(self.view, CommandView) else super().get_filter_backends()  # type: ignore[no-any-return]

    def get_response_serializers(self) -> Any:
        if self.method == "POST" and isinstance(self.view, CommandView):
            return {201: self.view.answer_class, **dict.fromkeys((400, 401, 403, 404, 409, 422), ProblemSerializer)}
        return super().get_response_serializers()


class CommandView(GenericAPIView[Any]):
    """POST does one deed. Subclasses name the command, what it takes and what it answers."""

    command: ClassVar[Callable[..., Any]]
    answer_class: ClassVar[Any] = None
    schema = CommandSchema()
    http_method_names = ["post", "options"]

    def arguments(self, data: dict[str, Any], **kwargs: Any) -> dict[str, Any]:
        """What the command takes, from the body and the address. Raises Http404 for what is another's."""
        return {**data, **kwargs}

    def answer(self, result: Any) -> Any:
        return self.answer_class(result, context=self.get_serializer_context()).data if self.answer_class else {}

    def post(self, request: Request, **kwargs: Any) -> Response:
        key = request.headers.get("Idempotency-Key", "").strip()
        if not 8 <= len(key) <= 64:
            raise exceptions.ValidationError(
                {"Idempotency-Key": ["Send a header Idempotency-Key of 8 to 64 characters, a new one for each deed."]}
            )
        body = self.get_serializer(data=request.data)
        body.is_valid(raise_exception=True)
        data = dict(body.validated_data)
        happened_at = data.pop("happened_at", None)
        result = type(self).command(
            actor=request.user,
            key=key,
            happened_at=happened_at,
            door=Deed.Door.API,
            **self.arguments(data, **kwargs),
        )
        return Response(self.answer(result), status=status.HTTP_201_CREATED)


def command_view(
    name: str,
    command: Callable[..., Any],
    takes: type[serializers.BaseSerializer[Any]],
    mark: access.Mark,
    answers: Any = None,
    arguments: Callable[..., dict[str, Any]] | None = None,
) -> Any:
    """A view class for one command; `arguments(view, data, **kwargs)` may turn ids of the address into rows."""
    body: dict[str, Any] = {
        "command": staticmethod(command),
        "serializer_class": takes,
        "answer_class": answers,
        "opens_to": mark,
        "__doc__": (command.__doc__ or "").split("\n\n")[0],
        "__module__": command.__module__,
    }
    if arguments is not None:
        body["arguments"] = arguments
    return type(name, (CommandView,), body).as_view()  # type: ignore[attr-defined]


def problem(
    code: str, detail: str, http_status: int, errors: dict[str, Any] | None = None, facts: dict[str, Any] | None = None
) -> Response:
    body: dict[str, Any] = {
        "type": f"urn:coop:problem:{code}",
        "title": code.replace("_", " "),
        "status": http_status,
        "detail": detail,
        "code": code,
    }
    if errors:
        body["errors"] = errors
    if facts:
        body["facts"] = facts
    return Response(body, status=http_status, content_type="application/problem+json")


def on_error(trouble: Exception, context: dict[str, Any]) -> Response | None:
    """DRF's exception handler: every refusal is a problem document with a sentence."""
    if isinstance(trouble, Refused):
        facts = {name: value for name, value in trouble.facts.items() if isinstance(value, str | int | bool | list)}
        return problem(trouble.code, trouble.sentence, trouble.status, facts=facts)
    if isinstance(trouble, Http404):
        return problem("not_found", "There is nothing here for you.", status.HTTP_404_NOT_FOUND)
    if isinstance(trouble, PermissionDenied):
        return problem("not_allowed", "Your role does not open this.", status.HTTP_403_FORBIDDEN)
    if isinstance(trouble, exceptions.ValidationError):
        return problem(
            "invalid", "Something in what was sent cannot be read; nothing was written.", 400, _flat(trouble.detail)
        )
    if isinstance(trouble, exceptions.APIException):
        answer = problem(str(trouble.get_codes()), str(trouble.detail), trouble.status_code)
        wait, auth = getattr(trouble, "wait", None), getattr(trouble, "auth_header", None)
        if wait:
            answer["Retry-After"] = f"{wait:.0f}"
        if auth:
            answer["WWW-Authenticate"] = auth
        return answer
    return None


def _flat(detail: Any, path: str = "") -> dict[str, list[str]]:
    """Nested validation errors as dotted paths."""
    if isinstance(detail, dict):
        flat: dict[str, list[str]] = {}
        for name, inner in detail.items():
            flat.update(_flat(inner, f"{path}.{name}" if path else str(name)))
        return flat
    if isinstance(detail, list) and any(isinstance(one, dict | list) for one in detail):
        flat = {}
        for index, inner in enumerate(detail):
            flat.update(_flat(inner, f"{path}.{index}" if path else str(index)))
        return flat
    return {path or "body": [str(one) for one in (detail if isinstance(detail, list) else [detail])]}
