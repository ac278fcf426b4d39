"""The club, its kinds of hive and its legal basis, as data."""

from typing import Any

from rest_framework import generics, serializers

from coop.access import COORDINATOR, MEMBER, Mark
from coop.api.base import command_view
from coop.api.fields import Happened, Moment, Nothing
from coop.commands import club as club_commands
from coop.commands import legal
from coop.models import Club, HiveKind, LegalBasis


class ClubRow(serializers.ModelSerializer[Club]):
    class Meta:
        model = Club
        fields = (*club_commands.CHANGEABLE, "is_demo")


class ClubChange(serializers.ModelSerializer[Club]):
    happened_at = Moment(required=False)

    class Meta:
        model = Club
        fields = (*club_commands.CHANGEABLE, "happened_at")
        extra_kwargs = {name: {"required": False} for name in club_commands.CHANGEABLE}


class HiveKindRow(serializers.ModelSerializer[HiveKind]):
    class Meta:
        model = HiveKind
        fields = ("id", "name", "order")


class HiveKindNew(Happened):
    name = serializers.CharField(max_length=60)
    order = serializers.IntegerField(min_value=0, max_value=999, required=False)


class LegalBasisRow(serializers.ModelSerializer[LegalBasis]):
    class Meta:
        model = LegalBasis
        fields = ("id", "subject", "rule", "reference", "checked_by", "valid_from", "valid_until", "ended_at")


class LegalBasisNew(Happened):
    subject = serializers.ChoiceField(LegalBasis.Subject.choices)
    rule = serializers.CharField(max_length=200)
    reference = serializers.CharField(max_length=200)
    checked_by = serializers.CharField(max_length=120)
    valid_from = serializers.DateField()
    valid_until = serializers.DateField()


class TheClub(generics.RetrieveAPIView[Club]):
    """Name, zone, whom to call, the supplier's sheet and its words."""

    opens_to = Mark(MEMBER)
    serializer_class = ClubRow
    queryset = Club.objects.all()

    def get_object(self) -> Club:
        found: Club = generics.get_object_or_404(Club, pk=1)
        return found


class HiveKinds(generics.ListAPIView[HiveKind]):
    """The club's kinds of hive."""

    opens_to = Mark(MEMBER)
    serializer_class = HiveKindRow
    queryset = HiveKind.objects.all()


class LegalBases(generics.ListAPIView[LegalBasis]):
    """What the club relies on."""

    opens_to = Mark(COORDINATOR)
    serializer_class = LegalBasisRow
    queryset = LegalBasis.objects.all()
    filterset_fields = ("subject",)


def _basis(view: Any, data: dict[str, Any], pk: int) -> dict[str, Any]:
    return {**data, "basis": generics.get_object_or_404(LegalBasis, pk=pk)}


def _kind(view: Any, data: dict[str, Any], pk: int) -> dict[str, Any]:
    return {**data, "kind": generics.get_object_or_404(HiveKind, pk=pk)}


_COORDINATOR = Mark(COORDINATOR)
_DEEP = Mark(COORDINATOR, fresh=True)
change_club = command_view("ChangeClub", club_commands.change_club, ClubChange, _COORDINATOR, ClubRow)
add_hive_kind = command_view("AddHiveKind", club_commands.add_hive_kind, HiveKindNew, _COORDINATOR, HiveKindRow)
change_hive_kind = command_view(
    "ChangeHiveKind", club_commands.change_hive_kind, HiveKindNew, _COORDINATOR, HiveKindRow, _kind
)
note_legal_basis = command_view("NoteLegalBasis", legal.note_legal_basis, LegalBasisNew, _DEEP, LegalBasisRow)
end_legal_basis = command_view("EndLegalBasis", legal.end_legal_basis, Nothing, _DEEP, LegalBasisRow, _basis)
