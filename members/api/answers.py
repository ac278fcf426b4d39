"""What the API of members answers."""

from typing import Any

from rest_framework import serializers

from members.models import (
    Apiary,
    Ask,
    HandOver,
    Hive,
    Return,
    Round,
    RoundKeeper,
    Share,
    ShareOut,
    Treatment,
    TreatmentLine,
)
from members.queries import division, records


class ApiaryOut(serializers.ModelSerializer[Apiary]):
    class Meta:
        model = Apiary
        fields = ("id", "keeper", "name", "where")


class HiveOut(serializers.ModelSerializer[Hive]):
    class Meta:
        model = Hive
        fields = (
            "id",
            "apiary",
            "kind",
            "label",
            "from_on",
            "until_on",
            "ending",
            "came_from",
            "merged_into",
        )


class RoundOut(serializers.ModelSerializer[Round]):
    class Meta:
        model = Round
        fields = (
            "id",
            "name",
            "instructions",
            "state",
            "opens_at",
            "closes_at",
            "one_dose_first",
            "frozen_on",
            "drawn_how",
            "opened_at",
            "closed_at",
            "shared_at",
        )


class KeeperOut(serializers.ModelSerializer[RoundKeeper]):
    class Meta:
        model = RoundKeeper
        fields = ("person", "hives", "hives_by_kind", "last_got", "last_asked", "drawn")


class AskOut(serializers.ModelSerializer[Ask]):
    class Meta:
        model = Ask
        fields = ("id", "person", "hive_kind", "asked", "doses")


class ShareOutput(serializers.ModelSerializer[Share]):
    class Meta:
        model = Share
        fields = ("id", "round", "person", "asked", "doses", "by_kind", "strips", "state")


class RunOut(serializers.ModelSerializer[ShareOut]):
    """One run of the division: all that went in, every step that came out, and whether it comes out again."""

    shares = serializers.SerializerMethodField()
    is_repeatable = serializers.SerializerMethodField()

    class Meta:
        model = ShareOut
        fields = (
            "id",
            "round",
            "strips",
            "strips_left",
            "doses",
            "digest",
            "frozen",
            "result",
            "goes_on_from",
            "made_at",
            "shares",
            "is_repeatable",
        )

    def get_shares(self, run: ShareOut) -> list[dict[str, Any]]:
        """What each has after this run."""
        given = run.result["given"]
        return [
            {
                "person": asker.key,
                "hives": asker.hives,
                "asked": asker.ask,
                "doses": sum(given[str(asker.key)]),
                "strips": sum(
                    line.strips * doses for line, doses in zip(asker.lines, given[str(asker.key)], strict=True)
                ),
            }
            for asker in records.askers(run.frozen)
        ]

    def get_is_repeatable(self, run: ShareOut) -> bool:
        return records.is_repeatable(run)


class WhyOut(serializers.Serializer[Any]):
    """Why somebody got what they got, as they read it."""

    got = serializers.IntegerField()
    sentences = serializers.ListField(child=serializers.CharField())
    level = serializers.ListField(child=serializers.ListField(child=serializers.CharField()))

    def to_representation(self, found: division.Reason) -> dict[str, Any]:
        sentences = [*found.before, found.level_words, *found.after, found.short]
        return {
            "got": found.got,
            "sentences": [one for one in sentences if one],
            "level": [[row.nth, row.quotient, row.how] for row in found.level],
        }


class HandOverOut(serializers.ModelSerializer[HandOver]):
    code = serializers.CharField(source="item.code_id", read_only=True)

    class Meta:
        model = HandOver
        fields = (
            "id",
            "kind",
            "code",
            "giver",
            "receiver",
            "collected_by",
            "strips",
            "cautions_acknowledged",
            "legal_basis",
            "share",
            "happened_at",
        )


class ReturnOut(serializers.ModelSerializer[Return]):
    code = serializers.CharField(source="item.code_id", read_only=True)

    class Meta:
        model = Return
        fields = ("id", "code", "person", "strips", "is_unopened", "reason", "happened_at")


class HeldOut(serializers.Serializer[Any]):
    """A bag one has, and how many strips of it."""

    code = serializers.CharField()
    strips = serializers.IntegerField()
    best_before = serializers.DateField(allow_null=True)


class LineOutput(serializers.ModelSerializer[TreatmentLine]):
    bag = serializers.CharField(source="item.code_id", read_only=True)

    class Meta:
        model = TreatmentLine
        fields = ("id", "hive", "bag", "strips_in", "strips_out", "strips_chewed", "still_in")


class TreatmentOut(serializers.ModelSerializer[Treatment]):
    lines = LineOutput(many=True, read_only=True)

    class Meta:
        model = Treatment
        fields = ("id", "apiary", "instructions", "in_on", "due_on", "out_on", "is_late", "sequence", "lines")


class AsksOut(serializers.ListSerializer[Any]):
    """Several asks at once."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("child", AskOut())
        super().__init__(*args, **kwargs)


class HivesOut(serializers.ListSerializer[Any]):
    """Several hives at once."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("child", HiveOut())
        super().__init__(*args, **kwargs)
