"""POST /fresh-code mails a code that opens one deed which needs a second look."""

from typing import Any

from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema, inline_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.throttling import UserRateThrottle
from rest_framework.views import APIView

from coop import fresh, letters, signin
from coop.access import MEMBER, Mark
from coop.command import Refused


class FreshCodeThrottle(UserRateThrottle):
    scope = "fresh_code"
    rate = "5/min"


class FreshCode(APIView):
    """Mail a fresh code to the person who asks. Send it in the header `Fresh-Code` within ten minutes, for one deed."""

    opens_to = Mark(MEMBER)
    throttle_classes = (FreshCodeThrottle,)

    @extend_schema(
        request=None,
        responses={202: inline_serializer("FreshCodeSent", {"minutes": serializers.IntegerField()})},
    )
    def post(self, request: Request) -> Response:
        person: Any = request.user
        is_demo = letters.is_demo()
        if not person.email and not is_demo:
            raise Refused(_("No e-mail is known for you, so no code can be sent."), code="no_email")
        code = fresh.make(person)
        answer: dict[str, Any] = {"minutes": fresh.CODE_MINUTES}
        if is_demo:
            answer["demo_code"] = code
        else:
            signin.send_fresh_code(person, code)
        return Response(answer, status=202)
