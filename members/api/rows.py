"""From what stands in an address or a body to rows of members. What is another's is a 404."""

from typing import Any, TypeVar

from django.db.models import Model, QuerySet
from django.http import Http404
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from batches.models import Bag, Instructions
from coop import codes
from coop.models import HiveKind, Person
from inventory.models import Item
from members.models import Apiary, HandOver, Hive, Round, Treatment
from members.queries import held

M = TypeVar("M", bound=Model)


def one(rows: "QuerySet[M]", **wanted: Any) -> M:
    """The one row, or 404."""
    found = rows.filter(**wanted).first()
    if found is None:
        raise Http404("no such thing")
    return found


@extend_schema_field(int)
class Row(serializers.Field[Any, Any, Any, Any]):
    """A row named by its id in a body; an unknown id is a sentence, not a 404."""

    model: type[Model]

    def to_internal_value(self, data: Any) -> Any:
        if isinstance(data, bool) or not str(data).isdecimal() or len(str(data)) > 18:
            raise serializers.ValidationError("Send the id, a whole number.")
        found = self.rows().filter(pk=int(data)).first()
        if found is None:
            raise serializers.ValidationError(f"There is no {self.model._meta.verbose_name} with the id {data}.")
        return found

    def rows(self) -> "QuerySet[Any]":
        return self.model._default_manager.all()

    def to_representation(self, value: Any) -> Any:
        return value.pk


class PersonRow(Row):
    model = Person

    def rows(self) -> "QuerySet[Any]":
        return Person.objects.here()


class HiveKindRow(Row):
    model = HiveKind


class InstructionsRow(Row):
    model = Instructions


class RoundRow(Row):
    model = Round


class Mine(Row):
    """A row that must be visible to whoever asks: what is another's is as unknown as what is not there."""

    def rows(self) -> "QuerySet[Any]":
        manager: Any = self.model._default_manager
        found: QuerySet[Any] = manager.visible_to(self.context["request"].user)
        return found


class HiveRow(Mine):
    model = Hive


class ApiaryRow(Mine):
    model = Apiary


class BagItem(serializers.CharField):
    """A bag by its code in a body; gives its item."""

    def to_internal_value(self, data: Any) -> Any:
        code = codes.tidy(super().to_internal_value(data))
        found = Item.objects.filter(code=code, kind=Item.Kind.BAG).first()
        if found is None:
            near = ", ".join(codes.spaced(near) for near in codes.near_codes(code))
            hint = f" Did you mean {near}?" if near else ""
            raise serializers.ValidationError(f"No bag has the code {data}.{hint}")
        return found

    def to_representation(self, value: Any) -> str:
        return str(value.code_id)


def bag(code: str) -> Bag:
    return one(Bag.objects.for_list(), item__code=codes.tidy(code))


def by_apiary(view: Any, data: dict[str, Any], pk: int) -> dict[str, Any]:
    return {**data, "apiary": one(Apiary.objects.visible_to(view.request.user).for_list(), pk=pk)}


def by_hive(view: Any, data: dict[str, Any], pk: int) -> dict[str, Any]:
    rows = Hive.objects.visible_to(view.request.user).select_related("apiary", "kind")
    return {**data, "hive": one(rows, pk=pk)}


def by_round(view: Any, data: dict[str, Any], pk: int) -> dict[str, Any]:
    rows = Round.objects.visible_to(view.request.user).select_related("instructions")
    return {**data, "round": one(rows, pk=pk)}


def by_treatment(view: Any, data: dict[str, Any], pk: int) -> dict[str, Any]:
    rows = Treatment.objects.visible_to(view.request.user)
    return {**data, "treatment": one(rows, pk=pk)}


def by_bag(view: Any, data: dict[str, Any], code: str) -> dict[str, Any]:
    return {**data, "bag": bag(code)}


def by_own_bag(view: Any, data: dict[str, Any], code: str) -> dict[str, Any]:
    """A bag one has; of the others only a coordinator knows."""
    person, found = view.request.user, bag(code)
    has = any(item.pk == found.item_id for item, _strips in held.bags_of(person))
    had = HandOver.objects.filter(item=found.item_id, receiver=person).exists()
    if not (has or had or person.is_coordinator):
        raise Http404("another's")
    if not person.is_coordinator:
        data.pop("giver", None)
    return {**data, "bag": found}
