"""What the shelf's commands take over the API."""

import base64
import binascii
from typing import Any

from rest_framework import serializers

from coop.api.fields import CodeText, FractionW, Happened, MassG, Money, Pieces
from inventory.api.rows import Amount, ItemByCode, RowField, quantity, sheds
from inventory.models import Container, Delivery, Lot, Material, Movement, Order, Place, Supplier
from inventory.models.materials import Unit


class Nothing(serializers.Serializer[Any]):
    pass


class Weekdays(serializers.ListField):
    """ISO weekdays, 1 for Monday; the row keeps them as text."""

    def __init__(self, **kwargs: Any) -> None:
        day = serializers.IntegerField(min_value=1, max_value=7)
        super().__init__(child=day, min_length=1, max_length=7, **kwargs)

    def to_internal_value(self, data: Any) -> Any:
        return "".join(str(day) for day in sorted(set(super().to_internal_value(data))))

    def to_representation(self, data: Any) -> list[Any]:
        return [int(day) for day in data]


class TakesSupplier(Happened):
    name = serializers.CharField(max_length=120)
    address = serializers.CharField(max_length=200, required=False, allow_blank=True)
    phone = serializers.CharField(max_length=40, required=False, allow_blank=True)
    email = serializers.EmailField(required=False, allow_blank=True)
    lead_days = serializers.IntegerField(min_value=0, max_value=365, required=False)
    order_weekdays = Weekdays(required=False)


class ChangesSupplier(TakesSupplier):
    name = serializers.CharField(max_length=120, required=False)


class Levels(Happened):
    """Levels in the material's own unit: grams or pieces."""

    supplier = RowField(Supplier.objects.all(), required=False, allow_null=True)
    low_level_g = MassG(required=False, allow_null=True, least=0)
    low_level_pieces = Pieces(required=False, allow_null=True, min_value=0)
    pack_g = MassG(required=False, allow_null=True)
    pack_pieces = Pieces(required=False, allow_null=True)
    least_at_once_g = MassG(required=False, allow_null=True)
    least_at_once_pieces = Pieces(required=False, allow_null=True)
    most_at_once_g = MassG(required=False, allow_null=True)
    most_at_once_pieces = Pieces(required=False, allow_null=True)
    per_dose_g = MassG(required=False, allow_null=True)
    per_dose_pieces = Pieces(required=False, allow_null=True)
    holds_on_arrival = serializers.BooleanField(required=False)


LEVELS = {
    "low_level": "low_level",
    "pack": "pack_size",
    "least_at_once": "least_at_once",
    "most_at_once": "most_at_once",
    "per_dose": "per_dose",
}


def levels(data: dict[str, Any]) -> dict[str, Any]:
    """The same with the amounts under the command's names."""
    found = dict(data)
    for name, argument in LEVELS.items():
        for unit in ("g", "pieces"):
            if f"{name}_{unit}" in found:
                found[argument] = found.pop(f"{name}_{unit}")
    return found


class TakesMaterial(Levels):
    name = serializers.CharField(max_length=120)
    kind = serializers.ChoiceField(Material.Kind.choices)
    unit = serializers.ChoiceField(Unit.choices, required=False)


class ChangesMaterial(Levels):
    name = serializers.CharField(max_length=120, required=False)


class TakesShed(Happened):
    name = serializers.CharField(max_length=120)


class ChangesShed(Happened):
    name = serializers.CharField(max_length=120, required=False)
    is_closed = serializers.BooleanField(required=False)


class NewContainer(serializers.Serializer[Any]):
    name = serializers.CharField(max_length=40)
    tare_g = MassG(source="tare_mg", required=False, allow_null=True, least=0)
    gross_g = MassG(source="gross_mg", required=False, allow_null=True, least=0)


