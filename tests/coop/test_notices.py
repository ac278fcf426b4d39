"""Being told: wanted once, bundled at eight, quiet at night, by phone where there is no e-mail."""

import datetime as dt
import threading
from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.db import close_old_connections, connection
from django.test import Client
from django.urls import reverse

from coop import letters, notices, registry, reminders
from coop.command import new_key
from coop.models import Letter, Notice, Person
from coop.notices import NoticeKind, Wanted
from tests.makers import coop as make

pytestmark = pytest.mark.django_db
UTC = dt.UTC
EIGHT = dt.datetime(2026, 6, 6, 6, 0, tzinfo=UTC)  # 08:00 in Paris

_wanted: list[Wanted] = []
_untrue: set[str] = set()


def _kind() -> NoticeKind:
    return NoticeKind(
        wanted=lambda now: list(_wanted),
        lines=lambda notice: f"About {notice.key}.",
        still_true=lambda notice, now: notice.key not in _untrue,
        subject=lambda notice: f"Only {notice.key}",
    )


def _recall() -> NoticeKind:
    return NoticeKind(
        wanted=lambda now: [],
        lines=lambda notice: f"Recall {notice.key}.",
        can_unsubscribe=False,
    )


@pytest.fixture(autouse=True)
def _kinds(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setattr(registry.notices, "_functions", {"test": _kind, "test-recall": _recall})
    yield
    _wanted.clear()
    _untrue.clear()


def want(person: Person, key: str, **facts: Any) -> None:
    _wanted.append(Wanted(**{"person": person, "key": key, "due_at": EIGHT - dt.timedelta(hours=9), **facts}))


def states() -> dict[str, str]:
    return dict(Notice.objects.values_list("key", "state"))


def at(hour: int, minute: int = 0, day: int = 6) -> dt.datetime:
    """A moment of June 2026 by the clock in Paris."""
    return dt.datetime(2026, 6, day, hour - 2, minute, tzinfo=UTC)


def test_what_a_person_should_hear_comes_in_one_letter_at_eight() -> None:
    pia = make.member("Pia")
    want(pia, "a")
    want(pia, "b")
    assert notices.tick(at(7, 59)) == 0
    assert notices.tick(at(8)) == 1
    assert notices.tick(at(8, 1)) == 0
    letter = Letter.objects.get()
    assert "About a." in letter.body
    assert "About b." in letter.body
    assert letter.subject == "Willow Bank Beekeepers: 2 things to know"
    assert "no-reminders/" in letter.body
    assert letter.expires_at == at(8, day=9)


def test_a_letter_about_one_thing_says_so() -> None:
    want(make.member("Pia"), "a")
    notices.tick(at(8))
    assert Letter.objects.get().subject == "Only a"


def test_a_second_thing_of_the_same_day_waits_for_tomorrow() -> None:
    pia = make.member("Pia")
    want(pia, "a")
    notices.tick(at(8))
    want(pia, "b")
    assert notices.tick(at(12)) == 0
    assert notices.tick(at(8, day=7)) == 1
    assert Letter.objects.count() == 2


@pytest.mark.parametrize(
    ("urgency", "hour", "goes"),
    [
        ("daily", 7, 0), ("daily", 8, 1), ("daily", 20, 1), ("daily", 21, 0),
        ("soon", 6, 0), ("soon", 7, 1), ("soon", 20, 1), ("soon", 21, 0), ("soon", 23, 0),
        ("now", 3, 1), ("now", 22, 1),
    ],
)  # fmt: skip
def test_quiet_hours_hold_back_all_but_what_is_now(urgency: str, hour: int, goes: int) -> None:
    want(make.member("Pia"), "a", urgency=urgency, due_at=at(2))
    assert notices.tick(at(hour)) == goes


@pytest.mark.parametrize(
    ("day", "eight_utc"),
    [
        (dt.date(2026, 3, 28), 7), (dt.date(2026, 3, 29), 6),
        (dt.date(2026, 10, 24), 6), (dt.date(2026, 10, 25), 7),
    ],
)  # fmt: skip
def test_eight_o_clock_is_the_club_s_on_both_days_the_clock_changes(day: dt.date, eight_utc: int) -> None:
    eight = dt.datetime.combine(day, dt.time(eight_utc), tzinfo=UTC)
    want(make.member("Pia"), "a", due_at=eight - dt.timedelta(hours=12))
    with time_machine.travel(eight, tick=False):
        assert notices.tick(eight - dt.timedelta(minutes=1)) == 0
        assert notices.tick(eight) == 1
        assert Letter.objects.get().key.endswith(day.isoformat())


def test_only_the_latest_stage_of_a_group_is_told() -> None:
    pia = make.member("Pia")
    for stage in (0, 1, 2):
        want(pia, f"due:{stage}", group="due", stage=stage)
    notices.tick(at(8))
    assert states() == {"due:0": "dropped", "due:1": "dropped", "due:2": "bundled"}
    assert "About due:2." in Letter.objects.get().body


def test_a_stage_that_comes_after_a_later_one_was_told_is_dropped() -> None:
    pia = make.member("Pia")
    want(pia, "due:2", group="due", stage=2)
    notices.tick(at(8))
    want(pia, "due:1", group="due", stage=1)
    notices.tick(at(8, day=7))
    assert states() == {"due:1": "dropped", "due:2": "bundled"}


def test_what_is_no_longer_true_is_dropped() -> None:
    pia = make.member("Pia")
    want(pia, "a")
    want(pia, "b")
    notices.tick(at(7))
    _untrue.add("a")
    notices.tick(at(8))
    assert states() == {"a": "dropped", "b": "bundled"}


def test_three_days_down_lose_nothing_and_tell_only_the_latest() -> None:
    pia, otto = make.member("Pia"), make.member("Otto")
    for person in (pia, otto):
        for stage in (0, 1, 2):
            want(person, f"hill:{stage}:{person.pk}", group="hill", stage=stage, due_at=at(8, day=3 + stage))
        want(person, f"brook:{person.pk}", group="brook", due_at=at(9, day=4))
    assert notices.tick(at(9, day=6)) == 2
    for letter in Letter.objects.all():
        assert "hill:2" in letter.body
        assert "hill:1" not in letter.body
        assert "brook" in letter.body


def test_a_tick_writes_so_many_letters_and_the_next_goes_on(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(notices, "PEOPLE_A_TICK", 2)
    for _one in range(3):
        want(make.member(), f"k{_one}")
    assert [notices.tick(at(8)), notices.tick(at(8, 1)), notices.tick(at(8, 2))] == [2, 1, 0]


def test_who_wants_no_reminders_gets_recalls_only() -> None:
    pia = make.member("Pia", wants_reminders=False)
    want(pia, "a")
    Notice.objects.create(key="r", kind="test-recall", group="r", person=pia, urgency="now", due_at=at(3))
    assert notices.tick(at(9)) == 1
    letter = Letter.objects.get()
    assert (letter.kind, states()) == ("notice", {"a": "dropped", "r": "bundled"})
    assert "no-reminders/" not in letter.body


def test_what_cannot_wait_goes_apart_from_the_daily_letter() -> None:
    pia = make.member("Pia")
    want(pia, "a")
    want(pia, "alarm", urgency="now")
    want(pia, "look", urgency="soon")
    assert notices.tick(at(8)) == 2
    bodies = sorted(Letter.objects.values_list("body", flat=True), key=len)
    assert "alarm" in bodies[0]
    assert "About a." in bodies[1]
    assert "About look." in bodies[1]


def test_somebody_without_e_mail_comes_to_the_coordinator_s_list() -> None:
    pia, maren = make.member("Pia Lindqvist", email=None, phone="+33 1 23"), make.coordinator("Maren")
    want(pia, "a")
    notices.tick(at(8))
    assert states() == {"a": "phone"}
    (task,) = [one for one in reminders.for_coordinators(maren, at(8)) if "Pia" in one.title]
    assert task.text == "+33 1 23"
    client = make.sign_in(Client(), maren)
    page = client.get(task.url).content.decode()
    assert "About a." in page
    notice = Notice.objects.get()
    client.post(task.url, {"key": new_key(), "notices": str(notice.pk), "reached": "no"})
    notice.refresh_from_db()
    assert (notice.state, notice.calls) == ("phone", 1)
    client.post(task.url, {"key": new_key(), "notices": str(notice.pk), "reached": "yes"})
    assert states() == {"a": "told"}
    assert not Letter.objects.exists()
    assert list(reminders.for_coordinators(pia, at(8))) == []


def test_a_call_that_is_no_longer_needed_leaves_the_list() -> None:
    want(make.member("Pia", email=None), "a")
    notices.tick(at(8))
    _untrue.add("a")
    notices.tick(at(9))
    assert states() == {"a": "dropped"}


class Crash(BaseException):
    pass


@pytest.mark.parametrize("step", ["after it is wanted", "before the letter", "after the letter"])
def test_a_crash_at_any_step_leaves_it_wanted_or_in_one_queued_letter(
    step: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    pia = make.member("Pia")
    want(pia, "a")

    def die(*args: Any, **kwargs: Any) -> None:
        raise Crash

    with monkeypatch.context() as patch:
        if step == "after it is wanted":
            patch.setattr(notices, "bundle", die)
        elif step == "before the letter":
            patch.setattr(letters, "queue", die)
        else:
            real = letters.queue

            def then_die(**facts: Any) -> None:
                real(**facts)
                raise Crash

            patch.setattr(letters, "queue", then_die)
        with pytest.raises(Crash):
            notices.tick(at(8))
    assert states() == {"a": "wanted"}
    assert not Letter.objects.exists()
    assert notices.tick(at(8, 1)) == 1
    assert states() == {"a": "bundled"}


@pytest.mark.django_db(transaction=True)
def test_two_ticks_at_once_write_one_letter() -> None:
    pia = make.member("Pia")
    for number in range(5):
        want(pia, f"k{number}")
    start, written, troubles = threading.Barrier(2), [], []

    def run() -> None:
        try:
            start.wait()
            written.append(notices.tick(at(8)))
        except Exception as trouble:
            troubles.append(trouble)
        finally:
            close_old_connections()
            connection.close()

    threads = [threading.Thread(target=run) for _one in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert troubles == []
    assert Letter.objects.count() == 1
    assert Notice.objects.count() == 5
    assert set(states().values()) == {"bundled"}


def test_a_tick_asks_as_often_for_many_known_notices_as_for_few(django_assert_max_num_queries: Any) -> None:
    pia = make.member("Pia")
    for number in range(20):
        want(pia, f"k{number}")
    notices.tick(at(8))
    with django_assert_max_num_queries(6):
        notices.tick(at(9))


def test_a_room_that_fails_does_not_silence_the_others(monkeypatch: pytest.MonkeyPatch, caplog: Any) -> None:
    def broken() -> NoticeKind:
        return NoticeKind(wanted=lambda now: 1 / 0, lines=lambda notice: "")  # type: ignore[arg-type,return-value]

    monkeypatch.setattr(registry.notices, "_functions", {"broken": broken, "test": _kind})
    want(make.member("Pia"), "a")
    assert notices.tick(at(8)) == 1
    assert "broken cannot be asked for" in caplog.text


def test_before_there_is_a_club_a_tick_does_nothing() -> None:
    assert notices.tick(at(8)) == 0


def test_the_call_page_of_nobody_to_call_says_so() -> None:
    pia, maren = make.member("Pia", email=None), make.coordinator("Maren")
    answer = make.sign_in(Client(), maren).post(
        reverse("person_call", args=[pia.pk]), {"key": new_key(), "notices": "7", "reached": "yes"}
    )
    assert answer.status_code == 422
    assert "nothing left to tell" in answer.content.decode()
