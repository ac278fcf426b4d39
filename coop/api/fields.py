"""Serializer fields that speak people's units outside and integers inside. Names of API fields end in the unit."""

from decimal import Decimal
from fractions import Fraction
from typing import Any, ClassVar

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from coop import codes, units
from coop.command import Refused


class _UnitField(serializers.Field[Any, Any, Any, Any]):
    read: ClassVar[Any]
    factor = 1

    def __init__(self, *, least: int | None = None, most: int | None = None, **kwargs: Any) -> None:
        self.least, self.most = least, most
        super().__init__(**kwargs)

    def to_internal_value(self, data: Any) -> int:
        if isinstance(data, bool) or not isinstance(data, str | int | float | Decimal):
            raise serializers.ValidationError("Send a number, or text such as 12.5 or 12,5.")
        try:
            value: int = type(self).read(repr(data) if isinstance(data, float) else data)
        except units.BadUnit as trouble:
            raise serializers.ValidationError(str(trouble)) from trouble
        if self.least is not None and value < self.least:
            raise serializers.ValidationError(f"“{data}” is too small here.")
        if value > (self.most if self.most is not None else units.BIGGEST):
            raise serializers.ValidationError(f"“{data}” is too large here. Is the unit right?")
        return value

    def to_representation(self, value: int) -> str:
        exact = Decimal(value) / self.factor
        return format(exact.normalize() if exact else Decimal(0), "f")


@extend_schema_field({"type": "string", "example": "1807.2", "description": "grams; comma or point"})
class MassG(_UnitField):
    read = staticmethod(units.mass_mg)
    factor = units.MG_PER_G

    def __init__(self, *, least: int | None = 1, most: int | None = 10**12, **kwargs: Any) -> None:
        super().__init__(least=least, most=most, **kwargs)


@extend_schema_field({"type": "string", "example": "52.5", "description": "degrees Celsius"})
class TempC(_UnitField):
    read = staticmethod(units.temp_mc)
    factor = 1_000

    def __init__(self, *, least: int | None = -30_000, most: int | None = 150_000, **kwargs: Any) -> None:
        super().__init__(least=least, most=most, **kwargs)


@extend_schema_field({"type": "string", "example": "0.375", "description": "mass fraction of oxalic acid dihydrate"})
class FractionW(_UnitField):
    read = staticmethod(units.fraction_ppb)
    factor = units.PPB

    def __init__(self, *, least: int | None = 0, most: int | None = units.PPB, **kwargs: Any) -> None:
        super().__init__(least=least, most=most, **kwargs)


@extend_schema_field({"type": "string", "example": "10.48", "description": "money of the club"})
class Money(_UnitField):
    read = staticmethod(units.cents)
    factor = 100

    def __init__(self, *, least: int | None = 0, most: int | None = 10**11, **kwargs: Any) -> None:
        super().__init__(least=least, most=most, **kwargs)


@extend_schema_field({"type": "string", "example": "1.1314895", "description": "money of the club, to a micro-cent"})
class MicroMoney(serializers.Field[Any, Any, Any, Any]):
    """What something costs, read only: whole micro-cents, or a fraction of them, shown to eight places."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(read_only=True, **kwargs)

    def to_representation(self, value: Any) -> str:
        exact = Fraction(value)
        rounded = (2 * exact.numerator + exact.denominator) // (2 * exact.denominator)
        return format((Decimal(rounded) / 10**8).normalize() + 0, "f")


@extend_schema_field({"type": "string", "example": "KXJV3Y4X", "description": "a code with its check character"})
class CodeText(serializers.CharField):
    def to_internal_value(self, data: Any) -> str:
        try:
            return codes.check(super().to_internal_value(data))
        except Refused as refusal:
            raise serializers.ValidationError(refusal.sentence) from refusal


class Pieces(serializers.IntegerField):
    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("min_value", 1)
        kwargs.setdefault("max_value", 10**9)
        super().__init__(**kwargs)


class Moment(serializers.DateTimeField):
    """A moment that every zone can show; a year at the end of the calendar is a slip."""

    def to_internal_value(self, value: Any) -> Any:
        try:
            moment = super().to_internal_value(value)
        except (OverflowError, ValueError) as trouble:
            raise serializers.ValidationError(f"“{str(value)[:40]}” is not a moment that fits here.") from trouble
        if not units.FIRST_YEAR <= moment.year <= units.LAST_YEAR:
            raise serializers.ValidationError(f"“{str(value)[:40]}” is not a moment that fits here. Look at the year.")
        return moment


class Happened(serializers.Serializer[Any]):
    """Mixin: when it happened, apart from when it was recorded."""

    happened_at = Moment(required=False)


class Nothing(Happened):
    """A deed that takes nothing but the address."""
