"""Rounds, asks and divisions, as data."""

from typing import Any

from django.http import Http404
from rest_framework.generics import ListAPIView, RetrieveAPIView

from coop.access import COORDINATOR, MEMBER, Mark
from coop.api.base import command_view
from coop.api.fields import Nothing
from members.api import answers, rows, takes
from members.commands import rounds, sharing
from members.models import Ask, Round, RoundKeeper, Share, ShareOut
from members.queries import division

member, coordinator = Mark(MEMBER), Mark(COORDINATOR)


def _own_ask(view: Any, data: dict[str, Any], pk: int) -> dict[str, Any]:
    """Only a coordinator asks for somebody else."""
    person = data.get("person")
    if person is not None and person != view.request.user and not view.request.user.is_coordinator:
        raise Http404("another's")
    return rows.by_round(view, data, pk)


plan_round = command_view("PlanRound", rounds.plan_round, takes.RoundIn, coordinator, answers.RoundOut)
open_round = command_view("OpenRound", rounds.open_round, takes.OpenIn, coordinator, answers.RoundOut, rows.by_round)
ask = command_view("AskForDoses", rounds.ask, takes.AskIn, member, answers.AsksOut, _own_ask)
close_round = command_view("CloseRound", rounds.close_round, Nothing, coordinator, answers.RoundOut, rows.by_round)
reopen_round = command_view(
    "ReopenRound", rounds.reopen_round, takes.ReopenIn, coordinator, answers.RoundOut, rows.by_round
)
share_out = command_view(
    "ShareOutRound", sharing.share_out, takes.ShareOutIn, coordinator, answers.RunOut, rows.by_round
)
pass_no_show = command_view(
    "PassNoShow", sharing.pass_no_show, takes.NoShowIn, coordinator, answers.RunOut, rows.by_round
)
end_round = command_view("EndRound", rounds.end_round, Nothing, coordinator, answers.RoundOut, rows.by_round)


class Rounds(ListAPIView[Round]):
    """Rounds, newest first; drafts for coordinators only. `state` filters."""

    opens_to = member
    serializer_class = answers.RoundOut
    filterset_fields = ("state",)
    queryset = Round.objects.none()

    def get_queryset(self) -> Any:
        return Round.objects.visible_to(self.request.user) if self.request.user.is_authenticated else self.queryset


class RoundDetail(RetrieveAPIView[Round]):
    """One round."""

    opens_to = member
    serializer_class = answers.RoundOut
    queryset = Round.objects.none()

    def get_queryset(self) -> Any:
        return Round.objects.visible_to(self.request.user) if self.request.user.is_authenticated else self.queryset


class Keepers(ListAPIView[RoundKeeper]):
    """Who was frozen in a round, with hives by kind, the last fill and the drawn number."""

    opens_to = coordinator
    serializer_class = answers.KeeperOut
    queryset = RoundKeeper.objects.none()

    def get_queryset(self) -> Any:
        return RoundKeeper.objects.filter(round=self.kwargs.get("pk", 0))


class Asks(ListAPIView[Ask]):
    """Asks of a round: everybody's for a coordinator, one's own else."""

    opens_to = member
    serializer_class = answers.AskOut
    queryset = Ask.objects.none()

    def get_queryset(self) -> Any:
        person: Any = self.request.user
        asks = Ask.objects.filter(round=self.kwargs.get("pk", 0))
        return asks if getattr(person, "is_coordinator", False) else asks.filter(person=person.pk or 0)


class Shares(ListAPIView[Share]):
    """What each got in a round: everybody's for a coordinator, one's own else."""

    opens_to = member
    serializer_class = answers.ShareOutput
    queryset = Share.objects.none()

    def get_queryset(self) -> Any:
        person: Any = self.request.user
        shares = Share.objects.filter(round=self.kwargs.get("pk", 0))
        return shares if getattr(person, "is_coordinator", False) else shares.filter(person=person.pk or 0)


class Runs(ListAPIView[ShareOut]):
    """Every run of the division of a round, the last one first, with all that went in and came out."""

    opens_to = coordinator
    serializer_class = answers.RunOut
    queryset = ShareOut.objects.none()

    def get_queryset(self) -> Any:
        return ShareOut.objects.filter(round=self.kwargs.get("pk", 0))


class Why(RetrieveAPIView[Round]):
    """Why I got what I got. Nobody else is named."""

    opens_to = member
    serializer_class = answers.WhyOut
    queryset = Round.objects.none()

    def get_object(self) -> Any:
        person: Any = self.request.user
        round = rows.one(Round.objects.visible_to(person), pk=self.kwargs["pk"])
        runs = division.counting_runs(round)
        found = division.reason(runs, person) if runs else None
        if found is None:
            raise Http404("did not ask")
        return found
