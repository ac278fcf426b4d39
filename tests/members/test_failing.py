"""Every command of members, failing at each of its statements in turn: nothing is half written."""

import datetime as dt
import functools
from collections.abc import Callable
from typing import Any

import pytest
from django.utils import timezone

from batches.models import Bag
from coop.command import COMMANDS
from coop.models import Person
from members.commands import apiaries, handing, rounds, sharing, treating
from members.commands.treating import LineIn
from members.models import Round, Treatment
from tests.makers import batches as bench
from tests.makers import members as make
from tests.makers.coop import club, coordinator, do, member
from tests.makers.failing import survives

pytestmark = pytest.mark.django_db(transaction=True)
Facts = dict[str, Any]


class Season:
    """One keeper with two hives, another without strips, two released bags, a round as far as it is asked for."""

    def __init__(self) -> None:
        club()
        self.head = coordinator()
        self.ada, self.bo = member("Ada"), member("Bo")
        self.apiary = make.apiary(self.ada, hives=2)
        self.other = make.apiary(self.bo, hives=2)
        make.basis()
        self.doc = bench.instructions()

    @functools.cached_property
    def bags(self) -> list[Bag]:
        return make.released_bags([9, 9])

    def asked(self) -> Round:
        return make.asked(make.opened(self.doc), (self.ada, 2), (self.bo, 2))

    def stocked(self) -> Round:
        """Asked for, and strips on the shelf."""
        assert len(self.bags) == 2
        return self.asked()

    def shared(self) -> Round:
        round = self.stocked()
        do(sharing.share_out, round=round, strips=9)
        return round

    def with_ada(self) -> None:
        make.handed(self.bags[0], self.ada)

    def treated(self) -> Treatment:
        self.with_ada()
        treatment: Treatment = do(treating.strips_in, self.ada, apiary=self.apiary, instructions=self.doc)
        return treatment


def a_pass_on(season: Season) -> Facts:
    season.with_ada()
    return {"bag": season.bags[0], "receiver": season.bo, "strips": 4, "cautions": True}


def a_return(season: Season) -> Facts:
    season.with_ada()
    return {"bag": season.bags[0], "person": season.ada, "strips": 12, "is_unopened": False}


def strips_said(season: Season) -> Facts:
    season.with_ada()
    lines = [LineIn(hive, season.bags[0].item, 6) for hive in make.hives(season.apiary)]
    return {"apiary": season.apiary, "lines": lines, "instructions": season.doc}


def soon() -> dt.datetime:
    return timezone.now() + make.DAY


CASES: dict[Callable[..., Any], Callable[[Season], Facts]] = {
    apiaries.add_apiary: lambda season: {"name": "Hill"},
    apiaries.change_apiary: lambda season: {"apiary": season.apiary, "name": "Hill"},
    apiaries.add_hives: lambda season: {"apiary": season.apiary, "kind": bench.hive_kind(), "count": 3},
    apiaries.end_hives: lambda season: {
        "hives": make.hives(season.apiary), "ending": "moved", "to_apiary": season.other,
    },
    apiaries.split_hive: lambda season: {"hive": make.hives(season.apiary)[0]},
    rounds.plan_round: lambda season: {"name": "Spring", "instructions": season.doc, "closes_at": soon()},
    rounds.open_round: lambda season: {"round": make.draft(season.doc)},
    rounds.ask: lambda season: {"round": make.opened(season.doc), "doses": {bench.hive_kind().pk: 2}},
    rounds.close_round: lambda season: {"round": make.opened(season.doc)},
    rounds.reopen_round: lambda season: {"round": season.asked(), "closes_at": soon()},
    rounds.end_round: lambda season: {"round": season.shared()},
    sharing.share_out: lambda season: {"round": season.stocked(), "strips": 9},
    sharing.pass_no_show: lambda season: {"round": season.shared(), "people": [season.bo]},
    handing.hand_over: lambda season: {"bag": season.bags[0], "receiver": season.bo, "strips": 4, "cautions": True},
    handing.pass_on: a_pass_on,
    handing.bring_back: a_return,
    treating.strips_in: strips_said,
    treating.strips_out: lambda season: {"treatment": season.treated()},
    treating.correct_in_date: lambda season: {
        "treatment": season.treated(), "in_on": timezone.now().date() - 3 * make.DAY,
    },
}  # fmt: skip
BY_COORDINATOR = (handing.hand_over, handing.bring_back)


@pytest.mark.slow
@pytest.mark.parametrize("command", list(CASES), ids=lambda one: one.__name__)
def test_it_leaves_nothing_behind_wherever_it_fails(command):
    season = Season()
    facts = CASES[command](season)
    by: Person = season.head if command in BY_COORDINATOR else season.ada
    survives(command, by, **facts)


def test_every_command_of_members_is_here():
    known = {verb for verb, command in COMMANDS.items() if command.__module__.startswith("members.commands")}
    assert known == {command.verb for command in CASES}
