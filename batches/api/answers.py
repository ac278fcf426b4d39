"""What the bench's API answers: grams, degrees and mass fractions outside, integers inside."""

from typing import Any

from rest_framework import serializers

from batches.models import (
    Bag,
    Bench,
    Deviation,
    Equipment,
    EquipmentCheck,
    Instructions,
    InstructionsDose,
    Look,
    Mix,
    PailCheck,
    Pour,
    Presence,
    Reading,
    Recipe,
    Release,
    ReturnedSolution,
    Sample,
    Soak,
    Solution,
    Titration,
    Weighing,
)
from coop.api.fields import FractionW, MassG, TempC
from inventory.models import Hold, Item

S = serializers.Serializer


def code_of(source: str = "item.code_id") -> serializers.CharField:
    return serializers.CharField(source=source, read_only=True)


class RecipeOut(serializers.ModelSerializer[Recipe]):
    w = FractionW(source="w_ppb")
    uptake_g = MassG(source="uptake_mg")
    content_low_g = MassG(source="content_low_mg")
    content_high_g = MassG(source="content_high_mg")
    tub_g = MassG(source="tub_mg")
    u_w = FractionW(source="u_w_ppb")

    class Meta:
        model = Recipe
        fields = [
            "id", "name", "version", "w", "uptake_g", "content_low_g", "content_high_g", "tub_g", "tub_strips", "u_w",
            "soak_hours", "steps", "source",
        ]  # fmt: skip


class DoseOut(serializers.ModelSerializer[InstructionsDose]):
    hive_kind_name = serializers.CharField(source="hive_kind.name", read_only=True)

    class Meta:
        model = InstructionsDose
        fields = ["hive_kind", "hive_kind_name", "strips"]


class InstructionsOut(serializers.ModelSerializer[Instructions]):
    doses = DoseOut(many=True)

    class Meta:
        model = Instructions
        fields = ["id", "name", "version", "days", "doses", "supers_text", "withdrawal_text", "source", "text"]


class EquipmentOut(serializers.ModelSerializer[Equipment]):
    resolution = MassG()
    capacity = MassG()
    u_check = MassG()

    class Meta:
        model = Equipment
        fields = ["id", "name", "kind", "resolution", "capacity", "u_check", "note", "retired_at"]


class EquipmentCheckOut(serializers.ModelSerializer[EquipmentCheck]):
    """Reference, reading and a thermometer's deviation in g or degrees; a scale's deviation in parts per million."""

    reference = MassG()
    reading = MassG()

    class Meta:
        model = EquipmentCheck
        fields = ["id", "equipment", "bench", "reference", "reading", "deviation", "verdict", "happened_at"]


class SolutionOut(serializers.ModelSerializer[Solution]):
    w = FractionW(source="w_ppb")
    u_w = FractionW(source="u_ppb")
    weighed_w = FractionW(source="weighed_ppb")

    class Meta:
        model = Solution
        fields = ["w", "u_w", "weighed_w", "source", "reuse", "reheats", "clarity"]


class WeighingOut(serializers.ModelSerializer[Weighing]):
    item = code_of()
    mass_g = MassG(source="mass_mg")
    target_g = MassG(source="target_mg")

    class Meta:
        model = Weighing
        fields = ["id", "item", "mass_g", "target_g", "scale", "second_eyes", "was_caked", "reason", "happened_at"]


class PailCheckOut(serializers.ModelSerializer[PailCheck]):
    total_g = MassG(source="total_mg")
    expected_g = MassG(source="expected_mg")

    class Meta:
        model = PailCheck
        fields = ["id", "total_g", "expected_g", "scale", "happened_at"]


class ReadingOut(serializers.ModelSerializer[Reading]):
    solution_c = TempC(source="solution_mc")
    bath_c = TempC(source="bath_mc")
    corrected_c = TempC(source="corrected_mc")
    expanded_u_c = TempC(source="expanded_mc")

    class Meta:
        model = Reading
        fields = [
            "id", "solution_c", "bath_c", "corrected_c", "expanded_u_c", "was_stirred", "clarity", "thermometer",
            "happened_at",
        ]  # fmt: skip


class PourOut(serializers.ModelSerializer[Pour]):
    mix = code_of("mix.item.code_id")
    soak = code_of("soak.item.code_id")
    mass_g = MassG(source="mass_mg")
    temp_c = TempC(source="temp_mc")

    class Meta:
        model = Pour
        fields = [
            "id",
            "mix",
            "soak",
            "mass_g",
            "temp_c",
            "clarity",
            "covered_mm",
            "is_topup",
            "has_lid",
            "happened_at",
        ]


class MixOut(serializers.ModelSerializer[Mix]):
    code = code_of()
    strength = SolutionOut(source="item.solution", read_only=True, default=None)
    weighings = WeighingOut(many=True)
    readings = ReadingOut(many=True)
    pail_checks = PailCheckOut(many=True)
    pours = PourOut(many=True)

    class Meta:
        model = Mix
        fields = ["code", "number", "bench", "strength", "weighings", "pail_checks", "readings", "pours"]


class LookOut(serializers.ModelSerializer[Look]):
    min_c = TempC(source="min_mc")
    max_c = TempC(source="max_mc")

    class Meta:
        model = Look
        fields = ["id", "is_covered", "has_crystals", "min_c", "max_c", "note", "happened_at"]


class TitrationOut(serializers.ModelSerializer[Titration]):
    item = code_of()
    w = FractionW(source="w_ppb")
    u_w = FractionW(source="u_ppb")

    class Meta:
        model = Titration
        fields = ["id", "item", "w", "u_w", "method", "happened_at"]


