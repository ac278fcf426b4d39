"""The ledger over the API: the same part of the book, the same pages and the same balance as the ledger page."""

from typing import Any, ClassVar

from django.shortcuts import get_object_or_404
from django_filters import rest_framework as filters
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from coop import codes
from coop.access import VOLUNTEER, Mark
from coop.models import Deed
from inventory import book, deeds
from inventory.api import answers
from inventory.models import Material, Movement, Place

READS = Mark(VOLUNTEER)
MOST = 200
MOST_ID = 2**63 - 1


class MovementFilter(filters.FilterSet):
    """What part of the ledger; see inventory.book.Asked."""

    code = filters.CharFilter(label="of the thing with this code", max_length=40)
    material = filters.ModelChoiceFilter(queryset=Material.objects.all())
    place = filters.ModelChoiceFilter(queryset=Place.objects.filter(kind__in=Place.IN_STORE), label="from or to a shed")
    person = filters.ModelChoiceFilter(queryset=lambda _request: book.people(), label="who did it")
    verb = filters.CharFilter(label="kind of deed, as inventory.draw", max_length=60)
    deed = filters.NumberFilter(min_value=1, max_value=MOST_ID)
    since = filters.IsoDateTimeFilter(label="happened at or after")
    until = filters.IsoDateTimeFilter(label="happened before")
    cause = filters.ChoiceFilter(choices=Movement.Cause.choices)
    source = filters.ModelChoiceFilter(queryset=Place.objects.all())
    target = filters.ModelChoiceFilter(queryset=Place.objects.all())

    class Meta:
        model = Movement
        fields: ClassVar[list[str]] = []

    def asked(self) -> book.Asked:
        if not self.form.is_valid():
            raise ValidationError(self.form.errors)
        known = {name: value for name, value in self.form.cleaned_data.items() if value}
        if "code" in known:
            known["code"] = codes.tidy(known["code"])
        if "deed" in known:
            known["deed"] = int(known["deed"])
        return book.Asked(**known)


class Paging(serializers.Serializer[Any]):
    before = serializers.IntegerField(min_value=1, max_value=MOST_ID, required=False, help_text="older than this one")
    after = serializers.IntegerField(min_value=1, max_value=MOST_ID, required=False, help_text="newer than this one")
    limit = serializers.IntegerField(min_value=1, max_value=MOST, required=False)
    balance = serializers.CharField(required=False, max_length=100, help_text="as the last answer carried it")


class LineAnswer(answers.MovementAnswer):
    """A movement with what was left after it; null where a balance has no sense."""

    balance_g = answers.MassOf("balance")
    balance_pieces = answers.PiecesOf("balance")

    class Meta(answers.MovementAnswer.Meta):
        fields: ClassVar = [*answers.MovementAnswer.Meta.fields, "balance_g", "balance_pieces"]


class LedgerAnswer(serializers.Serializer[Any]):
    """Older and newer are addresses, empty at the ends of the book. `balance` says what the balances count."""

    older = serializers.CharField()
    newer = serializers.CharField()
    balance = serializers.CharField()
    results = LineAnswer(many=True)


class Movements(APIView):
    """The ledger, newest first: a page of it, with a running balance if one material or one thing is asked for."""

    opens_to = READS

    @extend_schema(
        parameters=[
            Paging,
            *(
                OpenApiParameter(name, str, description=str(one.label or ""))
                for name, one in MovementFilter.base_filters.items()
            ),
        ],
        responses=LedgerAnswer,
    )
    def get(self, request: Request) -> Response:
        paging = Paging(data=request.query_params)
        paging.is_valid(raise_exception=True)
        asked = MovementFilter(request.query_params, queryset=Movement.objects.none(), request=request).asked()
        wanted = paging.validated_data
        page = book.page(
            asked,
            before=wanted.get("before", 0),
            after=wanted.get("after", 0),
            carried=wanted.get("balance", ""),
            size=wanted.get("limit", 0),
        )
        for row in page.rows:
            row.balance = page.balances.get(row.pk)  # type: ignore[attr-defined]
        known = {
            "older": _address(request, page.older),
            "newer": _address(request, page.newer),
            "balance": page.counted.words if page.counted else "",
            "results": page.rows,
        }
        return Response(LedgerAnswer(known).data)


def _address(request: Request, more: dict[str, str]) -> str:
    """This address for another page, or "" where there is none."""
    if not more:
        return ""
    query = request.query_params.copy()
    for name in ("before", "after", "balance"):
        query.pop(name, None)
    query.update(more)
    return request.build_absolute_uri(f"{request.path}?{query.urlencode()}")


class MadeAnswer(serializers.Serializer[Any]):
    what = serializers.CharField()
    words = serializers.CharField()


class DeedAnswer(answers.DeedAnswer):
    """`what` is the deed in words; `made` is what it made beside its movements."""

    what = serializers.CharField()
    made = MadeAnswer(many=True)


class OneDeed(APIView):
    """Who did what, when and through which door, with what it wrote."""

    opens_to = READS

    @extend_schema(responses=DeedAnswer)
    def get(self, request: Request, pk: int) -> Response:
        deed: Any = get_object_or_404(Deed.objects.select_related("actor").exclude(movements=None).distinct(), pk=pk)
        facts = {name: getattr(deed, name) for name in ("pk", "verb", "who", "door", "happened_at", "recorded_at")}
        known = {
            **facts,
            "movements": book.rows_of(book.Asked(deed=deed.pk)),
            "what": deeds.words_of(deed),
            "made": deeds.made_by(deed),
        }
        return Response(DeedAnswer(known).data)
