"""What the shelf's API answers. Amounts stand twice: `mass_g` or `pieces`, the other is null."""

from typing import Any, ClassVar

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from coop.api.fields import FractionW, MassG, Money
from inventory.models import Container, Freed, Hold, Item, Lot, Material, Movement, Place, Question, Supplier


class MassOf(MassG):
    """The amount of a row when it is weighed; `unit` is a path to the unit."""

    def __init__(self, amount: str = "quantity", unit: str = "item.unit", **kwargs: Any) -> None:
        self.amount, self.unit = amount, unit
        super().__init__(source="*", read_only=True, **kwargs)

    def to_representation(self, value: Any) -> Any:
        amount = _path(value, self.amount)
        return None if amount is None or _path(value, self.unit) != "mass" else super().to_representation(amount)


@extend_schema_field({"type": "integer", "nullable": True})
class PiecesOf(serializers.Field[Any, Any, Any, Any]):
    """The amount of a row when it is counted."""

    def __init__(self, amount: str = "quantity", unit: str = "item.unit", **kwargs: Any) -> None:
        self.amount, self.unit = amount, unit
        super().__init__(source="*", read_only=True, **kwargs)

    def to_representation(self, value: Any) -> Any:
        return None if _path(value, self.unit) == "mass" else _path(value, self.amount)


def _path(value: Any, path: str) -> Any:
    for step in path.split("."):
        value = getattr(value, step)
    return value


class SupplierAnswer(serializers.ModelSerializer[Supplier]):
    order_weekdays = serializers.SerializerMethodField()

    class Meta:
        model = Supplier
        fields: ClassVar = ["id", "name", "address", "phone", "email", "lead_days", "order_weekdays"]

    def get_order_weekdays(self, supplier: Supplier) -> list[int]:
        """ISO weekdays, 1 for Monday."""
        return [int(day) for day in supplier.order_weekdays]


class MaterialAnswer(serializers.ModelSerializer[Material]):
    low_level_g = MassOf("low_level", "unit")
    low_level_pieces = PiecesOf("low_level", "unit")
    pack_g = MassOf("pack_size", "unit")
    pack_pieces = PiecesOf("pack_size", "unit")
    least_at_once_g = MassOf("least_at_once", "unit")
    least_at_once_pieces = PiecesOf("least_at_once", "unit")
    most_at_once_g = MassOf("most_at_once", "unit")
    most_at_once_pieces = PiecesOf("most_at_once", "unit")
    per_dose_g = MassOf("per_dose", "unit")
    per_dose_pieces = PiecesOf("per_dose", "unit")

    class Meta:
        model = Material
        fields: ClassVar = [
            "id", "name", "kind", "unit", "supplier", "low_level_g", "low_level_pieces", "pack_g", "pack_pieces",
            "least_at_once_g", "least_at_once_pieces", "most_at_once_g", "most_at_once_pieces", "per_dose_g",
            "per_dose_pieces", "holds_on_arrival",
        ]  # fmt: skip


class StockAnswer(serializers.Serializer[Any]):
    """One material with what of it can be used today."""

    material = MaterialAnswer()
    usable_g = MassOf("usable", "material.unit")
    usable_pieces = PiecesOf("usable", "material.unit")
    on_hand_g = MassOf("on_hand", "material.unit")
    on_hand_pieces = PiecesOf("on_hand", "material.unit")
    lots = serializers.IntegerField()
    next_expiry = serializers.DateField(allow_null=True)
    is_low = serializers.BooleanField()


class ShedAnswer(serializers.ModelSerializer[Place]):
    class Meta:
        model = Place
        fields: ClassVar = ["id", "kind", "name", "is_closed"]


class ContainerAnswer(serializers.ModelSerializer[Container]):
    tare_g = MassG(source="tare_mg", allow_null=True, read_only=True)
    gross_g = MassG(source="gross_mg", allow_null=True, read_only=True)
    net_g = MassG(source="net_mg", allow_null=True, read_only=True)

    class Meta:
        model = Container
        fields: ClassVar = ["id", "name", "place", "tare_g", "gross_g", "net_g", "opened_on", "emptied_on"]


class LotAnswer(serializers.ModelSerializer[Lot]):
    assay_w = FractionW(source="assay_ppb", allow_null=True, read_only=True)
    price = Money(source="price_cents", read_only=True)
    containers = ContainerAnswer(many=True, read_only=True)
    received_g = MassOf("received_quantity", "item.unit")
    received_pieces = PiecesOf("received_quantity", "item.unit")
    dry_strip_g = MassG(source="dry_strip_mg", allow_null=True, read_only=True)
    uptake_g = MassG(source="uptake_mg", allow_null=True, read_only=True)

    class Meta:
        model = Lot
        fields: ClassVar = [
            "supplier", "delivery", "supplier_lot", "grade", "form", "assay_w", "certificate_names_form",
            "is_form_verified",
            "price", "received_g", "received_pieces", "dry_strip_g", "uptake_g", "containers",
        ]  # fmt: skip


