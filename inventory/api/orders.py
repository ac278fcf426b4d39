"""Orders and the shopping list over the API."""

from typing import Any, ClassVar

from django.shortcuts import get_object_or_404
from django.utils import timezone
from django_filters import rest_framework as filters
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.generics import GenericAPIView, ListAPIView
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access import COORDINATOR, VOLUNTEER, Mark
from coop.api.base import command_view
from coop.api.fields import Happened, Money
from coop.models import the_club
from inventory import shopping, what_if
from inventory.api.answers import MassOf, PiecesOf
from inventory.api.rows import Amount, RowField, quantity
from inventory.commands import ordering
from inventory.models import Material, Order, Supplier

READS, WRITES = Mark(VOLUNTEER), Mark(COORDINATOR)


class TakesOrder(Amount):
    material = RowField(Material.objects.select_related("supplier"))
    supplier = RowField(Supplier.objects.all(), required=False, allow_null=True)
    ordered_on = serializers.DateField(required=False, allow_null=True)
    expected_on = serializers.DateField(required=False, allow_null=True)
    note = serializers.CharField(max_length=ordering.NOTE_LENGTH, required=False, allow_blank=True)
    confirmed = serializers.BooleanField(required=False)


class TakesExpected(Happened):
    expected_on = serializers.DateField()


class TakesOrderEnd(Happened):
    outcome = serializers.ChoiceField(Order.Outcome.choices)
    note = serializers.CharField(max_length=ordering.NOTE_LENGTH, required=False, allow_blank=True)


class OrderAnswer(serializers.ModelSerializer[Order]):
    mass_g = MassOf(unit="material.unit")
    pieces = PiecesOf(unit="material.unit")
    is_open = serializers.SerializerMethodField()
    is_overdue = serializers.SerializerMethodField()

    class Meta:
        model = Order
        fields: ClassVar = [
            "id", "material", "supplier", "mass_g", "pieces", "ordered_on", "expected_on", "note", "outcome", "is_open",
            "is_overdue", "deed", "ended_by",
        ]  # fmt: skip

    def get_is_open(self, row: Order) -> bool:
        return not row.outcome

    def get_is_overdue(self, row: Order) -> bool:
        return not row.outcome and row.expected_on < timezone.localdate()


class OrderFilter(filters.FilterSet):
    is_open = filters.BooleanFilter(method="only_open")

    class Meta:
        model = Order
        fields: ClassVar = ["material", "supplier"]

    def only_open(self, rows: Any, name: str, value: bool) -> Any:
        return rows.open() if value else rows.exclude(outcome="")


class Orders(ListAPIView[Order]):
    """Orders by the day they are expected; `is_open=true` for what is on its way."""

    opens_to = READS
    serializer_class = OrderAnswer
    filterset_class = OrderFilter
    queryset = Order.objects.select_related("material")


class BuyAnswer(serializers.Serializer[Any]):
    """One material to buy. `expected_price` is null where nothing was ever paid for it."""

    material = serializers.IntegerField(source="material.pk")
    name = serializers.CharField(source="material.name")
    mass_g = MassOf("quantity", "material.unit")
    pieces = PiecesOf("quantity", "material.unit")
    packs = serializers.IntegerField(allow_null=True)
    order_by = serializers.DateField(allow_null=True)
    is_now = serializers.BooleanField()
    expected_price = Money(source="cents", allow_null=True)
    on_order = OrderAnswer(many=True)


class BasketAnswer(serializers.Serializer[Any]):
    """What to buy from one supplier; `supplier` is null where none is set."""

    supplier = serializers.IntegerField(source="supplier.pk", allow_null=True, default=None)
    name = serializers.CharField(source="supplier.name", allow_null=True, default=None)
    order_by = serializers.DateField(allow_null=True)
    expected_price = Money(source="cents")
    without_price = serializers.IntegerField()
    lines = BuyAnswer(many=True)


class ShoppingAnswer(serializers.Serializer[Any]):
    until = serializers.DateField()
    expected_price = Money(source="cents")
    without_price = serializers.IntegerField()
    suppliers = BasketAnswer(source="baskets", many=True)


class Shopping(GenericAPIView[Any]):
    """What to buy by supplier, the most urgent first; `until` is the day to which it should be enough."""

    opens_to = READS
    serializer_class = ShoppingAnswer
    filter_backends = ()
    pagination_class = None

    @extend_schema(parameters=[OpenApiParameter("until", str, description="an ISO day; six months ahead without it")])
    def get(self, request: Request) -> Response:
        today = the_club().today()
        until = what_if.read(today, request.query_params.get("until", "")).until
        return Response(self.get_serializer(shopping.shopping_list(today, until)).data)


def _ordered(view: Any, data: dict[str, Any]) -> dict[str, Any]:
    amount = quantity(data, data["material"].unit)
    return {**data, "quantity": amount}


def _by_order(view: Any, data: dict[str, Any], pk: int) -> dict[str, Any]:
    return {**data, "order": get_object_or_404(Order.objects.select_related("material"), pk=pk)}


order = command_view("NoteOrder", ordering.order, TakesOrder, WRITES, OrderAnswer, _ordered)
expect = command_view("ExpectOrder", ordering.expect_order, TakesExpected, WRITES, OrderAnswer, _by_order)
end = command_view("EndOrder", ordering.end_order, TakesOrderEnd, WRITES, OrderAnswer, _by_order)