class SoakShort(serializers.ModelSerializer[Soak]):
    code = code_of()
    blanks = code_of("blanks.code_id")
    day = serializers.DateField(source="bench.day", read_only=True)
    min_c = TempC(source="min_mc")
    max_c = TempC(source="max_mc")

    class Meta:
        model = Soak
        fields = [
            "code", "bench", "day", "number", "state", "blanks", "strips", "laid_at", "poured_at", "lifted_at", "min_c",
            "max_c", "clarity", "drain_min",
        ]  # fmt: skip


class BagOut(serializers.ModelSerializer[Bag]):
    code = code_of()
    soak = code_of("soak.item.code_id")
    part_of = serializers.SerializerMethodField()
    net_g = MassG(source="net_mg")
    state = serializers.CharField(source="soak.state", read_only=True)
    best_before = serializers.DateField(source="item.best_before", read_only=True)
    is_split_off = serializers.BooleanField(read_only=True)

    class Meta:
        model = Bag
        fields = ["code", "soak", "part_of", "strips", "net_g", "has_label", "state", "is_split_off", "best_before"]

    def get_part_of(self, bag: Bag) -> str | None:
        return bag.parent.item.code_id if bag.parent else None


class SampleOut(serializers.ModelSerializer[Sample]):
    code = code_of()
    soak = code_of("soak.item.code_id")
    net_g = MassG(source="net_mg")

    class Meta:
        model = Sample
        fields = ["code", "soak", "strips", "net_g", "happened_at"]


class ReturnedOut(serializers.ModelSerializer[ReturnedSolution]):
    code = code_of()
    mass_g = MassG(source="mass_mg")
    strength = SolutionOut(source="item.solution", read_only=True)

    class Meta:
        model = ReturnedSolution
        fields = ["code", "mass_g", "container", "strength", "happened_at"]


class SolutionItemOut(serializers.ModelSerializer[Item]):
    code = serializers.CharField(source="code_id", read_only=True)
    strength = SolutionOut(source="solution", read_only=True)

    class Meta:
        model = Item
        fields = ["code", "best_before", "strength"]


class DeviationOut(serializers.ModelSerializer[Deviation]):
    soak = serializers.SerializerMethodField()
    opened_by = serializers.CharField(source="opened.actor.name", read_only=True)
    decided_by = serializers.SerializerMethodField()

    class Meta:
        model = Deviation
        fields = ["id", "bench", "soak", "kind", "text", "reason", "opened_by", "decided_by", "is_accepted", "decision"]

    def get_soak(self, deviation: Deviation) -> str | None:
        return deviation.soak.item.code_id if deviation.soak else None

    def get_decided_by(self, deviation: Deviation) -> str | None:
        return deviation.decided.actor.name if deviation.decided else None


class ReleaseOut(serializers.ModelSerializer[Release]):
    soak = code_of("soak.item.code_id")
    person = serializers.CharField(source="person.name", read_only=True)

    class Meta:
        model = Release
        fields = ["id", "soak", "verdict", "person", "note", "table", "decided_at"]


class PresenceOut(serializers.ModelSerializer[Presence]):
    name = serializers.CharField(source="person.name", read_only=True)

    class Meta:
        model = Presence
        fields = ["person", "name", "gear"]


class HoldOut(serializers.ModelSerializer[Hold]):
    items = serializers.SerializerMethodField()

    class Meta:
        model = Hold
        fields = ["id", "reason", "began_with", "items", "placed_at"]

    def get_items(self, hold: Hold) -> list[str]:
        return list(hold.items.order_by("pk").values_list("code_id", flat=True))


class PlanLineOut(S[Any]):
    item = serializers.CharField(source="code")
    role = serializers.CharField()
    mass_g = MassG(source="mass_mg")


class PlanMixOut(S[Any]):
    target_g = MassG(source="target_mg")
    lines = PlanLineOut(many=True)


class PlanOut(S[Any]):
    target_g = MassG(source="target_mg")
    strips = serializers.IntegerField()
    w = FractionW(source="w_ppb")
    acid_g = MassG(source="acid_mg")
    glycerine_g = MassG(source="glycerine_mg")
    returned_g = MassG(source="returned_mg")
    volume_ml = serializers.IntegerField()
    mixes = PlanMixOut(many=True)
    warnings = serializers.ListField(child=serializers.CharField(), default=list)


class BenchShort(serializers.ModelSerializer[Bench]):
    recipe_name = serializers.CharField(source="recipe", read_only=True)
    recorder_name = serializers.CharField(source="recorder.name", read_only=True, default=None)
    mixes = serializers.SerializerMethodField()
    soaks = serializers.SerializerMethodField()

    class Meta:
        model = Bench
        fields = [
            "id", "day", "state", "recipe", "recipe_name", "instructions", "place", "recorder_name", "mixes", "soaks",
            "started_at", "closed_at", "note",
        ]  # fmt: skip

    def get_mixes(self, bench: Bench) -> list[str]:
        return [mix.item.code_id for mix in bench.mixes.all()]

    def get_soaks(self, bench: Bench) -> list[str]:
        return [soak.item.code_id for soak in bench.soaks.all()]


class BenchOut(BenchShort):
    plan = PlanOut()
    blanks = code_of("blanks.code_id")
    presences = PresenceOut(many=True)
    deviations = DeviationOut(many=True)
    room_c = TempC(source="room_mc")

    class Meta(BenchShort.Meta):
        fields = [*BenchShort.Meta.fields, "plan", "limits", "blanks", "presences", "deviations", "room_c", "ready"]
