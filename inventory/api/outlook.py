"""The outlook over the API: what comes of the shelf, as planned or with holds lifted and benches moved."""

from typing import Any, ClassVar

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from coop.access import VOLUNTEER, Mark
from coop.api.base import ProblemSerializer
from coop.models import the_club
from inventory import outlook, what_if
from inventory import outlook_words as say
from inventory.api.answers import MassOf, MaterialAnswer, PiecesOf
from inventory.models import Material, Order
from inventory.outlook import Outlook
from inventory.what_if import WhatIf

ASKS = [
    OpenApiParameter(
        "until",
        str,
        description="Look ahead to this day (ISO 8601); unless said, the last of the sixth month from now.",
    ),
    OpenApiParameter("lifted", int, many=True, description="Ids of active holds, taken as lifted. May be repeated."),
    OpenApiParameter(
        "moved", str, many=True, description="A planned bench on another day: bench:7=2027-04-17. May be repeated."
    ),
]


class Row:
    """Facts under names, for the serializers' paths."""

    def __init__(self, **facts: Any) -> None:
        self.__dict__.update(facts)


class LotAheadAnswer(serializers.Serializer[Any]):
    """A lot in store. `reason` says why it is not counted: hold, quarantine, expired, form; empty: it counts."""

    code = serializers.CharField()
    quantity_g = MassOf("quantity", "unit")
    quantity_pieces = PiecesOf("quantity", "unit")
    best_before = serializers.DateField(allow_null=True)
    is_counted = serializers.BooleanField()
    reason = serializers.CharField(allow_blank=True)
    wasted_g = MassOf("wasted", "unit")
    wasted_pieces = PiecesOf("wasted", "unit")


class StepAnswer(serializers.Serializer[Any]):
    """What happens on a day, and the balance after it. `kind`: draw, expired, arrival."""

    day = serializers.DateField()
    kind = serializers.CharField()
    change_g = MassOf("change", "unit")
    change_pieces = PiecesOf("change", "unit")
    balance_g = MassOf("balance", "unit")
    balance_pieces = PiecesOf("balance", "unit")
    what = serializers.CharField(allow_blank=True)
    key = serializers.CharField(allow_blank=True)


class OpenOrderAnswer(serializers.ModelSerializer[Order]):
    quantity_g = MassOf("quantity", "material.unit")
    quantity_pieces = PiecesOf("quantity", "material.unit")

    class Meta:
        model = Order
        fields: ClassVar = ["id", "quantity_g", "quantity_pieces", "expected_on"]


class OutlookAnswer(serializers.Serializer[Any]):
    """One material from today to a day. Null dates: it does not come to that."""

    material = MaterialAnswer()
    today = serializers.DateField()
    until = serializers.DateField()
    counted_g = MassOf("counted", "unit")
    counted_pieces = PiecesOf("counted", "unit")
    safety_g = MassOf("safety", "unit")
    safety_pieces = PiecesOf("safety", "unit")
    breached_on = serializers.DateField(allow_null=True)
    runs_out_on = serializers.DateField(allow_null=True)
    order_by = serializers.DateField(allow_null=True)
    is_order_now = serializers.BooleanField()
    lead_days = serializers.IntegerField(allow_null=True)
    end_g = MassOf("end", "unit")
    end_pieces = PiecesOf("end", "unit")
    short_g = MassOf("short", "unit")
    short_pieces = PiecesOf("short", "unit")
    packs = serializers.IntegerField(allow_null=True)
    buy_g = MassOf("buy", "unit")
    buy_pieces = PiecesOf("buy", "unit")
    answer = serializers.CharField(help_text="the outlook in one line")


class WholeOutlookAnswer(OutlookAnswer):
    """The same with its lots, steps and orders, and what cannot be counted."""

    lots = LotAheadAnswer(many=True)
    steps = StepAnswer(many=True)
    orders = OpenOrderAnswer(many=True)
    overdue_orders = serializers.ListField(child=serializers.IntegerField(), help_text="ids; they are not counted")
    late = serializers.ListField(child=serializers.CharField(), help_text="benches whose day is past: counted today")
    unknown = serializers.ListField(child=serializers.CharField(), help_text="asks without a figure for a hive dose")
    lifted = serializers.ListField(child=serializers.IntegerField(), help_text="holds taken as lifted")
    moved = serializers.DictField(child=serializers.DateField(), help_text="benches taken as moved, and to which day")


class Outlooks(APIView):
    """Every material with what to buy by when, the most urgent first."""

    opens_to = Mark(VOLUNTEER)

    @extend_schema(parameters=ASKS, responses={200: OutlookAnswer(many=True), 422: ProblemSerializer})
    def get(self, request: Request) -> Response:
        asked = _asked(request)
        rows = _found(asked, None)
        rows.sort(key=lambda row: row.urgency)
        return Response(OutlookAnswer([_facts(row) for row in rows], many=True).data)


class MaterialOutlook(APIView):
    """One material: lots, steps, and what to buy by when."""

    opens_to = Mark(VOLUNTEER)

    @extend_schema(parameters=ASKS, responses={200: WholeOutlookAnswer, 404: ProblemSerializer, 422: ProblemSerializer})
    def get(self, request: Request, pk: int) -> Response:
        material = get_object_or_404(Material.objects.select_related("supplier"), pk=pk)
        asked = _asked(request)
        found = _found(asked, [material])[0]
        unit, wasted = material.unit, found.projection.wasted
        whole = _facts(found)
        whole.__dict__.update(
            lots=[
                Row(
                    unit=unit,
                    code=lot.code,
                    quantity=lot.quantity,
                    best_before=lot.best_before,
                    is_counted=not lot.reason,
                    reason=lot.reason,
                    wasted=0 if lot.reason else wasted.get(lot.item_id, 0),
                )
                for lot in found.lots
            ],
            steps=[
                Row(unit=unit, **{**step._asdict(), "what": say.step_words(step, found)})
                for step in found.projection.steps
            ],
            orders=found.orders,
            overdue_orders=[order.pk for order in found.overdue],
            late=[one.key for one in found.late],
            unknown=[one.key for one in found.unknown],
            lifted=sorted(asked.lifted),
            moved=asked.moved,
        )
        return Response(WholeOutlookAnswer(whole).data)


def _asked(request: Request) -> WhatIf:
    query = request.query_params
    return what_if.read(the_club().today(), query.get("until", ""), query.getlist("lifted"), query.getlist("moved"))


def _found(asked: WhatIf, materials: list[Material] | None) -> list[Outlook]:
    found = outlook.for_materials(
        the_club().today(), materials, until=asked.until, lifted=asked.lifted, moved=asked.moved
    )
    what_if.check(asked, found)
    return found


def _facts(found: Outlook) -> Row:
    figures = found.projection
    return Row(
        material=found.material,
        unit=found.material.unit,
        today=found.today,
        until=found.until,
        counted=figures.start,
        safety=found.terms.safety,
        breached_on=figures.breached_on,
        runs_out_on=figures.runs_out_on,
        order_by=found.order_by,
        is_order_now=found.is_order_now,
        lead_days=found.terms.lead_days,
        end=figures.end,
        short=figures.short,
        packs=figures.packs,
        buy=figures.buy,
        answer=say.answer(found),
    )
