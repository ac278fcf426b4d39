"""What a thing costs, over the API: all that went in, by what it was, and where it went on."""

from typing import Any

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from coop import codes
from coop.access import VOLUNTEER, Mark
from coop.api.fields import MicroMoney
from inventory import costs
from inventory.models import Item


class CostPartAnswer(serializers.Serializer[Any]):
    code = serializers.CharField()
    kind = serializers.CharField()
    cost = MicroMoney()


class CostAnswer(serializers.Serializer[Any]):
    """Money of the club. `into` is `returned` + `carried` + `waiting` + `kept` + `written_off`, but for lots.

    `total` is what the thing costs: `into`, for a soak less what its returned solution carries. `each` is for one strip
    or piece, or for one gram. `is_capped`: more came back by the book than was there, so what came back carries all.
    """

    code = serializers.CharField()
    kind = serializers.CharField()
    unit = serializers.CharField()
    total = MicroMoney()
    each = MicroMoney(allow_null=True)
    into = MicroMoney()
    returned = MicroMoney()
    carried = MicroMoney()
    waiting = MicroMoney()
    kept = MicroMoney()
    written_off = MicroMoney()
    is_capped = serializers.BooleanField()
    parts = CostPartAnswer(many=True)


class CostOf(APIView):
    """What one thing costs: a lot by its price, all else by what went into it. Gifts count as nothing."""

    opens_to = Mark(VOLUNTEER)

    @extend_schema(responses=CostAnswer)
    def get(self, request: Request, code: str) -> Response:
        item = get_object_or_404(Item, code=codes.tidy(code))
        cost = costs.of_item(item)
        parents = Item.objects.filter(pk__in=cost.by_parent).order_by("pk")
        parts = [{"code": one.code_id, "kind": one.kind, "cost": cost.by_parent[one.pk]} for one in parents]
        names = ("total", "into", "returned", "carried", "waiting", "kept", "written_off", "is_capped")
        each = None if cost.each is None else cost.each * (1000 if item.unit == "mass" else 1)
        facts = {name: getattr(cost, name) for name in names}
        head = {"code": item.code_id, "kind": item.kind, "unit": "gram" if item.unit == "mass" else "piece"}
        return Response(CostAnswer({**head, **facts, "each": each, "parts": parts}).data)
