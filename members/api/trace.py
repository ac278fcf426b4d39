"""One whole trace as data: upstream, downstream with shares and grams, who holds what, and the strips' balance."""

from typing import Any

from django.http import Http404
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.generics import GenericAPIView
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access import VOLUNTEER, Mark
from coop.api.base import problem
from coop.api.fields import MassG
from coop.models import Person
from inventory import holds, threads
from inventory.models import Item
from inventory.science.shares import WHOLE
from members.trace.find import find
from members.trace.holders import Holder, Pieces, holders_of, pieces_of
from members.trace.reach import Reached, reach_of
from members.trace.upstream import upstream_of

S = serializers.Serializer


@extend_schema_field({"type": "number", "minimum": 0, "maximum": 1})
class ShareField(serializers.Field[Any, Any, Any, Any]):
    """Parts of 10^18 as a number between 0 and 1."""

    def to_representation(self, value: int) -> float:
        return value / WHOLE


class HoldRow(S[Any]):
    id = serializers.IntegerField()
    reason = serializers.CharField()
    placed_at = serializers.DateTimeField()


class PartRow(S[Any]):
    kind = serializers.CharField(help_text="strips, shed, bench, lost, destroyed, unexplained ...")
    where = serializers.CharField()
    mass_g = MassG(source="mass_mg", help_text="solution")
    of_it_g = MassG(source="of_it_mg", allow_null=True)


class ReachedRow(S[Any]):
    """One thing made from the traced one."""

    code = serializers.CharField(source="item.code_id")
    kind = serializers.CharField(source="item.kind")
    words = serializers.CharField()
    made_at = serializers.DateTimeField(source="item.made_at")
    is_held = serializers.BooleanField()
    share = ShareField(allow_null=True, help_text="by mass of what is in it, 0 to 1")
    of_acid = ShareField(allow_null=True, help_text="of the acid in it, 0 to 1")
    strips = serializers.IntegerField(allow_null=True, help_text="ever made")
    solution_g = MassG(source="mass_mg")
    of_it_g = MassG(source="of_it_mg", allow_null=True)
    a_strip_g = MassG(source="each_mg", allow_null=True)
    parts = PartRow(many=True)


class AncestorRow(S[Any]):
    code = serializers.CharField(source="item.code_id")
    kind = serializers.CharField(source="item.kind")
    words = serializers.CharField()
    is_held = serializers.BooleanField()
    share = ShareField(allow_null=True)
    went_in_g = MassG(source="mass_mg")
    pieces = serializers.IntegerField()


class HolderOut(S[Any]):
    """Somebody it ever reached. Names are for coordinators."""

    name = serializers.SerializerMethodField()
    person = serializers.SerializerMethodField()
    codes = serializers.SerializerMethodField()
    strips = serializers.IntegerField()
    unopened = serializers.IntegerField()
    in_hives = serializers.IntegerField()
    hives = serializers.SerializerMethodField()
    passed_on = serializers.IntegerField()
    brought_back = serializers.IntegerField()
    destroyed = serializers.IntegerField()
    lost = serializers.IntegerField()
    where = serializers.CharField()

    def get_name(self, holder: Holder) -> str | None:
        return holder.person.name if self.context.get("names") else None

    def get_person(self, holder: Holder) -> int | None:
        return holder.person.pk if self.context.get("names") else None

    def get_codes(self, holder: Holder) -> list[str]:
        return [item.code_id for item in holder.items.values()]

    def get_hives(self, holder: Holder) -> int:
        return len(holder.hives)


class PiecesOut(S[Any]):
    """Strips: made is what the others sum to; `difference` is 0 when they close."""

    made = serializers.IntegerField()
    in_store = serializers.IntegerField()
    retained = serializers.IntegerField()
    with_members = serializers.IntegerField()
    destroyed = serializers.IntegerField()
    lost = serializers.IntegerField()
    otherwise = serializers.IntegerField()
    difference = serializers.IntegerField()


class TraceOut(S[Any]):
    code = serializers.CharField()
    kind = serializers.CharField()
    words = serializers.CharField()
    is_held = serializers.BooleanField()
    holds = HoldRow(many=True)
    drawn_g = MassG(allow_null=True, help_text="what went of it into other things; the rows sum to it")
    upstream = AncestorRow(many=True)
    downstream = ReachedRow(many=True)
    holders = HolderOut(many=True)
    pieces = PiecesOut()


class TraceView(GenericAPIView[Any]):
    """Everything above and below one code, who ever had any of it, and whether the strips close."""

    opens_to = Mark(VOLUNTEER)
    serializer_class = TraceOut
    pagination_class = None

    @extend_schema(operation_id="trace")
    def get(self, request: Request, code: str) -> Response:
        found = find(code)
        if found.item is None:
            if found.near:
                return problem("not_found", found.sentence, 404, facts={"near": list(found.near)})
            raise Http404(found.sentence)
        names = isinstance(request.user, Person) and request.user.is_coordinator
        return Response(TraceOut(whole_trace(found.item), context={"names": names}).data)


def whole_trace(item: Item) -> dict[str, Any]:
    """The answer as plain values, before it is written out."""
    reach = reach_of(item)
    things = [item, *(row.item for row in reach.rows)]
    reached = holds.holds_of(item)
    downstream: list[Reached] = reach.rows
    pieces: Pieces = pieces_of(things)
    return {
        "code": item.code_id,
        "kind": item.kind,
        "words": threads.words_of([item])[item.pk],
        "is_held": bool(reached),
        "holds": reached,
        "drawn_g": reach.drawn_mg,
        "upstream": upstream_of(item),
        "downstream": downstream,
        "holders": holders_of(things),
        "pieces": pieces,
    }
