"""From what stands in an address or a body to rows. What is not there, or of another kind, is a 404."""

from typing import Any, TypeVar

from django.db.models import Model, QuerySet
from django.http import Http404
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.request import Request

from batches.models import Bag, Bench, Deviation, Equipment, Instructions, Mix, Recipe, Soak, Weighing
from coop import codes
from coop.models import Person
from inventory.models import Container, Item, Place

M = TypeVar("M", bound=Model)


def one(rows: "QuerySet[M]", **wanted: Any) -> M:
    """The one row, or 404."""
    found = rows.filter(**wanted).first()
    if found is None:
        raise Http404("no such thing")
    return found


def mix(code: str) -> Mix:
    return one(Mix.objects.select_related("item", "bench__recipe", "bench__place"), item__code=codes.tidy(code))


def soak(code: str) -> Soak:
    rows = Soak.objects.select_related("item", "bench__recipe", "bench__place", "bench__recorder", "blanks__lot")
    return one(rows, item__code=codes.tidy(code))


def bag(code: str) -> Bag:
    rows = Bag.objects.select_related("item", "soak__item", "soak__bench__recipe", "soak__blanks__lot", "parent")
    return one(rows, item__code=codes.tidy(code))


def item(code: str) -> Item:
    return one(Item.objects.select_related("material", "lot"), code=codes.tidy(code))


@extend_schema_field(int)
class Row(serializers.Field[Any, Any, Any, Any]):
    """A row named by its id in a body; unknown ids are a sentence, not a 404."""

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


class PlaceRow(Row):
    model = Place

    def rows(self) -> "QuerySet[Any]":
        return Place.objects.filter(kind=Place.Kind.SHED)


class RecipeRow(Row):
    model = Recipe


class InstructionsRow(Row):
    model = Instructions


class EquipmentRow(Row):
    model = Equipment


class ContainerRow(Row):
    model = Container


class BenchRow(Row):
    model = Bench


class ItemByCode(serializers.CharField):
    """An item named by its code in a body."""

    def to_internal_value(self, data: Any) -> Any:
        code = codes.tidy(super().to_internal_value(data))
        found = Item.objects.select_related("material", "lot", "solution").filter(code=code).first()
        if found is None:
            near = ", ".join(codes.spaced(one) for one in codes.near_codes(code))
            hint = f" Did you mean {near}?" if near else ""
            raise serializers.ValidationError(f"Nothing in the book has the code {data}.{hint}")
        return found

    def to_representation(self, value: Any) -> str:
        return str(value.code_id)


class SoakByCode(ItemByCode):
    def to_internal_value(self, data: Any) -> Any:
        found = super().to_internal_value(data)
        if not hasattr(found, "soak"):
            raise serializers.ValidationError(f"{data} is no soak.")
        return soak(found.code_id)


def by_bench(view: Any, data: dict[str, Any], bench: int) -> dict[str, Any]:
    rows = Bench.objects.select_related("recipe", "place", "recorder", "instructions", "blanks")
    return {**data, "bench": one(rows, pk=bench)}


def by_mix(view: Any, data: dict[str, Any], code: str) -> dict[str, Any]:
    return {**data, "mix": mix(code)}


def by_soak(view: Any, data: dict[str, Any], code: str) -> dict[str, Any]:
    return {**data, "soak": soak(code)}


def by_bag(view: Any, data: dict[str, Any], code: str) -> dict[str, Any]:
    return {**data, "bag": bag(code)}


def by_readers_bench(view: Any, data: dict[str, Any], bench: int) -> dict[str, Any]:
    refuse_strangers(view.request)
    return by_bench(view, data, bench)


def by_item(view: Any, data: dict[str, Any], code: str) -> dict[str, Any]:
    return {**data, "item": item(code)}


def by_weighing(view: Any, data: dict[str, Any], weighing: int) -> dict[str, Any]:
    rows = Weighing.objects.select_related(
        "mix__item", "mix__bench__recipe", "item", "scale", "drawn__item", "drawn__source", "drawn__target",
        "made__item", "made__source", "made__target",
    )  # fmt: skip
    return {**data, "weighing": one(rows, pk=weighing)}


def by_equipment(view: Any, data: dict[str, Any], equipment: int) -> dict[str, Any]:
    return {**data, "equipment": one(Equipment.objects.all(), pk=equipment)}


def by_deviation(view: Any, data: dict[str, Any], deviation: int) -> dict[str, Any]:
    refuse_strangers(view.request)
    return {**data, "deviation": one(Deviation.objects.select_related("opened", "reasoned"), pk=deviation)}


def refuse_strangers(request: Request) -> None:
    """Bench records are for volunteers and releasers (who may be plain members); for others there is nothing."""
    person = request.user
    if not (isinstance(person, Person) and (person.is_volunteer or person.is_releaser)):
        raise Http404("not theirs")
