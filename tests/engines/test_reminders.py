"""Reminders from the schedule to a mail server: strips due out and acid under its level, each told exactly once."""

import datetime as dt
import subprocess
import sys
import time
from collections.abc import Callable
from email.message import EmailMessage
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from tests.engines.due import MEMBER
from tests.engines.server import ROOT, environ_for, own_database, running, second_worker, shell
from tests.engines.smtp import Postbox

pytestmark = pytest.mark.slow

COORDINATOR = "ada@example.org"
#: six hours apart, more or less: in one of them it is always between nine in the morning and eight at night
ZONES = ("Etc/UTC", "Asia/Dhaka", "Pacific/Auckland", "America/Costa_Rica")
TICK = "from coop.tasks import tick; tick(); tick()"
RING = "from coop.site.celery import TICK, app; app.send_task(TICK); app.send_task(TICK)"


def by_day() -> str:
    """A zone where letters go out now and for some minutes to come: it is well within eight to nine at night."""
    now = dt.datetime.now(dt.UTC)
    return next(zone for zone in ZONES if 9 <= now.astimezone(ZoneInfo(zone)).hour < 20)


def club() -> list[str]:
    return [
        *("--name", "Testing Club", "--zone", by_day()),
        *("--coordinator-name", "Ada", "--coordinator-email", COORDINATOR),
    ]


def until(question: Callable[[], object], seconds: float) -> None:
    end = time.monotonic() + seconds
    while not question():
        assert time.monotonic() < end, "it did not happen in time"
        time.sleep(0.2)


def text_of(letter: EmailMessage) -> str:
    part = letter.get_body(("plain",))
    assert part is not None
    return f"{letter['Subject']}\n{part.get_content()}"


def tick_twice_at_once(data: Path, **elsewhere: str) -> None:
    """Two more processes tick side by side, twice each, as a schedule that runs twice would."""
    command = [sys.executable, "manage.py", "shell", "--no-imports", "-c", TICK]
    environ = environ_for(COOP_DATA=str(data), **elsewhere)
    rivals = [subprocess.Popen(command, cwd=ROOT, env=environ) for _rival in range(2)]
    assert [rival.wait(60) for rival in rivals] == [0, 0]


def told_once(data: Path, postbox: Postbox, **elsewhere: str) -> None:
    """The schedule finds by itself what is due, of two workers one sends it, and no further tick sends it again."""
    with running(data, *club(), COOP_SMTP_URL=postbox.url, **elsewhere) as server:
        known = {"COOP_SMTP_URL": postbox.url, "COOP_PORT": str(server.port), **elsewhere}
        until(lambda: server.health()[0] == 200, 30)
        assert not postbox.letters
        with second_worker(data, **known):
            shell(data, "from tests.engines.due import tell; tell()", **known)
            until(lambda: postbox.to(COORDINATOR) and postbox.to(MEMBER), 100)
            shell(data, RING, **known)
            tick_twice_at_once(data, **known)
            time.sleep(3)
        assert not any("Traceback" in line for line in server.words), server.words
    (due,) = postbox.to(MEMBER)
    (low,) = postbox.to(COORDINATOR)
    assert len(postbox.letters) == 2
    assert "Bank: take 6 strips out of 2 hives today" in text_of(due).replace("\u202f", " ")
    assert "one-click" in due["List-Unsubscribe-Post"].lower()
    assert "Low: Oxalic acid dihydrate" in text_of(low)
    assert due["Message-ID"] != low["Message-ID"]


@pytest.mark.sqlite
def test_embedded(tmp_path: Path, postbox: Postbox):
    told_once(tmp_path / "data", postbox)


@pytest.mark.redis
@pytest.mark.postgresql
@pytest.mark.django_db
def test_with_postgresql_and_redis(tmp_path: Path, postbox: Postbox, redis_url: str):
    with own_database() as database:
        told_once(tmp_path / "data", postbox, COOP_DATABASE_URL=database, COOP_REDIS_URL=redis_url)
