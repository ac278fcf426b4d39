"""What the bench's commands take in a request's body. Names end in the unit they are read in."""

from typing import Any

from rest_framework import serializers

from batches.api import rows
from batches.commands.bench import READY
from batches.models import Clarity, Equipment, Presence
from coop.api.fields import CodeText, FractionW, Happened, MassG, Moment, Pieces, TempC

S = serializers.Serializer


def mass(name: str, **kwargs: Any) -> MassG:
    kwargs.setdefault("required", False)
    return MassG(source=name, **kwargs)


def temp(name: str, **kwargs: Any) -> TempC:
    kwargs.setdefault("required", False)
    kwargs.setdefault("allow_null", True)
    return TempC(source=name, **kwargs)


def words(most: int = 300, **kwargs: Any) -> serializers.CharField:
    kwargs.setdefault("required", False)
    kwargs.setdefault("allow_blank", True)
    return serializers.CharField(max_length=most, **kwargs)


def clear_or_not() -> serializers.ChoiceField:
    return serializers.ChoiceField(choices=Clarity.choices, required=False, allow_blank=True)


def yes(**kwargs: Any) -> serializers.BooleanField:
    kwargs.setdefault("required", False)
    return serializers.BooleanField(**kwargs)


class Sent(Happened, S[Any]):
    """Mixin: a figure that was asked about is sent again with `confirmed`."""

    confirmed = yes()


class OnlyWhen(Happened, S[Any]):
    """Only when it happened."""


class RecipeIn(Happened, S[Any]):
    name = serializers.CharField(max_length=120)
    w = FractionW(source="w_ppb", least=1)
    uptake_g = MassG(source="uptake_mg")
    content_low_g = MassG(source="content_low_mg")
    content_high_g = MassG(source="content_high_mg")
    tub_g = MassG(source="tub_mg")
    tub_strips = Pieces()
    u_w = FractionW(source="u_w_ppb", required=False)
    soak_hours = serializers.IntegerField(min_value=1, max_value=1000, required=False)
    steps = words(20_000)
    source = words()  # type: ignore[assignment]


class DoseIn(S[Any]):
    hive_kind = serializers.IntegerField(min_value=1)
    strips = Pieces(max_value=1000)


class InstructionsIn(Happened, S[Any]):
    name = serializers.CharField(max_length=120)
    days = serializers.IntegerField(min_value=1, max_value=1000)
    doses = DoseIn(many=True)
    source = serializers.CharField(max_length=300)  # type: ignore[assignment]
    supers_text = words()
    withdrawal_text = words()
    text = words(20_000)

    def validate_doses(self, value: list[dict[str, int]]) -> dict[int, int]:
        return {dose["hive_kind"]: dose["strips"] for dose in value}


class EquipmentIn(Happened, S[Any]):
    """A scale in grams, a thermometer in degrees Celsius."""

    name = serializers.CharField(max_length=80)
    kind = serializers.ChoiceField(choices=Equipment.Kind.choices)
    resolution = MassG(help_text="g or degrees Celsius")
    capacity = MassG(help_text="g or degrees Celsius")
    u_check = MassG(least=0, required=False, help_text="g or degrees Celsius")
    note = words()


class EquipmentCheckIn(Happened, S[Any]):
    """Grams for a scale, degrees Celsius for a thermometer: thousandths are kept of both."""

    reference = TempC(most=10**9)
    reading = TempC(most=10**9)
    bench = rows.BenchRow(required=False, allow_null=True)


class DoubtIn(Happened, S[Any]):
    reason = serializers.CharField(max_length=300)
    since = Moment(required=False, allow_null=True)


class PlannedHivesIn(S[Any]):
    hive_kind = serializers.IntegerField(min_value=1)
    hives = Pieces(max_value=100_000)


class ReturnedIn(S[Any]):
    item = rows.ItemByCode()
    mass_g = MassG(source="mass_mg", required=False, allow_null=True)


class PlanIn(Happened, S[Any]):
    """One of target_g, hives, strips, use_up says how much."""

    recipe = rows.RecipeRow()
    day = serializers.DateField()
    instructions = rows.InstructionsRow(required=False, allow_null=True)
    target_g = mass("target_mg", allow_null=True)
    hives = PlannedHivesIn(many=True, required=False)
    strips = Pieces(required=False, allow_null=True)
    use_up = rows.ItemByCode(required=False, allow_null=True)
    returned = ReturnedIn(many=True, required=False)
    blanks = rows.ItemByCode(required=False, allow_null=True)
    place = rows.PlaceRow(required=False, allow_null=True)
    mixes = serializers.IntegerField(min_value=1, max_value=20, required=False)
    u_w = FractionW(source="u_w_ppb", required=False, allow_null=True)
    note = words()

    def validate_hives(self, value: list[dict[str, int]]) -> dict[int, int] | None:
        return {entry["hive_kind"]: entry["hives"] for entry in value} or None


class PresentIn(S[Any]):
    person = rows.PersonRow()
    gear = serializers.MultipleChoiceField(choices=[(one, one) for one in Presence.GEAR], required=False)

    def validate_gear(self, value: set[str]) -> list[str]:
        return sorted(value)


class StartIn(Happened, S[Any]):
    presence = PresentIn(many=True)
    ready = serializers.ListField(child=serializers.ChoiceField(choices=[(one, one) for one in READY]), required=False)
    room_c = temp("room_mc")


class JoinIn(Happened, PresentIn):
    pass


class NoteIn(Happened, S[Any]):
    note = words(500)


class WhyIn(Happened, S[Any]):
    note = serializers.CharField(max_length=500)


class ReasonIn(Happened, S[Any]):
    reason = serializers.CharField(max_length=300)


