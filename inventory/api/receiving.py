"""Deliveries, a lot's papers and samples of strips over the API."""

from typing import Any, ClassVar

from django.db.models import Prefetch
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.generics import ListAPIView, RetrieveAPIView
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from coop.access import COORDINATOR, VOLUNTEER, Mark
from coop.api.base import command_view
from coop.api.fields import FractionW, Happened, MassG, Money
from inventory.api import answers, rows, takes
from inventory.api.rows import RowField
from inventory.commands import lots, receiving, samples
from inventory.models import Amendment, Delivery, Item, Lot, StripSample, Supplier
from inventory.science import strips

READS, WRITES = Mark(VOLUNTEER), Mark(COORDINATOR)


class TakesDelivery(Happened):
    supplier = RowField(Supplier.objects.all())
    paper_number = serializers.CharField(max_length=80, required=False, allow_blank=True)
    note = serializers.CharField(max_length=300, required=False, allow_blank=True)
    confirmed = serializers.BooleanField(required=False)


class ChangesDelivery(Happened):
    supplier = RowField(Supplier.objects.all())
    paper_number = serializers.CharField(max_length=80, required=False, allow_blank=True)
    note = serializers.CharField(max_length=300, required=False, allow_blank=True)


class TakesWholeDelivery(TakesDelivery):
    """A delivery with all of its lots: all, or nothing."""

    lots = takes.LotFacts(many=True, max_length=receiving.MOST_LOTS)  # type: ignore[call-arg]


class ChangesLot(Happened):
    """Only what is sent is changed."""

    reason = serializers.CharField(max_length=300)
    supplier = RowField(Supplier.objects.all(), required=False)
    supplier_lot = serializers.CharField(max_length=80, required=False, allow_blank=True)
    grade = serializers.CharField(max_length=80, required=False, allow_blank=True)
    form = serializers.ChoiceField(Lot.Form.choices, required=False)
    assay_w = FractionW(required=False, allow_null=True, most=1_500_000_000, source="assay_ppb")
    best_before = serializers.DateField(required=False, allow_null=True)
    price = Money(required=False, source="price_cents")


class TakesTogether(serializers.Serializer[Any]):
    count = serializers.IntegerField(min_value=1, max_value=samples.MOST_STRIPS)
    total_g = MassG(source="total_mg")


class TakesSample(Happened):
    """Strip by strip in `dry_g` and `wet_g`, or so many at once in `dry_together` and `wet_together`."""

    dry_g = serializers.ListField(child=MassG(), required=False, max_length=samples.MOST_STRIPS)
    wet_g = serializers.ListField(child=MassG(), required=False, max_length=samples.MOST_STRIPS)
    dry_together = TakesTogether(required=False)
    wet_together = TakesTogether(required=False)
    note = serializers.CharField(max_length=300, required=False, allow_blank=True)
    confirmed = serializers.BooleanField(required=False)

    def validate(self, attrs: Any) -> Any:
        for name in ("dry", "wet"):
            if attrs.get(f"{name}_g") and attrs.get(f"{name}_together"):
                raise serializers.ValidationError({f"{name}_g": ["Send strips one by one or together, not both."]})
        return attrs


class DeliveryAnswer(serializers.ModelSerializer[Delivery]):
    by = serializers.CharField(source="deed.who")
    lots = serializers.SerializerMethodField()

    class Meta:
        model = Delivery
        fields: ClassVar = ["id", "supplier", "paper_number", "note", "arrived_at", "by", "lots"]

    @extend_schema(responses=answers.ItemFacts(many=True))
    def get_lots(self, delivery: Delivery) -> list[Any]:
        return [answers.ItemFacts(lot.item).data for lot in delivery.lots.all()]


class AmendmentAnswer(serializers.ModelSerializer[Amendment]):
    """What was set right: `before` and `after` hold the same fields, as they are kept."""

    code = serializers.CharField(source="lot.item.code_id")
    before = serializers.DictField()
    after = serializers.DictField()

    class Meta:
        model = Amendment
        fields: ClassVar = ["id", "code", "before", "after", "reason", "happened_at"]


