"""Stocktakes over the API, as blind as the pages: no figure of the book, nor of a count, before it may be seen."""

from typing import Any, ClassVar

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.generics import GenericAPIView, ListAPIView
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access import VOLUNTEER, Mark
from coop.api.base import command_view
from coop.api.fields import Happened, MassG, Pieces
from inventory import stocktakes
from inventory.api.answers import MassOf, PiecesOf
from inventory.api.rows import ItemByCode, RowField, quantity, sheds
from inventory.api.takes import Weighed
from inventory.commands import stocktaking
from inventory.models import Container, Count, Stocktake
from inventory.stocktakes import Thing

COUNTS = Mark(VOLUNTEER)
TAKES = Stocktake.objects.select_related("place", "begun_by__actor", "ended_by__actor")


class TakesStocktake(Happened):
    place = RowField(sheds())
    note = serializers.CharField(max_length=120, required=False, allow_blank=True)


class TakesCountIn(Happened):
    """The whole as `mass_g` or `pieces`, zero if it is not here; or drums `weighed` and `absent` and what is loose."""

    item = ItemByCode()
    mass_g = MassG(required=False, least=0)
    pieces = Pieces(required=False, min_value=0)
    weighed = Weighed(many=True, required=False)
    absent = RowField(Container.objects.all(), many=True, required=False)
    loose_g = MassG(source="loose", required=False, least=0)
    note = serializers.CharField(max_length=300, required=False, allow_blank=True)
    confirmed = serializers.BooleanField(required=False)


class TakesStocktakeEnd(Happened):
    """`leave_uncounted`: what is not counted stays as the book has it."""

    leave_uncounted = serializers.BooleanField(required=False)
    note = serializers.CharField(max_length=120, required=False, allow_blank=True)


class TakesLeaving(Happened):
    reason = serializers.CharField(max_length=200)


class CountedAnswer(serializers.ModelSerializer[Count]):
    """That something was counted, by whom and when; not how much."""

    code = serializers.CharField(source="item.code_id")
    by = serializers.CharField(source="deed.who")

    class Meta:
        model = Count
        fields: ClassVar = ["id", "stocktake", "code", "by", "happened_at"]


class LookAnswer(CountedAnswer):
    """One count with its figure: what was counted."""

    mass_g = MassOf()
    pieces = PiecesOf()

    class Meta:
        model = Count
        fields: ClassVar = ["id", "code", "by", "happened_at", "mass_g", "pieces", "note"]


class StocktakeAnswer(serializers.ModelSerializer[Stocktake]):
    shed = serializers.CharField(source="place.words")
    begun_by = serializers.CharField(source="begun_by.who")
    ended_by = serializers.CharField(source="ended_by.who", allow_null=True, default=None)

    class Meta:
        model = Stocktake
        fields: ClassVar = ["id", "place", "shed", "state", "begun_at", "begun_by", "ended_at", "ended_by", "note"]


class FiguresAnswer(serializers.Serializer[Any]):
    """What the book said at the last count, the difference, the movement that wrote it, and every count."""

    book_g = MassOf("book", "item.unit")
    book_pieces = PiecesOf("book", "item.unit")
    difference_g = MassOf("difference", "item.unit")
    difference_pieces = PiecesOf("difference", "item.unit")
    movement = serializers.IntegerField(source="last.movement_id", allow_null=True)
    counts = LookAnswer(many=True)


class CountThingAnswer(serializers.Serializer[Any]):
    """One thing of a stocktake. `figures` is null until it may be seen."""

    code = serializers.CharField(source="item.code_id")
    words = serializers.CharField()
    counted_by = serializers.SerializerMethodField()
    looks = serializers.SerializerMethodField()
    figures = serializers.SerializerMethodField()

    def get_counted_by(self, thing: Thing) -> str:
        return stocktakes.counters(thing.counts)

    def get_looks(self, thing: Thing) -> int:
        """How often it was counted."""
        return len(thing.counts)

    @extend_schema_field(FiguresAnswer(allow_null=True))
    def get_figures(self, thing: Thing) -> Any:
        return FiguresAnswer(thing).data if thing.is_shown and thing.counts else None


class SheetAnswer(StocktakeAnswer):
    """A stocktake with its things. `look_again` is empty until all is counted."""

    things = CountThingAnswer(many=True)
    left = serializers.ListField(child=serializers.CharField())
    look_again = serializers.ListField(child=serializers.CharField())

    class Meta:
        model = Stocktake
        fields: ClassVar = [*StocktakeAnswer.Meta.fields, "left", "look_again", "things"]


class Stocktakes(ListAPIView[Stocktake]):
    """Stocktakes, newest first."""

    opens_to = COUNTS
    serializer_class = StocktakeAnswer
    filterset_fields: ClassVar = ["place", "state"]
    queryset = TAKES


class OneStocktake(GenericAPIView[Stocktake]):
    """One stocktake: what is left, what is counted and by whom; figures when they may be seen."""

    opens_to = COUNTS
    serializer_class = SheetAnswer
    queryset = TAKES

    def get(self, request: Request, pk: int) -> Response:
        take: Any = get_object_or_404(TAKES, pk=pk)
        sheet = stocktakes.read(take)
        take.things, take.left = sheet.things, [one.item.code_id for one in sheet.left]
        take.look_again = [one.item.code_id for one in sheet.again] if sheet.is_all_counted else []
        return Response(self.get_serializer(take).data)


def _by_take(view: Any, data: dict[str, Any], pk: int) -> dict[str, Any]:
    return {**data, "stocktake": get_object_or_404(TAKES, pk=pk)}


def _counted(view: Any, data: dict[str, Any], pk: int) -> dict[str, Any]:
    found = _by_take(view, data, pk)
    if "mass_g" in found or "pieces" in found:
        found["quantity"] = quantity(found, found["item"].unit)
    return found


begin = command_view("BeginStocktake", stocktaking.begin_stocktake, TakesStocktake, COUNTS, StocktakeAnswer)
count = command_view("CountIn", stocktaking.count_in, TakesCountIn, COUNTS, CountedAnswer, _counted)
end = command_view("EndStocktake", stocktaking.end_stocktake, TakesStocktakeEnd, COUNTS, StocktakeAnswer, _by_take)
leave = command_view("LeaveStocktake", stocktaking.leave_stocktake, TakesLeaving, COUNTS, StocktakeAnswer, _by_take)
