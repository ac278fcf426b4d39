"""Reminders across a clock change, through the API: the figures of worked case (f), but for calendar and split hive."""

import datetime as dt
from typing import Any

import pytest
import time_machine

from coop import notices
from coop.models import Letter, Notice
from members.science.calendar_days import reminders
from tests.makers import batches as bench
from tests.makers import members as make
from tests.makers.api import Api
from tests.makers.coop import club, coordinator, member

pytestmark = pytest.mark.django_db


def utc(text: str) -> dt.datetime:
    return dt.datetime.fromisoformat(text).astimezone(dt.UTC)


class Keeper:
    """A member with twelve hives in one apiary and strips for all of them, at a moment in the club's zone."""

    def __init__(self, hives: int = 12, zone: str = "Europe/Paris") -> None:
        club(zone=zone)
        coordinator("Cora")
        kind = bench.hive_kind()
        self.doc = bench.instructions(days=42, doses={kind.pk: 4})
        make.basis()
        self.person = member("Lotte")
        self.apiary = make.apiary(self.person, hives=hives, kind=kind, name="Ferry Bank")
        self.api = Api(self.person)

    def strips(self, count: int) -> None:
        room = bench.room(now=utc("2026-08-01T09:00+02:00"), instructions=self.doc)
        bag = make.released_bags([count], room)[0]
        make.handed(bag, self.person, happened_at=utc("2026-08-10T10:00+02:00"))

    def put_in(self, moment: str, **body: Any) -> dict[str, Any]:
        at = utc(moment).isoformat()
        answer: dict[str, Any] = self.api.post(f"apiaries/{self.apiary.pk}/strips-in", happened_at=at, **body)
        return answer


def ticks(*moments: str) -> list[int]:
    """How many letters each tick wrote."""
    return [notices.tick(utc(moment)) for moment in moments]


@pytest.fixture
def keeper() -> Keeper:
    found = Keeper()
    found.strips(48)
    return found


def test_the_due_day_and_the_moments_of_its_notices(keeper):
    treatment = keeper.put_in("2026-09-19T17:40+02:00")
    assert (treatment["in_on"], treatment["due_on"]) == ("2026-09-19", "2026-10-31")
    assert len(treatment["lines"]) == 12
    assert ticks("2026-10-24T07:59+02:00", "2026-10-24T08:00+02:00") == [0, 1]
    assert ticks("2026-10-31T06:59+00:00", "2026-10-31T07:00+00:00") == [0, 1]
    assert ticks("2026-11-03T06:59+00:00", "2026-11-03T07:00+00:00") == [0, 1]
    assert ticks("2026-11-03T07:01+00:00", "2026-11-04T09:00+00:00") == [0, 0]
    due = Notice.objects.filter(kind="strips-due").order_by("due_at")
    assert [notice.due_at for notice in due] == [
        utc("2026-10-24T06:00+00:00"),
        utc("2026-10-31T07:00+00:00"),
        utc("2026-11-03T07:00+00:00"),
    ]
    assert [notice.key for notice in due] == [
        f"strips-due:{keeper.apiary.pk}:2026-10-31:{stage}" for stage in (-7, 0, 3)
    ]


def test_entered_after_midnight_it_is_the_local_day(keeper):
    assert keeper.put_in("2026-09-20T00:20+02:00")["due_on"] == "2026-11-01"


def test_twelve_hives_of_one_apiary_are_one_notice(keeper):
    keeper.put_in("2026-09-19T17:40+02:00")
    ticks("2026-10-31T09:00+01:00")
    assert Notice.objects.filter(kind="strips-due").count() == 1
    letter = Letter.objects.get(person=keeper.person)
    assert "48 strips" in letter.body.replace("\u202f", " ")
    assert "12 hives" in letter.body


def test_entered_late_there_is_one_overdue_notice_not_three(keeper):
    with time_machine.travel(utc("2026-11-04T18:00+01:00"), tick=False):
        treatment = keeper.api.post(f"apiaries/{keeper.apiary.pk}/strips-in", in_on="2026-09-19")
        assert treatment["is_late"]
    assert ticks("2026-11-04T19:00+01:00", "2026-11-05T09:00+01:00") == [1, 0]
    assert [one.stage for one in Notice.objects.filter(kind="strips-due")] == [3]
    assert ticks("2026-11-10T08:00+01:00") == [1]
    assert [one.stage for one in Notice.objects.filter(kind="strips-due").order_by("stage")] == [3, 10]


def test_all_out_before_the_day_nothing_is_sent_on_it(keeper):
    treatment = keeper.put_in("2026-09-19T17:40+02:00")
    assert ticks("2026-10-24T08:00+02:00") == [1]
    out = {"happened_at": utc("2026-10-29T10:00+01:00").isoformat()}
    assert keeper.api.post(f"treatments/{treatment['id']}/strips-out", **out)["out_on"] == "2026-10-29"
    assert ticks("2026-10-31T08:00+01:00", "2026-11-03T08:00+01:00") == [0, 0]


def test_a_date_put_right_moves_the_due_day_and_the_sequence(keeper):
    treatment = keeper.put_in("2026-09-19T17:40+02:00")
    right = keeper.api.post(f"treatments/{treatment['id']}/in-date", in_on="2026-09-12")
    assert right["due_on"] == "2026-10-24"
    assert right["sequence"] == treatment["sequence"] + 1
    ticks("2026-10-24T08:00+02:00")
    assert [one.key for one in Notice.objects.filter(kind="strips-due")] == [
        f"strips-due:{keeper.apiary.pk}:2026-10-24:0"
    ]


def test_on_the_other_side_of_the_world_the_notice_is_of_the_local_day():
    keeper = Keeper(hives=1, zone="Pacific/Auckland")
    keeper.strips(4)
    treatment = keeper.put_in("2026-08-22T10:00+12:00")
    assert treatment["due_on"] == "2026-10-03"
    due = {one.stage: one.at for one in reminders(dt.date(2026, 10, 3), "Pacific/Auckland")}
    assert due[0] == utc("2026-10-02T19:00+00:00")
    assert ticks("2026-10-02T18:59+00:00", "2026-10-02T19:00+00:00") == [0, 1]
    told = Notice.objects.filter(kind="strips-due", state=Notice.State.BUNDLED)
    assert [(one.stage, one.due_at) for one in told] == [(0, due[0])]