class ItemAnswer(serializers.ModelSerializer[Item]):
    """A thing with a code; `on_hand` is what of it stands in sheds."""

    code = serializers.CharField(source="code_id")
    on_hand_g = MassOf("on_hand", "unit")
    on_hand_pieces = PiecesOf("on_hand", "unit")

    class Meta:
        model = Item
        fields: ClassVar = [
            "code", "kind", "unit", "material", "best_before", "made_at", "note", "on_hand_g", "on_hand_pieces",
        ]  # fmt: skip


class WhereAnswer(serializers.Serializer[Any]):
    place = serializers.CharField(source="place.words")
    kind = serializers.CharField(source="place.kind")
    place_id = serializers.IntegerField(source="place.pk")
    mass_g = MassOf()
    pieces = PiecesOf()


class HoldAnswer(serializers.ModelSerializer[Hold]):
    begins_at = serializers.SerializerMethodField()
    is_lifted = serializers.SerializerMethodField()

    class Meta:
        model = Hold
        fields: ClassVar = [
            "id", "reason", "began_with", "begins_at", "placed_at", "is_lifted", "lifted_at", "lift_reason",
        ]  # fmt: skip

    def get_begins_at(self, hold: Hold) -> list[str]:
        return [item.code_id for item in hold.items.all()]

    def get_is_lifted(self, hold: Hold) -> bool:
        return hold.lifted_by_id is not None


class FreedAnswer(serializers.ModelSerializer[Freed]):
    code = serializers.CharField(source="item.code_id")

    class Meta:
        model = Freed
        fields: ClassVar = ["id", "hold", "code", "reason"]


class ThingAnswer(serializers.Serializer[Any]):
    """A thing whole: where it is, what holds reach it, and a lot's facts."""

    item = ItemAnswer()
    lot = LotAnswer(allow_null=True)
    where = WhereAnswer(many=True)
    holds = HoldAnswer(many=True)


class MovementAnswer(serializers.ModelSerializer[Movement]):
    code = serializers.CharField(source="item.code_id")
    source = serializers.CharField(source="source.words")  # type: ignore[assignment]
    target = serializers.CharField(source="target.words")
    mass_g = MassOf()
    pieces = PiecesOf()
    by = serializers.CharField(source="deed.who")

    class Meta:
        model = Movement
        fields: ClassVar = [
            "id", "code", "source", "target", "mass_g", "pieces", "cause", "note", "by", "deed", "happened_at",
            "recorded_at", "reverses", "replaces",
        ]  # fmt: skip


class CountAnswer(serializers.Serializer[Any]):
    """Milligrams or pieces, as the thing is counted; `movement` is null when the book was right."""

    counted = serializers.IntegerField()
    book = serializers.IntegerField()
    difference = serializers.IntegerField()
    movement = MovementAnswer(allow_null=True)


class QuestionAnswer(serializers.ModelSerializer[Question]):
    code = serializers.CharField(source="item.code_id")
    is_settled = serializers.SerializerMethodField()

    class Meta:
        model = Question
        fields: ClassVar = ["id", "code", "kind", "text", "movement", "asked_at", "is_settled", "answer"]

    def get_is_settled(self, question: Question) -> bool:
        return question.settled_by_id is not None


class KinAnswer(serializers.Serializer[Any]):
    """Something above or below a thing, with the share by mass taken as well mixed: parts of 10^18, and rounded."""

    code = serializers.CharField()
    kind = serializers.CharField()
    parts = serializers.IntegerField(allow_null=True)
    share = serializers.CharField(allow_null=True)
    is_held = serializers.BooleanField()


class DeedAnswer(serializers.Serializer[Any]):
    id = serializers.IntegerField(source="pk")
    verb = serializers.CharField()
    by = serializers.CharField(source="who")
    door = serializers.CharField()
    happened_at = serializers.DateTimeField()
    recorded_at = serializers.DateTimeField()
    movements = MovementAnswer(many=True)


class ItemFacts(serializers.ModelSerializer[Item]):
    """A lot just received: its code is to be written on it."""

    code = serializers.CharField(source="code_id")
    spaced_code = serializers.CharField()
    lot = LotAnswer()

    class Meta:
        model = Item
        fields: ClassVar = ["code", "spaced_code", "kind", "unit", "material", "best_before", "made_at", "note", "lot"]


class Corrected(serializers.Serializer[Any]):
    """The movement that stands now; null when the right amount was zero."""

    movement = MovementAnswer(allow_null=True)

    def __init__(self, instance: Any = None, **kwargs: Any) -> None:
        super().__init__({"movement": instance}, **kwargs)


class PaperAnswer(serializers.Serializer[Any]):
    name = serializers.CharField()
    media_type = serializers.CharField()
    sha256 = serializers.CharField()
