"""What the API answers about one soak as a whole: everything that follows from what was entered."""

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from batches.api.answers import DeviationOut, SoakShort
from batches.models import Soak
from batches.queries import cost
from coop.api.fields import FractionW, MicroMoney

S = serializers.Serializer


class ContentOut(S[Any]):
    """Grams of oxalic acid dihydrate in a strip. U is expanded, k = 2."""

    mean_g = serializers.FloatField()
    u_g = serializers.FloatField()
    expanded_u_g = serializers.FloatField()
    uptake_g = serializers.FloatField()
    u_uptake_g = serializers.FloatField()
    strips = serializers.IntegerField()


class BagContentOut(S[Any]):
    code = serializers.CharField()
    strips = serializers.IntegerField()
    content_g = serializers.FloatField()


class BalanceOut(S[Any]):
    """What went into the tub and what came out, in grams; unexplained signed, in per cent of what was poured."""

    poured_g = serializers.FloatField()
    dry_g = serializers.FloatField()
    bags_g = serializers.FloatField()
    retained_g = serializers.FloatField()
    returned_g = serializers.FloatField()
    losses_g = serializers.FloatField()
    unexplained_g = serializers.FloatField()
    unexplained_percent = serializers.FloatField()


class UniformityOut(S[Any]):
    n = serializers.IntegerField()
    mean = serializers.FloatField()
    s = serializers.FloatField()
    av = serializers.FloatField()


class DosesOut(S[Any]):
    hive_kind = serializers.CharField()
    strips_a_hive = serializers.IntegerField()
    doses = serializers.IntegerField()
    loose = serializers.IntegerField()
    content_g = serializers.FloatField()


class RowOut(S[Any]):
    key = serializers.CharField()
    kind = serializers.CharField()
    label = serializers.CharField()  # type: ignore[assignment]
    figure = serializers.CharField()
    limit = serializers.CharField()
    rule = serializers.CharField()
    note = serializers.CharField()
    verdict = serializers.CharField()
    is_warning = serializers.BooleanField()
    is_accepted = serializers.BooleanField()


class DoseCostOut(S[Any]):
    hive_kind = serializers.CharField()
    strips = serializers.IntegerField()
    cost = MicroMoney()


class CostOut(S[Any]):
    """Money of the club: shares of the mixes, what returned solution carries, blanks, what the strips in bags bear."""

    solution = MicroMoney()
    returned = MicroMoney()
    in_tub = MicroMoney()
    strips = MicroMoney(source="blanks")
    batch = MicroMoney()
    a_strip = MicroMoney(allow_null=True)
    hive_doses = DoseCostOut(source="doses", many=True)
    written_off = MicroMoney()
    is_capped = serializers.BooleanField()
    is_final = serializers.BooleanField()


class StrengthOut(S[Any]):
    w = FractionW(source="w_ppb")
    u_w = FractionW(source="u_ppb")
    is_titrated = serializers.BooleanField()
    reuse = serializers.IntegerField()
    reheats = serializers.IntegerField()


class SoakOut(SoakShort):
    """A soak with everything that follows from what was entered; what cannot be known yet is null."""

    strength = StrengthOut(source="report.strength")
    content = ContentOut(source="report.content")
    bags = BagContentOut(source="report.bags", many=True)
    uniformity = UniformityOut(source="report.uniformity")
    balance = BalanceOut(source="report.balance")
    hive_doses = DosesOut(source="report.doses", many=True)
    table = RowOut(source="report.table", many=True)
    hours = serializers.FloatField(source="report.hours")
    is_held = serializers.BooleanField(source="report.is_held")
    deviations = DeviationOut(source="report.deviations", many=True)
    cost = serializers.SerializerMethodField()

    class Meta(SoakShort.Meta):
        fields = [
            *SoakShort.Meta.fields, "strength", "content", "bags", "uniformity", "balance", "hive_doses", "table",
            "hours", "is_held", "deviations", "cost",
        ]  # fmt: skip

    @extend_schema_field(CostOut(allow_null=True))
    def get_cost(self, soak: Soak) -> Any:
        """What it costs is for volunteers: null for a releaser who is none."""
        reader = self.context["request"].user
        return CostOut(cost.of_soak(soak)).data if reader.is_volunteer else None
