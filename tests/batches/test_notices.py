"""What the bench tells: looks and lifts that are due, and who must act today."""

import datetime as dt

import pytest

from batches.commands.soaking import look
from batches.notices import look_due, soak_due, today
from coop import notices
from coop.models import Letter, Notice
from coop.today import Urgency
from tests.makers import batches as make
from tests.makers.coop import coordinator, member, volunteer

pytestmark = pytest.mark.django_db


@pytest.fixture
def room():
    return make.room()


def after(room, hours):
    return room.now + dt.timedelta(hours=hours)


def test_a_look_is_wanted_after_twelve_hours_and_a_lift_after_the_recipes(room):
    make.poured(room, make.started(room))
    wanted = [(hours, len(list(look_due().wanted(after(room, hours))))) for hours in (11.9, 12, 30)]
    assert wanted == [(11.9, 0), (12, 2), (30, 2)]
    wanted = [(hours, len(list(soak_due().wanted(after(room, hours))))) for hours in (47.9, 48, 90)]
    assert wanted == [(47.9, 0), (48, 2), (90, 2)]


def test_it_is_told_once_to_those_who_were_there_outside_the_quiet_hours(room):
    room.now = dt.datetime(2026, 3, 14, 8, 0, tzinfo=dt.UTC)
    soak = make.poured(room, make.started(room))
    room.do(look, after=12 * 60, soak=soak)
    assert soak.poured_at is not None
    due = soak.poured_at + dt.timedelta(hours=48, minutes=1)
    notices.tick(due)
    notices.tick(due + dt.timedelta(minutes=1))
    assert set(Letter.objects.values_list("person__name", flat=True)) == {room.leader.name, room.mate.name}
    assert Letter.objects.count() == 2
    assert "Lift" in Letter.objects.first().subject


def test_a_look_that_was_made_is_not_told(room):
    soak = make.poured(room, make.started(room))
    wanted = list(look_due().wanted(after(room, 13)))
    room.do(look, after=13 * 60, soak=soak)
    assert list(look_due().wanted(after(room, 1))) == []
    notice = Notice(facts=wanted[0].facts, kind="look-due")
    assert not look_due().still_true(notice, room.now)


def test_a_soak_that_was_lifted_is_not_told(room):
    soak = make.poured(room, make.started(room))
    wanted = list(soak_due().wanted(after(room, 49)))
    notice = Notice(facts=wanted[0].facts, kind="soak-due")
    assert soak_due().still_true(notice, room.now)
    make.lifted(room, soak)
    assert not soak_due().still_true(notice, room.now)


def titles(person, now):
    return [(task.urgency, task.title) for task in sorted(today(person, now), key=lambda task: task.sort_key)]


def test_a_batch_that_waits_for_its_release_stands_on_the_releasers_page(room):
    soak = make.closed(room)
    mine = titles(room.releaser, room.now)
    assert mine == [(Urgency.NOW, f"Decide on 60 strips of {soak.item.spaced_code}")]
    assert titles(coordinator("Head"), room.now)[0][0] is Urgency.INFO
    assert titles(member(), room.now) == []


def test_a_tub_moves_up_as_it_becomes_due(room):
    make.poured(room, make.started(room))
    other = volunteer()
    urgencies = [titles(other, after(room, hours))[0][0] for hours in (1, 13, 49)]
    assert urgencies == [Urgency.NOW, Urgency.NOW, Urgency.OVERDUE]
    assert [title for _urgency, title in titles(other, after(room, 1))][-1].endswith("is in the tub")
