"""Letters: leased, sent, tried again, failed, expired; what a crash at each step leaves."""

import datetime as dt
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from django.db import close_old_connections, connection, transaction
from django.test import Client
from django.utils import timezone

from coop import letters
from coop.commands import telling
from coop.models import Letter, Notice
from tests.engines.smtp import Postbox
from tests.makers import coop as make

pytestmark = pytest.mark.django_db
NOON = dt.datetime(2026, 6, 6, 10, 0, tzinfo=dt.UTC)


def write(to: str = "pia@example.org", **facts: Any) -> Letter:
    known = {
        "key": f"k{Letter.objects.count()}",
        "to": to,
        "subject": "Strips due",
        "body": "Take them out.",
        "now": NOON,
    }
    letter = letters.queue(**{**known, **facts})
    assert letter is not None
    return letter


def test_a_letter_goes_once_and_keeps_its_message_id(mailing: Postbox) -> None:
    letter = write()
    assert letters.send_due(NOON).sent == 1
    assert letters.send_due(NOON).sent == 0
    (arrived,) = mailing.letters
    assert arrived["Message-ID"] == letter.message_id
    assert arrived["Auto-Submitted"] == "auto-generated"
    letter.refresh_from_db()
    assert (letter.state, letter.attempts, letter.leased_until) == ("sent", 1, None)


def test_a_key_is_written_down_once() -> None:
    assert write(key="daily:1")
    assert letters.queue(key="daily:1", to="x@example.org", subject="s", body="b", now=NOON) is None
    assert Letter.objects.count() == 1


class Crash(BaseException):
    """The process dies here: nothing below it runs, no handler catches it."""


def _die(*args: Any, **kwargs: Any) -> None:
    raise Crash


def test_a_crash_after_the_lease_leaves_the_letter_to_another_sender(
    mailing: Postbox, monkeypatch: pytest.MonkeyPatch
) -> None:
    letter = write()
    with monkeypatch.context() as patch:
        patch.setattr(letters, "_hand_over", _die)
        with pytest.raises(Crash):
            letters.send_due(NOON)
    letter.refresh_from_db()
    assert letter.state == "leased"
    assert letters.send_due(NOON + dt.timedelta(minutes=4)).sent == 0
    assert mailing.letters == []
    assert letters.send_due(NOON + dt.timedelta(minutes=5)).sent == 1
    assert len(mailing.letters) == 1


def test_a_crash_after_the_mail_server_s_yes_sends_twice_under_one_message_id(
    mailing: Postbox, monkeypatch: pytest.MonkeyPatch
) -> None:
    write()
    with monkeypatch.context() as patch:
        patch.setattr(letters, "_sent", _die)
        with pytest.raises(Crash):
            letters.send_due(NOON)
    assert letters.send_due(NOON + dt.timedelta(minutes=5)).sent == 1
    first, second = mailing.letters
    assert first["Message-ID"] == second["Message-ID"]


def test_a_crash_before_the_lease_leaves_it_queued(mailing: Postbox, monkeypatch: pytest.MonkeyPatch) -> None:
    letter = write()
    with monkeypatch.context() as patch:
        patch.setattr(letters, "lease", _die)
        with pytest.raises(Crash):
            letters.send_due(NOON)
    letter.refresh_from_db()
    assert letter.state == "queued"
    assert letters.send_due(NOON).sent == 1


def test_a_sender_whose_lease_ran_out_writes_nothing_over_the_other_s_word(
    mailing: Postbox, monkeypatch: pytest.MonkeyPatch
) -> None:
    letter = write()
    slow = letters.lease(letter.pk, NOON)
    quick = letters.lease(letter.pk, NOON + dt.timedelta(minutes=5))
    assert slow is not None
    assert quick is not None
    letters._later(slow, "too slow")
    letter.refresh_from_db()
    assert letter.leased_until == quick.leased_until
    assert letters.deliver(quick) == "sent"


def test_of_two_senders_one_gets_the_letter() -> None:
    letter = write()
    assert letters.lease(letter.pk, NOON) is not None
    assert letters.lease(letter.pk, NOON) is None


@pytest.mark.django_db(transaction=True)
def test_two_senders_at_once_send_each_letter_once(mailing: Postbox) -> None:
    for number in range(6):
        write(f"m{number}@example.org")
    troubles = _at_once(lambda: letters.send_due(NOON))
    assert troubles == []
    assert sorted(str(one["X-To"]) for one in mailing.letters) == [f"m{number}@example.org" for number in range(6)]


