"""What the API of members takes in. Days are local calendar dates of the club."""

from typing import Any

from rest_framework import serializers

from coop.api.fields import CodeText, Happened, Moment, Pieces
from members.api.rows import ApiaryRow, BagItem, HiveKindRow, HiveRow, InstructionsRow, PersonRow, RoundRow
from members.commands.treating import LineIn, LineOut
from members.models import Hive, TreatmentLine


class ApiaryIn(Happened):
    name = serializers.CharField(max_length=80)
    where = serializers.CharField(max_length=120, required=False, allow_blank=True)


class NewApiaryIn(ApiaryIn):
    keeper = PersonRow(required=False, help_text="whose, when a coordinator enters it")


class HivesIn(Happened):
    kind = HiveKindRow()
    count = Pieces(required=False, max_value=200)
    labels = serializers.ListField(child=serializers.CharField(max_length=40), required=False, max_length=200)
    from_on = serializers.DateField(required=False)


class EndHivesIn(Happened):
    hives = serializers.ListField(child=HiveRow(), min_length=1, max_length=200)
    ending = serializers.ChoiceField(Hive.Ending.choices)
    until_on = serializers.DateField(required=False)
    into = HiveRow(required=False)
    to_apiary = ApiaryRow(required=False)


class SplitIn(Happened):
    kind = HiveKindRow(required=False)
    mark = serializers.CharField(max_length=40, required=False, source="label")
    from_on = serializers.DateField(required=False)


class RoundIn(Happened):
    name = serializers.CharField(max_length=80)
    instructions = InstructionsRow()
    opens_at = Moment(required=False)
    closes_at = Moment()
    one_dose_first = serializers.BooleanField(required=False)


class DrawnIn(serializers.Serializer[Any]):
    person = PersonRow()
    number = serializers.IntegerField(min_value=1, max_value=100_000)


class OpenIn(Happened):
    """`drawn`: numbers from a hat, one for every keeper, instead of the server's."""

    drawn = DrawnIn(many=True, required=False)
    drawn_how = serializers.CharField(max_length=120, required=False, allow_blank=True)

    def validate_drawn(self, rows: list[dict[str, Any]]) -> dict[int, int]:
        return {row["person"].pk: row["number"] for row in rows}


class DosesIn(serializers.Serializer[Any]):
    kind = HiveKindRow()
    doses = serializers.IntegerField(min_value=0, max_value=100_000)


class AskIn(Happened):
    doses = DosesIn(many=True, allow_empty=False)
    person = PersonRow(required=False, help_text="whose ask, when a coordinator enters it")

    def validate_doses(self, rows: list[dict[str, Any]]) -> dict[int, int]:
        return {row["kind"].pk: row["doses"] for row in rows}


class ReopenIn(Happened):
    closes_at = Moment()


class ShareOutIn(Happened):
    strips = serializers.IntegerField(min_value=0, max_value=10**9, required=False)
    one_dose_first = serializers.BooleanField(required=False)


class NoShowIn(Happened):
    people = serializers.ListField(child=PersonRow(), min_length=1, max_length=1000)


class HandOverIn(Happened):
    receiver = PersonRow()
    strips = Pieces(required=False)
    cautions = serializers.BooleanField(help_text="read to whoever takes the strips, and understood")
    collected_by = PersonRow(required=False)
    round = RoundRow(required=False)
    code = CodeText(required=False, help_text="a printed code for the part")


class PassOnIn(Happened):
    receiver = PersonRow()
    strips = Pieces(required=False)
    cautions = serializers.BooleanField(required=False)
    is_done = serializers.BooleanField(required=False, help_text="it changed hands already")
    giver = PersonRow(required=False, help_text="who has it, when a coordinator enters it")
    code = CodeText(required=False)


class BringBackIn(Happened):
    person = PersonRow()
    strips = Pieces(required=False)
    is_unopened = serializers.BooleanField()
    reason = serializers.CharField(max_length=200, required=False, allow_blank=True)


class LineInIn(serializers.Serializer[Any]):
    hive = HiveRow()
    bag = BagItem()
    strips = Pieces(max_value=1000)


class StripsInIn(Happened):
    in_on = serializers.DateField(required=False)
    instructions = InstructionsRow(required=False)
    hives = serializers.ListField(child=HiveRow(), required=False, max_length=500)
    lines = LineInIn(many=True, required=False)

    def validate_lines(self, rows: list[dict[str, Any]]) -> list[LineIn]:
        return [LineIn(row["hive"], row["bag"], row["strips"]) for row in rows]


class LineOutIn(serializers.Serializer[Any]):
    line = serializers.IntegerField(min_value=1, max_value=10**17)
    out = serializers.IntegerField(min_value=0, max_value=1000, required=False, default=0)
    chewed = serializers.IntegerField(min_value=0, max_value=1000, required=False, default=0)


class StripsOutIn(Happened):
    out_on = serializers.DateField(required=False)
    lines = LineOutIn(many=True, required=False)

    def validate_lines(self, rows: list[dict[str, Any]]) -> list[LineOut]:
        """Of another's line there is nothing: the command looks for it among the lines of the treatment."""
        return [LineOut(TreatmentLine(pk=row["line"]), row["out"], row["chewed"]) for row in rows]


class InDateIn(Happened):
    in_on = serializers.DateField()
