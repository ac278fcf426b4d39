"""Being told when something is wrong: a letter that was put off into the night, a room that cannot say its line."""

import datetime as dt

import pytest

from coop import letters, notices, registry
from coop.models import Letter, Notice
from coop.notices import NoticeKind
from tests.makers import coop as make

pytestmark = pytest.mark.django_db
EVENING = dt.datetime(2026, 6, 6, 18, 50, tzinfo=dt.UTC)  # 20:50 in Paris


def _write(key: str) -> Letter:
    made = letters.queue(key=key, to="pia@example.org", subject="x", body="y", now=EVENING)
    assert made is not None
    return made


@pytest.mark.parametrize("key", ["daily:1:2026-06-06", "soon:1"])
def test_a_reminder_that_was_put_off_does_not_arrive_at_night(key: str) -> None:
    make.club()
    _write(key)
    assert letters.send_due(EVENING + dt.timedelta(minutes=15)).sent == 0
    assert letters.send_due(EVENING + dt.timedelta(hours=10)).sent == 0
    assert letters.send_due(EVENING + dt.timedelta(hours=10, minutes=15)).sent == 1


@pytest.mark.parametrize("key", ["now:1", "code:abc"])
def test_recalls_and_codes_arrive_at_any_hour(key: str) -> None:
    make.club()
    _write(key)
    assert letters.send_due(EVENING + dt.timedelta(minutes=15)).sent == 1


def _broken() -> NoticeKind:
    return NoticeKind(wanted=lambda now: [], lines=_no_line)


def _no_line(notice: Notice) -> str:
    raise KeyError(notice.key)


def _recall() -> NoticeKind:
    return NoticeKind(wanted=lambda now: [], lines=lambda notice: "Do not use it.", can_unsubscribe=False)


@pytest.fixture(autouse=True)
def _kinds(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(registry.notices, "_functions", {"broken": _broken, "recall": _recall})


def test_a_line_that_cannot_be_written_keeps_no_recall_from_the_next_person() -> None:
    first, second = make.member("Ada"), make.member("Bo")
    for person, kind in ((first, "broken"), (second, "recall")):
        name = f"{kind}:1"
        Notice.objects.create(key=name, person=person, kind=kind, group=name, due_at=EVENING, urgency="now", facts={})
    assert notices.tick(EVENING) == 1
    assert Letter.objects.get().person == second
    assert Notice.objects.get(kind="broken").state == Notice.State.WANTED