class Base64Field(serializers.CharField):
    """A file's bytes in base64."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 1_400_000)
        kwargs.setdefault("help_text", "the file in base64")
        super().__init__(**kwargs)

    def to_internal_value(self, data: Any) -> Any:
        try:
            return base64.b64decode(super().to_internal_value(data), validate=True)
        except (binascii.Error, ValueError):
            raise serializers.ValidationError("Send the file's bytes in base64.") from None


class LotFacts(serializers.Serializer[Any]):
    """One lot as it came, without who it is from."""

    material = RowField(Material.objects.all())
    mass_g = MassG(required=False, least=0)
    pieces = Pieces(required=False, min_value=0)
    place = RowField(Place.objects.filter(kind=Place.Kind.SHED))
    supplier_lot = serializers.CharField(max_length=80, required=False, allow_blank=True)
    grade = serializers.CharField(max_length=80, required=False, allow_blank=True)
    form = serializers.ChoiceField(Lot.Form.choices, required=False)
    assay_w = FractionW(required=False, allow_null=True, most=1_500_000_000, source="assay_ppb")
    certificate_name = serializers.CharField(max_length=120, required=False, allow_blank=True)
    certificate_content = Base64Field(required=False)
    certificate_names_form = serializers.BooleanField(required=False)
    best_before = serializers.DateField(required=False, allow_null=True)
    containers = NewContainer(many=True, required=False)
    price = Money(required=False, source="price_cents")
    dry_strip_g = MassG(required=False, allow_null=True, source="dry_strip_mg")
    uptake_g = MassG(required=False, allow_null=True, source="uptake_mg")
    hold_reason = serializers.CharField(max_length=300, required=False, allow_blank=True)
    code = CodeText(required=False)
    order = RowField(Order.objects.all(), required=False, allow_null=True)
    note = serializers.CharField(max_length=300, required=False, allow_blank=True)
    confirmed = serializers.BooleanField(required=False)


class TakesLot(LotFacts, Happened):
    supplier = RowField(Supplier.objects.all())
    delivery = RowField(Delivery.objects.all(), required=False, allow_null=True)


def lot_facts(data: dict[str, Any]) -> dict[str, Any]:
    """The same with the amount as milligrams or pieces, as its material is counted."""
    amount = quantity(data, data["material"].unit)
    return {**data, "quantity": amount}


class TakesDraw(Amount):
    place = RowField(sheds())
    note = serializers.CharField(max_length=300, required=False, allow_blank=True)
    confirmed = serializers.BooleanField(required=False)


class TakesFind(TakesDraw):
    note = serializers.CharField(max_length=300)


class TakesTransfer(Amount):
    source = RowField(sheds())  # type: ignore[assignment]
    target = RowField(sheds())
    note = serializers.CharField(max_length=300, required=False, allow_blank=True)
    confirmed = serializers.BooleanField(required=False)


class TakesDiscard(TakesDraw):
    cause = serializers.ChoiceField([Movement.Cause.DISCARD.value, Movement.Cause.SPILL.value], required=False)


class Weighed(serializers.Serializer[Any]):
    container = RowField(Container.objects.all())
    gross_g = MassG(source="gross_mg", least=0)


class TakesWeights(Happened):
    place = RowField(sheds())
    weighed = Weighed(many=True)
    absent = RowField(Container.objects.all(), many=True, required=False)
    note = serializers.CharField(max_length=300, required=False, allow_blank=True)
    confirmed = serializers.BooleanField(required=False)


class TakesCorrection(Amount):
    note = serializers.CharField(max_length=300)


class TakesAnswer(Happened):
    answer = serializers.CharField(max_length=300)


class TakesHold(Happened):
    items = serializers.ListField(child=ItemByCode(), min_length=1, max_length=500)
    reason = serializers.CharField(max_length=300)
    began_with = serializers.CharField(max_length=120, required=False, allow_blank=True)


class TakesReason(Happened):
    reason = serializers.CharField(max_length=300)


class TakesFreeing(TakesReason):
    item = ItemByCode()


class TakesCertificate(Happened):
    name = serializers.CharField(max_length=120)
    content = Base64Field()
    names_form = serializers.BooleanField(required=False)
