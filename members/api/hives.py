"""Apiaries, hives, strips held, strips in and out, as data."""

from typing import Any

from django.http import Http404
from rest_framework.generics import ListAPIView, RetrieveAPIView

from coop.access import COORDINATOR, MEMBER, Mark
from coop.api.base import command_view
from members.api import answers, rows, takes
from members.commands import apiaries, handing, treating
from members.models import Apiary, HandOver, Hive, Treatment
from members.queries import held

member, coordinator = Mark(MEMBER), Mark(COORDINATOR)


def _own_apiary(view: Any, data: dict[str, Any]) -> dict[str, Any]:
    """Only a coordinator enters an apiary of somebody else."""
    keeper = data.get("keeper")
    if keeper is not None and keeper != view.request.user and not view.request.user.is_coordinator:
        raise Http404("another's")
    return data


add_apiary = command_view("AddApiary", apiaries.add_apiary, takes.NewApiaryIn, member, answers.ApiaryOut, _own_apiary)
change_apiary = command_view(
    "ChangeApiary", apiaries.change_apiary, takes.ApiaryIn, member, answers.ApiaryOut, rows.by_apiary
)
add_hives = command_view("AddHives", apiaries.add_hives, takes.HivesIn, member, answers.HivesOut, rows.by_apiary)
end_hives = command_view("EndHives", apiaries.end_hives, takes.EndHivesIn, member, answers.HivesOut)
split_hive = command_view("SplitHive", apiaries.split_hive, takes.SplitIn, member, answers.HiveOut, rows.by_hive)
hand_over = command_view(
    "HandOverBag", handing.hand_over, takes.HandOverIn, coordinator, answers.HandOverOut, rows.by_bag
)
pass_on = command_view("PassOnBag", handing.pass_on, takes.PassOnIn, member, answers.HandOverOut, rows.by_own_bag)
bring_back = command_view(
    "BringBackBag", handing.bring_back, takes.BringBackIn, coordinator, answers.ReturnOut, rows.by_bag
)
strips_in = command_view("StripsIn", treating.strips_in, takes.StripsInIn, member, answers.TreatmentOut, rows.by_apiary)
strips_out = command_view(
    "StripsOut", treating.strips_out, takes.StripsOutIn, member, answers.TreatmentOut, rows.by_treatment
)
correct_in_date = command_view(
    "CorrectInDate", treating.correct_in_date, takes.InDateIn, member, answers.TreatmentOut, rows.by_treatment
)


class _Visible:
    """Rows visible to whoever asks."""

    request: Any
    queryset: Any

    def visible(self, rows: Any) -> Any:
        return rows.visible_to(self.request.user) if self.request.user.is_authenticated else rows.none()


class Apiaries(_Visible, ListAPIView[Apiary]):
    """One's own apiaries; everybody's for a coordinator."""

    opens_to = member
    serializer_class = answers.ApiaryOut
    filterset_fields = ("keeper",)
    queryset = Apiary.objects.all()

    def get_queryset(self) -> Any:
        return self.visible(Apiary.objects.all())


class Hives(_Visible, ListAPIView[Hive]):
    """One's own hives, those that ended included; everybody's for a coordinator."""

    opens_to = member
    serializer_class = answers.HiveOut
    filterset_fields = ("apiary", "kind")
    queryset = Hive.objects.all()

    def get_queryset(self) -> Any:
        return self.visible(Hive.objects.all())


class Treatments(_Visible, ListAPIView[Treatment]):
    """Strips in and out: one's own, everybody's for a coordinator. `apiary` filters; `is_in=true` leaves what is in."""

    opens_to = member
    serializer_class = answers.TreatmentOut
    filterset_fields = ("apiary",)
    queryset = Treatment.objects.all()

    def get_queryset(self) -> Any:
        found = self.visible(Treatment.objects.all()).prefetch_related("lines__item")
        return found.still_in() if self.request.query_params.get("is_in") == "true" else found


class TreatmentDetail(_Visible, RetrieveAPIView[Treatment]):
    """One treatment with its lines."""

    opens_to = member
    serializer_class = answers.TreatmentOut
    queryset = Treatment.objects.all()

    def get_queryset(self) -> Any:
        return self.visible(Treatment.objects.all()).prefetch_related("lines__item")


class HandOvers(_Visible, ListAPIView[HandOver]):
    """Hand-overs and pass-ons one gave or got; all of them for a coordinator."""

    opens_to = member
    serializer_class = answers.HandOverOut
    filterset_fields = ("receiver", "kind")
    queryset = HandOver.objects.all()

    def get_queryset(self) -> Any:
        return self.visible(HandOver.objects.all()).select_related("item")


class Held(ListAPIView[Any]):
    """Bags with whoever asks, and how many strips of each."""

    opens_to = member
    serializer_class = answers.HeldOut
    pagination_class = None
    filter_backends = ()
    queryset = HandOver.objects.none()

    def get_queryset(self) -> Any:
        person: Any = self.request.user
        if not person.is_authenticated:
            return []
        return [
            {"code": item.code_id, "strips": strips, "best_before": item.best_before}
            for item, strips in held.bags_of(person)
        ]
