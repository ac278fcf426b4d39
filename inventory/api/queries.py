"""The shelf's questions over the API."""

from typing import Any, ClassVar

from django.shortcuts import get_object_or_404
from django_filters import rest_framework as filters
from drf_spectacular.utils import extend_schema
from rest_framework.generics import ListAPIView
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from coop import codes
from coop.access import VOLUNTEER, Mark
from coop.models import the_club
from inventory import ancestry, holds, shelf
from inventory.api import answers
from inventory.models import Hold, Holding, Item, Lot, Place, Question, Supplier

READS = Mark(VOLUNTEER)


class Stock(APIView):
    """Every material with what of it can be used today: in date and not on hold."""

    opens_to = READS

    @extend_schema(responses=answers.StockAnswer(many=True))
    def get(self, request: Request) -> Response:
        rows = shelf.stock(the_club().today())
        return Response(answers.StockAnswer(rows, many=True).data)


class Suppliers(ListAPIView[Supplier]):
    """Who the club buys from."""

    opens_to = READS
    serializer_class = answers.SupplierAnswer
    queryset = Supplier.objects.all()


class Sheds(ListAPIView[Place]):
    """Where things are kept."""

    opens_to = READS
    serializer_class = answers.ShedAnswer
    queryset = Place.objects.filter(kind__in=Place.IN_STORE)


class ItemFilter(filters.FilterSet):
    held = filters.BooleanFilter(method="only_held", label="on hold, itself or through what it is made from")
    on_hand = filters.BooleanFilter(method="only_on_hand", label="some of it stands in a shed")
    supplier_lot = filters.CharFilter(field_name="lot__supplier_lot")

    class Meta:
        model = Item
        fields: ClassVar = ["kind", "material"]

    def only_held(self, rows: Any, name: str, value: bool) -> Any:
        held = holds.held_ids()
        return rows.filter(pk__in=held) if value else rows.exclude(pk__in=held)

    def only_on_hand(self, rows: Any, name: str, value: bool) -> Any:
        return rows.filter(on_hand__gt=0) if value else rows.filter(on_hand=0)


class Items(ListAPIView[Item]):
    """Everything with a code, first expiring first."""

    opens_to = READS
    serializer_class = answers.ItemAnswer
    filterset_class = ItemFilter
    queryset = Item.objects.with_on_hand().first_expiring()


class Thing(APIView):
    """One thing: where it is, what holds reach it, and a lot's facts."""

    opens_to = READS

    @extend_schema(responses=answers.ThingAnswer)
    def get(self, request: Request, code: str) -> Response:
        item = get_object_or_404(Item.objects.with_on_hand(), code=codes.tidy(code))
        known = {
            "item": item,
            "lot": Lot.objects.filter(item=item).prefetch_related("containers").first(),
            "where": Holding.objects.filter(item=item, quantity__gt=0).select_related("place__person", "item"),
            "holds": Hold.objects.filter(pk__in=[hold.pk for hold in holds.holds_of(item)]).prefetch_related("items"),
        }
        return Response(answers.ThingAnswer(known).data)


class Kin(APIView):
    """Above a thing: what it was made from. Below it: what was made from it. Shares by mass, taken as well mixed.

    Above, each root's share in the thing; below, the thing's share in each. Where no share is defined it is null.
    """

    opens_to = READS
    is_up = True

    @extend_schema(responses=answers.KinAnswer(many=True))
    def get(self, request: Request, code: str) -> Response:
        item = get_object_or_404(Item, code=codes.tidy(code))
        ids = (ancestry.up if self.is_up else ancestry.down)([item.pk]) - {item.pk}
        parts = ancestry.shares_up(item) if self.is_up else ancestry.share_down(item)
        held = holds.on_hold(ids)
        rows = [
            {
                "code": row.code_id,
                "kind": row.kind,
                "parts": parts.get(row.pk),
                "share": None if row.pk not in parts else f"{parts[row.pk] / 10**18:.6f}",
                "is_held": row.pk in held,
            }
            for row in Item.objects.filter(pk__in=ids).order_by("pk")
        ]
        return Response(answers.KinAnswer(rows, many=True).data)


class Questions(ListAPIView[Question]):
    """What was kept though the book disagreed."""

    opens_to = READS
    serializer_class = answers.QuestionAnswer
    filterset_fields: ClassVar = ["kind"]
    queryset = Question.objects.select_related("item")


class HoldFilter(filters.FilterSet):
    lifted = filters.BooleanFilter(field_name="lifted_by", lookup_expr="isnull", exclude=True)

    class Meta:
        model = Hold
        fields: ClassVar[list[str]] = []


class Holds(ListAPIView[Hold]):
    """Holds, newest first."""

    opens_to = READS
    serializer_class = answers.HoldAnswer
    filterset_class = HoldFilter
    queryset = Hold.objects.prefetch_related("items")