def _at_once(work: Callable[[], Any]) -> list[BaseException]:
    start, troubles = threading.Barrier(2), []

    def run() -> None:
        try:
            start.wait()
            work()
        except BaseException as trouble:
            troubles.append(trouble)
        finally:
            close_old_connections()
            connection.close()

    threads = [threading.Thread(target=run) for _one in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return troubles


@pytest.mark.django_db(transaction=True)
def test_the_mail_server_is_spoken_to_outside_any_transaction(
    mailing: Postbox, monkeypatch: pytest.MonkeyPatch
) -> None:
    inside: list[bool] = []
    hand_over = letters._hand_over

    def watch(letter: Letter) -> None:
        inside.append(connection.in_atomic_block)
        hand_over(letter)

    monkeypatch.setattr(letters, "_hand_over", watch)
    write()
    letters.send_due(NOON)
    assert inside == [False]


def test_later_is_tried_again_with_growing_distance(mailing: Postbox) -> None:
    letter = write()
    mailing.refusal = "451 come back later"
    now, waits = NOON, []
    for _try in range(6):
        assert letters.send_due(now).retried == 1
        letter.refresh_from_db()
        assert "451" in letter.last_error
        waits.append(int((letter.send_after - now).total_seconds() // 60))
        assert letters.send_due(letter.send_after - dt.timedelta(seconds=1)).retried == 0
        now = letter.send_after
    assert waits == [1, 5, 15, 60, 240, 240]
    mailing.refusal = ""
    assert letters.send_due(now).sent == 1
    assert len(mailing.letters) == 1


def test_a_final_no_is_failed_and_the_notice_is_told_by_phone(mailing: Postbox) -> None:
    pia = make.member("Pia")
    letter = write(person=pia)
    notice = Notice.objects.create(
        key="k", person=pia, kind="x", group="g", due_at=NOON, state="bundled", letter=letter
    )
    mailing.refusal = "550 no such mailbox"
    assert letters.send_due(NOON).failed == 1
    letter.refresh_from_db()
    notice.refresh_from_db()
    assert (letter.state, notice.state) == ("failed", "phone")
    assert "550 no such mailbox" in letter.last_error


def test_a_mail_server_that_is_away_is_asked_once_and_not_for_every_letter(settings: Any) -> None:
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 1
    write()
    write("otto@example.org")
    assert letters.send_due(NOON).retried == 1
    states = list(Letter.objects.order_by("id").values_list("attempts", "state"))
    assert states == [(1, "queued"), (0, "queued")]


def test_what_comes_too_late_is_expired_and_never_sent(mailing: Postbox) -> None:
    code = write(is_secret=True, expires_at=NOON + dt.timedelta(minutes=10))
    write(expires_at=NOON + dt.timedelta(days=3))
    tally = letters.send_due(NOON + dt.timedelta(minutes=10))
    assert (tally.expired, tally.sent) == (1, 1)
    code.refresh_from_db()
    assert (code.state, code.body) == ("expired", "")


def test_secrets_overtake_and_a_run_has_a_limit(mailing: Postbox) -> None:
    for number in range(4):
        write(f"m{number}@example.org", is_secret=number == 3)
    letters.send_due(NOON, limit=2)
    assert [str(one["X-To"]) for one in mailing.letters] == ["m3@example.org", "m0@example.org"]


def test_one_click_ends_reminders_without_signing_in(mailing: Postbox) -> None:
    pia = make.member("Pia")
    write(str(pia.email), person=pia)
    write(str(pia.email), person=pia, kind="notice")
    letters.send_due(NOON)
    reminder, recall = mailing.letters
    assert "List-Unsubscribe" not in recall
    assert reminder["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    path = "/" + str(reminder["List-Unsubscribe"]).strip("<>").split("/", 3)[3]
    client = Client(enforce_csrf_checks=True)
    assert client.get(path).status_code == 200
    pia.refresh_from_db()
    assert pia.wants_reminders, "opening the address changes nothing"
    assert client.post(path, {"List-Unsubscribe": "One-Click"}).status_code == 200
    pia.refresh_from_db()
    assert not pia.wants_reminders
    pia.wants_reminders = True
    pia.save()
    client.post(path)
    pia.refresh_from_db()
    assert not pia.wants_reminders, "the same link works again after they were wanted again"


def test_a_forged_address_stops_nobody_s_reminders() -> None:
    pia = make.member("Pia")
    link = letters.unsubscribe_link(pia)
    assert Client().post("/" + link.split("/", 3)[3] + "x").status_code == 404
    pia.refresh_from_db()
    assert pia.wants_reminders


def test_letters_become_files_where_there_is_no_mail_server(settings: Any, tmp_path: Path) -> None:
    settings.EMAIL_BACKEND, settings.LETTER_FOLDER = letters.FOLDER_BACKEND, tmp_path / "letters"
    letter = write()
    letters.send_due(NOON)
    (file,) = (tmp_path / "letters").iterdir()
    assert file.suffix == ".eml"
    assert file.stat().st_mode & 0o077 == 0
    assert letter.message_id in file.read_text()


def test_a_coordinator_sends_again_under_a_new_message_id(mailing: Postbox) -> None:
    pia = make.member("Pia")
    letter = write(str(pia.email), person=pia)
    letters.send_due(NOON)
    make.do(telling.send_again, letter=letter)
    letters.send_due(timezone.now())
    first, second = mailing.letters
    assert first["Message-ID"] != second["Message-ID"]


@pytest.mark.parametrize(
    ("facts", "words"), [({"is_secret": True}, "not sent twice"), ({}, "still on its way"), ({"to": ""}, "no e-mail")]
)
def test_what_cannot_be_sent_again_says_why(facts: dict[str, Any], words: str) -> None:
    pia = make.member("Pia", email=None if facts.get("to") == "" else "pia@example.org")
    letter = write(person=pia, is_secret=facts.get("is_secret", False))
    if words != "still on its way":
        Letter.objects.filter(pk=letter.pk).update(state="expired")
        letter.refresh_from_db()
    with pytest.raises(telling.Refused, match=words):
        make.do(telling.send_again, letter=letter)


def test_a_bell_that_cannot_be_rung_costs_nothing(settings: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*args: Any, **kwargs: Any) -> None:
        raise OSError("no broker")

    monkeypatch.setattr(letters.current_app, "send_task", broken)
    with transaction.atomic():
        letters.ring()
    letters._ring()