class FigureAnswer(serializers.Serializer[Any]):
    count = serializers.IntegerField()
    mean_g = MassG(source="mean_mg", read_only=True)
    spread_g = MassG(source="spread_mg", read_only=True, allow_null=True)


class SampleAnswer(serializers.ModelSerializer[StripSample]):
    """Means of one strip; `spread_g` is the sample's standard deviation, null for strips weighed together."""

    by = serializers.CharField(source="deed.who")
    dry = serializers.SerializerMethodField()
    uptake = serializers.SerializerMethodField()

    class Meta:
        model = StripSample
        fields: ClassVar = ["id", "dry", "uptake", "note", "by", "happened_at"]

    def get_dry(self, row: StripSample) -> dict[str, Any]:
        return dict(FigureAnswer(strips.figure(samples.read(row.dry_mg))).data)

    def get_uptake(self, row: StripSample) -> dict[str, Any] | None:
        wet = samples.read(row.wet_mg)
        if not strips.count_of(wet):
            return None
        return dict(FigureAnswer(strips.uptake(samples.read(row.dry_mg), wet)).data)


def _deliveries() -> Any:
    lots = Lot.objects.select_related("item__material").prefetch_related("containers").order_by("pk")
    return Delivery.objects.select_related("deed__actor").prefetch_related(Prefetch("lots", queryset=lots))


class Deliveries(ListAPIView[Delivery]):
    """What came in at the door, newest first."""

    opens_to = READS
    serializer_class = DeliveryAnswer
    filterset_fields: ClassVar = ["supplier"]
    queryset = _deliveries()


class OneDelivery(RetrieveAPIView[Delivery]):
    """One delivery with its lots."""

    opens_to = READS
    serializer_class = DeliveryAnswer
    queryset = _deliveries()


class Samples(APIView):
    """The samples of strips of a lot, newest first."""

    opens_to = READS

    @extend_schema(responses=SampleAnswer(many=True))
    def get(self, request: Request, code: str) -> Response:
        item = rows.item(code)
        found = StripSample.objects.filter(lot_id=item.pk).select_related("deed__actor")
        return Response(SampleAnswer(found, many=True).data)


class Amendments(APIView):
    """What was set right about a lot, newest first."""

    opens_to = READS

    @extend_schema(responses=AmendmentAnswer(many=True))
    def get(self, request: Request, code: str) -> Response:
        item = rows.item(code)
        return Response(
            AmendmentAnswer(Amendment.objects.filter(lot_id=item.pk).select_related("lot__item"), many=True).data
        )


def _whole(view: Any, data: dict[str, Any]) -> dict[str, Any]:
    return {**data, "lots": [takes.lot_facts(dict(one)) for one in data["lots"]]}


def _delivery(view: Any, data: dict[str, Any], pk: int) -> dict[str, Any]:
    return {**data, "delivery": get_object_or_404(Delivery, pk=pk)}


def _lot(view: Any, data: dict[str, Any], code: str) -> dict[str, Any]:
    return {**data, "item": get_object_or_404(Item.objects.lots(), pk=rows.item(code).pk)}


def _sample(view: Any, data: dict[str, Any], code: str) -> dict[str, Any]:
    found = _lot(view, data, code)
    for name in ("dry", "wet"):
        one_by_one, together = found.pop(f"{name}_g", []), found.pop(f"{name}_together", None)
        found[f"{name}_mg"] = dict(together) if together else one_by_one
    return found


open_delivery = command_view("OpenDelivery", receiving.open_delivery, TakesDelivery, WRITES, DeliveryAnswer)
receive_delivery = command_view(
    "ReceiveDelivery", receiving.receive_delivery, TakesWholeDelivery, WRITES, DeliveryAnswer, _whole
)
change_delivery = command_view(
    "ChangeDelivery", receiving.change_delivery, ChangesDelivery, WRITES, DeliveryAnswer, _delivery
)
change_lot = command_view("ChangeLot", lots.change_lot, ChangesLot, WRITES, AmendmentAnswer, _lot)
measure_strips = command_view("MeasureStrips", samples.measure_strips, TakesSample, WRITES, SampleAnswer, _sample)
