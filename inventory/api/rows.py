"""From what stands in an address or a body to rows and amounts. What is not there is a 404, or a sentence in a body."""

from typing import Any

from django.db.models import Model, QuerySet
from django.shortcuts import get_object_or_404
from rest_framework import serializers

from coop import codes
from coop.api.fields import Happened, MassG, Pieces
from inventory.models import Container, Hold, Item, Material, Movement, Place, Question, Supplier


class RowField(serializers.PrimaryKeyRelatedField[Any]):
    """A row named by its id."""

    def __init__(self, rows: "QuerySet[Any]", **kwargs: Any) -> None:
        super().__init__(queryset=rows, **kwargs)


class ItemByCode(serializers.CharField):
    """A thing named by its code."""

    def to_internal_value(self, data: Any) -> Any:
        code = codes.tidy(super().to_internal_value(data))
        found = Item.objects.select_related("material").filter(code=code).first()
        if found is None:
            near = ", ".join(codes.spaced(one) for one in codes.near_codes(code))
            raise serializers.ValidationError(
                f"Nothing in the book has the code {data}." + (f" Did you mean {near}?" if near else "")
            )
        return found

    def to_representation(self, value: Any) -> str:
        return str(value.code_id)


class Amount(Happened):
    """How much: `mass_g` of what is weighed, `pieces` of what is counted; one of them."""

    mass_g = MassG(required=False, least=0)
    pieces = Pieces(required=False, min_value=0)


def quantity(data: dict[str, Any], unit: str) -> int:
    """Takes the amount out of a body, as milligrams or pieces, whichever the thing is counted in."""
    mass, pieces = data.pop("mass_g", None), data.pop("pieces", None)
    right, wrong, name = (mass, pieces, "mass_g") if unit == "mass" else (pieces, mass, "pieces")
    if right is None or wrong is not None:
        raise serializers.ValidationError({name: [f"Send {name}, and no other amount: that is how it is counted."]})
    return int(right)


def sheds() -> "QuerySet[Place]":
    return Place.objects.filter(kind__in=Place.IN_STORE)


def item(code: str) -> Item:
    return get_object_or_404(Item.objects.select_related("material", "lot"), code=codes.tidy(code))


def by_item(view: Any, data: dict[str, Any], code: str) -> dict[str, Any]:
    return {**data, "item": item(code)}


def by_item_amount(view: Any, data: dict[str, Any], code: str) -> dict[str, Any]:
    found = item(code)
    amount = quantity(data, found.unit)
    return {**data, "item": found, "quantity": amount}


def by_movement_amount(view: Any, data: dict[str, Any], pk: int) -> dict[str, Any]:
    movement = get_object_or_404(Movement.objects.select_related("item", "source", "target"), pk=pk)
    amount = quantity(data, movement.item.unit)
    return {**data, "movement": movement, "quantity": amount}


def _by(name: str, model: type[Model]) -> Any:
    def arguments(view: Any, data: dict[str, Any], pk: int) -> dict[str, Any]:
        return {**data, name: get_object_or_404(model, pk=pk)}

    return arguments


by_material = _by("material", Material)
by_supplier = _by("supplier", Supplier)
by_container = _by("container", Container)
by_question = _by("question", Question)
by_hold = _by("hold", Hold)


def by_shed(view: Any, data: dict[str, Any], pk: int) -> dict[str, Any]:
    return {**data, "shed": get_object_or_404(Place, pk=pk, kind=Place.Kind.SHED)}
