"""The bench record and its pails through the API."""

from typing import Any

from django.db.models import Prefetch
from rest_framework.generics import ListAPIView, RetrieveAPIView
from rest_framework.request import Request

from batches.api import answers, rows, takes
from batches.commands import bagging, bench, deciding, mixing, planning, soaking
from batches.models import Bench, Deviation, Mix, Pour, Weighing
from coop import codes
from coop.access import COORDINATOR, MEMBER, VOLUNTEER, Mark
from coop.api.base import command_view

volunteer, coordinator = Mark(VOLUNTEER), Mark(COORDINATOR)

plan_bench = command_view("PlanBench", planning.plan_bench, takes.PlanIn, coordinator, answers.BenchOut)
start_bench = command_view("StartBench", bench.start_bench, takes.StartIn, volunteer, answers.BenchOut, rows.by_bench)
join_bench = command_view("JoinBench", bench.join_bench, takes.JoinIn, volunteer, answers.PresenceOut, rows.by_bench)
take_over = command_view("TakeOver", bench.take_over, takes.OnlyWhen, volunteer, answers.BenchOut, rows.by_bench)
add_mix = command_view("AddMix", bench.add_mix, takes.OnlyWhen, volunteer, answers.MixOut, rows.by_bench)
close_bench = command_view("CloseBench", bench.close_bench, takes.NoteIn, volunteer, answers.BenchOut, rows.by_bench)
abandon_bench = command_view(
    "AbandonBench", bench.abandon_bench, takes.ReasonIn, volunteer, answers.BenchOut, rows.by_bench
)
open_deviation = command_view(
    "OpenDeviation",
    deciding.open_deviation,
    takes.DeviationIn,
    Mark(MEMBER),
    answers.DeviationOut,
    rows.by_readers_bench,
)
lay_strips = command_view(
    "LayStrips", soaking.lay_strips, takes.LayStripsIn, volunteer, answers.SoakShort, rows.by_bench
)

weigh_in = command_view("WeighIn", mixing.weigh_in, takes.WeighIn, volunteer, answers.WeighingOut, rows.by_mix)
correct_weighing = command_view(
    "CorrectWeighing",
    mixing.correct_weighing,
    takes.CorrectWeighingIn,
    volunteer,
    answers.WeighingOut,
    rows.by_weighing,
)
pail_check = command_view(
    "PailCheck", mixing.pail_check, takes.PailCheckIn, volunteer, answers.PailCheckOut, rows.by_mix
)
read_mix = command_view("ReadMix", mixing.read, takes.ReadIn, volunteer, answers.ReadingOut, rows.by_mix)
pour = command_view("Pour", soaking.pour, takes.PourIn, volunteer, answers.PourOut, rows.by_mix)
return_from_pail = command_view(
    "ReturnFromPail", bagging.return_solution, takes.ReturnIn, volunteer, answers.ReturnedOut, rows.by_mix
)
lose_from_pail = command_view(
    "LoseFromPail", bagging.declare_loss, takes.PailLossIn, volunteer, answers.MixOut, rows.by_mix
)
titrate = command_view("Titrate", mixing.titrate, takes.TitrateIn, volunteer, answers.TitrationOut, rows.by_item)
enter_solution = command_view(
    "EnterSolution", bagging.enter_solution, takes.EnterSolutionIn, coordinator, answers.SolutionItemOut
)


class Readers:
    """Mixin: open to volunteers and releasers; for anybody else there is nothing here."""

    opens_to = Mark(MEMBER)

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)  # type: ignore[misc]
        rows.refuse_strangers(request)


class Benches(Readers, ListAPIView[Bench]):
    """Bench records, newest day first; `state` filters."""

    serializer_class = answers.BenchShort
    queryset = Bench.objects.for_list()
    filterset_fields = ("state", "day")


class BenchDetail(Readers, RetrieveAPIView[Bench]):
    """One bench record with its plan, its people and its deviations."""

    serializer_class = answers.BenchOut
    queryset = Bench.objects.for_list().prefetch_related(
        "presences__person",
        Prefetch("deviations", Deviation.objects.select_related("soak__item", "opened__actor", "decided__actor")),
    )


class MixDetail(Readers, RetrieveAPIView[Mix]):
    """One pail: what was weighed in, its readings, its strength, what was poured."""

    serializer_class = answers.MixOut
    queryset = Mix.objects.select_related("item__solution").prefetch_related(
        Prefetch("weighings", Weighing.objects.select_related("item")),
        "readings",
        "pail_checks",
        Prefetch("pours", Pour.objects.select_related("mix__item", "soak__item")),
    )

    def get_object(self) -> Mix:
        return rows.one(self.get_queryset(), item__code=codes.tidy(self.kwargs["code"]))
