"""The sender's pulse, the nightly proof, and /health."""

import datetime as dt
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.utils import timezone

from coop import fresh, letters, pulse, registry, reminders, tasks, triggers
from coop.models import FreshCode, Letter, Notice, Pulse
from coop.pages import health
from tests.engines.smtp import Postbox
from tests.makers import coop as make

pytestmark = pytest.mark.django_db
NOW = dt.datetime(2026, 6, 6, 10, 0, tzinfo=dt.UTC)


@pytest.fixture(autouse=True)
def _quiet_rooms(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(registry.notices, "_functions", {})
    monkeypatch.setattr(registry.proofs, "_functions", {})


def test_of_two_schedulers_one_claims_the_beat() -> None:
    with pulse.beat("sender", NOW) as mine, pulse.beat("sender", NOW) as other:
        assert (mine.is_mine, other.is_mine) == (True, False)
    with pulse.beat("sender", NOW) as again:
        assert again.is_mine


def test_a_claim_whose_worker_died_is_free_after_five_minutes() -> None:
    Pulse.objects.create(name="sender", claimed_at=NOW)
    with pulse.beat("sender", NOW + dt.timedelta(minutes=4)) as early:
        assert not early.is_mine
    with pulse.beat("sender", NOW + dt.timedelta(minutes=6)) as late:
        assert late.is_mine


def test_a_beat_that_fails_is_noted_and_free_again() -> None:
    with pytest.raises(ValueError, match="broken"), pulse.beat("sender", NOW):
        raise ValueError("broken")
    row = Pulse.objects.get()
    assert (row.claimed_at, row.finished_at, row.note) == (None, None, "failed: broken")


def test_the_night_s_work_is_done_once_a_local_day_and_made_up_for() -> None:
    make.club()
    moments = [(0, 59), (1, 0), (1, 1), (13, 0)]  # three in the morning in Paris is 01:00 UTC in summer
    done = []
    for hour, minute in moments:
        now = dt.datetime(2026, 6, 6, hour, minute, tzinfo=dt.UTC)
        with time_machine.travel(now, tick=False), pulse.nightly("prove", now) as claim:
            done.append(claim.is_mine)
    assert done == [False, True, False, False]
    late = dt.datetime(2026, 6, 9, 15, 0, tzinfo=dt.UTC)
    with pulse.nightly("prove", late) as claim:
        assert claim.is_mine


def test_the_tick_sends_and_notes_what_it_did(mailing: Postbox) -> None:
    make.club()
    letters.queue(key="k", to="pia@example.org", subject="s", body="b", now=timezone.now())
    tasks.tick()
    tasks.tick()
    assert len(mailing.letters) == 1
    assert Letter.objects.get().state == "sent"
    assert Pulse.objects.get(name="prove").note == ""
    assert "0 sent" in Pulse.objects.get(name="sender").note


def test_at_night_what_is_over_is_tidied_away_and_notices_stay() -> None:
    pia = make.member("Pia")
    now = timezone.now()
    for days in (10, 200):
        letter = letters.queue(key=f"k{days}", to="a@example.org", subject="s", body="b", now=now)
        assert letter is not None
        made = now - dt.timedelta(days=days)
        Letter.objects.filter(pk=letter.pk).update(state="sent", made_at=made)
        Notice.objects.create(
            key=f"n{days}", kind="x", group="x", person=pia, due_at=made, state="bundled", letter=letter
        )
    fresh.make(pia, now - dt.timedelta(hours=1))
    tasks.tick()
    assert list(Letter.objects.values_list("key", flat=True)) == ["k10"]
    assert Notice.objects.count() == 2
    assert not FreshCode.objects.exists()


def test_books_that_do_not_prove_come_to_the_coordinator(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(registry.proofs, "_functions", {"shelf": lambda: ["12 g too many"]})
    maren, pia = make.coordinator("Maren"), make.member("Pia")
    tasks.tick()
    (task,) = [one for one in reminders.for_coordinators(maren, timezone.now()) if "prove" in one.title]
    assert task.text == "one difference: shelf: 12 g too many"
    assert list(reminders.for_coordinators(pia, timezone.now())) == []


def test_health_is_200_while_everything_answers() -> None:
    make.club()
    tasks.tick()
    answer = Client().get("/health")
    assert (answer.status_code, answer.json()["status"]) == (200, "ok")
    assert set(answer.json()["checks"]) == {"database", "migrations", "guards", "sender", "bell"}
    assert "no-cache" in answer["Cache-Control"]


def test_health_fails_when_the_sender_has_not_run_for_ten_minutes() -> None:
    make.club()
    maren = make.coordinator("Maren")
    tasks.tick()
    with time_machine.travel(timezone.now() + dt.timedelta(minutes=9)):
        assert Client().get("/health").status_code == 200
    with time_machine.travel(timezone.now() + dt.timedelta(minutes=11)):
        answer = Client().get("/health")
        titles = [task.title for task in reminders.for_coordinators(maren, timezone.now())]
    assert answer.status_code == 503
    assert answer.json()["checks"]["sender"].startswith("last ran 20")
    assert "No letter is sent" in titles


def test_health_names_lost_guards(monkeypatch: pytest.MonkeyPatch) -> None:
    make.club()
    tasks.tick()
    monkeypatch.setattr(triggers, "missing", lambda: ["coop_deed_no_delete"])
    answer = Client().get("/health")
    assert answer.status_code == 503
    assert answer.json()["checks"]["guards"] == "1 missing"


@pytest.mark.parametrize("name", ["database", "migrations", "bell"])
def test_health_says_what_does_not_answer(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    make.club()
    tasks.tick()

    def broken() -> str:
        raise OSError("secret words of the driver")

    monkeypatch.setitem(health.CHECKS, name, broken)
    answer = Client().get("/health")
    assert answer.status_code == 503
    assert answer.json()["checks"][name] == "does not answer (OSError)"
    assert b"secret words" not in answer.content


def test_the_guards_are_really_looked_for() -> None:
    make.club()
    tasks.tick()
    triggers.lift()
    try:
        assert Client().get("/health").json()["checks"]["guards"].endswith(" missing")
    finally:
        triggers.lay()
    assert Client().get("/health").json()["checks"]["guards"] == "ok"


def test_a_server_just_set_up_is_given_ten_minutes(settings: Any) -> None:
    make.club()
    now = timezone.now()
    assert pulse.is_sender_alive(now)
    assert not pulse.is_sender_alive(now + dt.timedelta(minutes=11))
