"""Soaks, bags and decisions through the API."""

from typing import Any

from rest_framework.generics import ListAPIView, RetrieveAPIView

from batches.api import answers, reports, rows, takes
from batches.api.bench import Readers
from batches.commands import bagging, deciding, mixing, soaking, splitting
from batches.models import Bag, Deviation, Soak
from batches.queries.report import report_of
from coop import codes
from coop.access import MEMBER, RELEASER, VOLUNTEER, Mark
from coop.api.base import command_view

volunteer = Mark(VOLUNTEER)

mark_dry = command_view("MarkDry", soaking.mark_dry, takes.MarkedIn, volunteer, answers.SoakShort, rows.by_soak)
mark_wet = command_view("MarkWet", soaking.mark_wet, takes.MarkedIn, volunteer, answers.SoakShort, rows.by_soak)
correct_strips = command_view(
    "CorrectStrips", soaking.correct_strips, takes.CorrectStripsIn, volunteer, answers.SoakShort, rows.by_soak
)
read_soak = command_view("ReadSoak", mixing.read, takes.ReadIn, volunteer, answers.ReadingOut, rows.by_soak)
look = command_view("Look", soaking.look, takes.LookIn, volunteer, answers.LookOut, rows.by_soak)
lift = command_view("Lift", soaking.lift, takes.LiftIn, volunteer, answers.SoakShort, rows.by_soak)
bag = command_view("BagStrips", bagging.bag, takes.BagIn, volunteer, answers.BagOut, rows.by_soak)
retain_sample = command_view(
    "RetainSample", bagging.retain_sample, takes.SampleIn, volunteer, answers.SampleOut, rows.by_soak
)
return_solution = command_view(
    "ReturnSolution", bagging.return_solution, takes.ReturnIn, volunteer, answers.ReturnedOut, rows.by_soak
)
declare_loss = command_view(
    "DeclareLoss", bagging.declare_loss, takes.LossIn, volunteer, answers.SoakShort, rows.by_soak
)

release_soak = command_view(
    "ReleaseSoak",
    deciding.release_soak,
    takes.NoteIn,
    Mark(RELEASER, fresh=True),
    answers.ReleaseOut,
    rows.by_soak,
)
reject_soak = command_view(
    "RejectSoak", deciding.reject_soak, takes.WhyIn, Mark(RELEASER), answers.ReleaseOut, rows.by_soak
)
send_to_rework = command_view(
    "SendToRework", deciding.send_to_rework, takes.WhyIn, Mark(RELEASER), answers.ReleaseOut, rows.by_soak
)
decide_deviation = command_view(
    "DecideDeviation",
    deciding.decide_deviation,
    takes.DecideIn,
    Mark(MEMBER),
    answers.DeviationOut,
    rows.by_deviation,
)

correct_bag = command_view(
    "CorrectBag", bagging.correct_bag, takes.CorrectBagIn, volunteer, answers.BagOut, rows.by_bag
)
split_bag = command_view("SplitBag", splitting.split_bag, takes.PartIn, volunteer, answers.BagOut, rows.by_bag)
split_off = command_view("SplitOff", splitting.split_off, takes.ReasonIn, volunteer, answers.BagOut, rows.by_bag)


class Soaks(Readers, ListAPIView[Soak]):
    """Soaks, newest first; `state` filters."""

    serializer_class = answers.SoakShort
    queryset = Soak.objects.for_list()
    filterset_fields = ("state", "bench")


class SoakDetail(Readers, RetrieveAPIView[Soak]):
    """One soak with strength, strip content, uniformity, balance, hive doses and the release table."""

    serializer_class = reports.SoakOut
    queryset = Soak.objects.for_list()

    def get_object(self) -> Soak:
        soak = rows.soak(self.kwargs["code"])
        soak.report = report_of(soak)  # type: ignore[attr-defined]
        return soak


class Bags(Readers, ListAPIView[Bag]):
    """Bags, parts included; `soak` filters by the soak's code."""

    serializer_class = answers.BagOut
    queryset = Bag.objects.for_list().order_by("-pk")

    def get_queryset(self) -> Any:
        wanted = self.request.query_params.get("soak")
        bags = super().get_queryset()
        return bags.filter(soak__item__code=codes.tidy(wanted)) if wanted else bags


class BagDetail(Readers, RetrieveAPIView[Bag]):
    """One bag."""

    serializer_class = answers.BagOut
    queryset = Bag.objects.for_list()

    def get_object(self) -> Bag:
        return rows.one(self.get_queryset(), item__code=codes.tidy(self.kwargs["code"]))


class Deviations(Readers, ListAPIView[Deviation]):
    """Deviations, newest first; `is_open=true` leaves those nobody decided yet."""

    serializer_class = answers.DeviationOut
    queryset = Deviation.objects.select_related("soak__item", "opened__actor", "decided__actor")

    def get_queryset(self) -> Any:
        found: Any = super().get_queryset()
        return found.undecided() if self.request.query_params.get("is_open") == "true" else found