class WeighIn(Sent):
    item = rows.ItemByCode()
    mass_g = mass("mass_mg")
    gross_g = mass("gross_mg")
    tare_g = mass("tare_mg", least=0)
    target_g = mass("target_mg")
    scale = rows.EquipmentRow(required=False, allow_null=True)
    container = rows.ContainerRow(required=False, allow_null=True)
    second_eyes = rows.PersonRow(required=False, allow_null=True)
    was_caked = yes()
    place = rows.PlaceRow(required=False, allow_null=True)


class CorrectWeighingIn(Sent):
    mass_g = MassG(source="mass_mg", least=0)
    reason = serializers.CharField(max_length=300)
    scale = rows.EquipmentRow(required=False, allow_null=True)


class PailCheckIn(Sent):
    total_g = MassG(source="total_mg")
    scale = rows.EquipmentRow(required=False, allow_null=True)


class ReadIn(Sent):
    solution_c = TempC(source="solution_mc")
    bath_c = temp("bath_mc")
    was_stirred = yes()
    clarity = clear_or_not()
    thermometer = rows.EquipmentRow(required=False, allow_null=True)


class PourIn(Sent):
    soak = rows.SoakByCode(required=False, allow_null=True)
    mass_g = mass("mass_mg")
    before_g = mass("before_mg")
    after_g = mass("after_mg", least=0)
    temp_c = temp("temp_mc")
    clarity = clear_or_not()
    covered_mm = serializers.IntegerField(min_value=0, max_value=1000, required=False, allow_null=True)
    has_lid = yes()
    is_topup = yes()
    scale = rows.EquipmentRow(required=False, allow_null=True)


class TitrateIn(Happened, S[Any]):
    w = FractionW(source="w_ppb", least=1)
    u_w = FractionW(source="u_ppb")
    method = serializers.CharField(max_length=300)


class LayStripsIn(Sent):
    strips = Pieces(max_value=10_000)
    blanks = rows.ItemByCode(required=False, allow_null=True)
    code = CodeText(required=False, allow_null=True)
    pack_g = mass("pack_mg")
    place = rows.PlaceRow(required=False, allow_null=True)


class CorrectStripsIn(Happened, S[Any]):
    strips = Pieces(max_value=10_000)
    reason = serializers.CharField(max_length=300)


class MarkedIn(Sent):
    masses_g = serializers.ListField(child=MassG(), source="masses_mg", min_length=1, max_length=60)
    scale = rows.EquipmentRow(required=False, allow_null=True)


class LookIn(Happened, S[Any]):
    is_covered = yes()
    has_crystals = yes()
    min_c = temp("min_mc")
    max_c = temp("max_mc")
    note = words()


class LiftIn(Sent):
    min_c = temp("min_mc")
    max_c = temp("max_mc")
    clarity = clear_or_not()
    drain_min = serializers.IntegerField(min_value=0, max_value=1000, required=False, allow_null=True)


class NetIn(S[Any]):
    """Mixin: net, or gross and tare."""

    net_g = mass("net_mg")
    gross_g = mass("gross_mg")
    tare_g = mass("tare_mg", least=0)
    scale = rows.EquipmentRow(required=False, allow_null=True)


class BagIn(Sent, NetIn):
    strips = Pieces(max_value=10_000)
    code = CodeText(required=False, allow_null=True)
    has_label = yes()
    place = rows.PlaceRow(required=False, allow_null=True)


class CorrectBagIn(Sent, NetIn):
    reason = serializers.CharField(max_length=300)
    has_label = yes(allow_null=True)


class SampleIn(Happened, S[Any]):
    strips = Pieces(max_value=1000)
    net_g = mass("net_mg", allow_null=True)
    code = CodeText(required=False, allow_null=True)
    scale = rows.EquipmentRow(required=False, allow_null=True)


class ReturnIn(Happened, S[Any]):
    mass_g = MassG(source="mass_mg")
    container = words(80)
    clarity = clear_or_not()
    code = CodeText(required=False, allow_null=True)
    scale = rows.EquipmentRow(required=False, allow_null=True)
    place = rows.PlaceRow(required=False, allow_null=True)


class EnterSolutionIn(Happened, S[Any]):
    mass_g = MassG(source="mass_mg")
    place = rows.PlaceRow()
    w = FractionW(source="w_ppb", least=1)
    u_w = FractionW(source="u_ppb", required=False)
    reuse = serializers.IntegerField(min_value=0, max_value=50, required=False)
    reheats = serializers.IntegerField(min_value=0, max_value=50, required=False)
    is_titrated = yes()
    clarity = clear_or_not()
    best_before = serializers.DateField(required=False, allow_null=True)
    code = CodeText(required=False, allow_null=True)
    note = words()


class LossIn(Happened, S[Any]):
    mass_g = mass("mass_mg", least=0)
    strips = Pieces(min_value=0, required=False)
    note = serializers.CharField(max_length=300)
    is_destroyed = yes()


class PailLossIn(Happened, S[Any]):
    mass_g = MassG(source="mass_mg")
    note = serializers.CharField(max_length=300)
    is_destroyed = yes()


class DeviationIn(Happened, S[Any]):
    kind = serializers.SlugField(max_length=24)
    text = serializers.CharField(max_length=300)
    reason = words(500)
    soak = rows.SoakByCode(required=False, allow_null=True)


class DecideIn(Happened, S[Any]):
    is_accepted = serializers.BooleanField()
    decision = words()


class PartIn(Happened, S[Any]):
    strips = Pieces(max_value=10_000)
    place = rows.PlaceRow(required=False, allow_null=True)
    code = CodeText(required=False, allow_null=True)
