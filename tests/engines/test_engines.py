"""The engines are what the rooms were built for: settings the ledger relies on, servers that leave no trace."""

import os
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest
from django.db import connection

from deploy import engines

ROOT = Path(__file__).resolve().parent.parent.parent


def ask(question: str) -> object:
    with connection.cursor() as cursor:
        cursor.execute(question)
        return cursor.fetchone()[0]


def test_the_suite_runs_on_the_engine_that_was_asked_for(engine: str):
    assert connection.vendor == engine


@pytest.mark.sqlite
@pytest.mark.django_db(transaction=True)
def test_sqlite_writes_ahead_waits_and_minds_triggers_on_replace():
    assert ask("PRAGMA journal_mode") == "wal"
    assert ask("PRAGMA recursive_triggers") == 1
    assert ask("PRAGMA busy_timeout") == 20_000
    assert ask("PRAGMA foreign_keys") == 1
    assert connection.transaction_mode == "IMMEDIATE"


@pytest.mark.sqlite
def test_sqlite_waits_for_the_disk_outside_the_tests(tmp_path: Path):
    """A phone drops its log on our answer, so what was answered must be on the disk."""
    environ = {name: value for name, value in os.environ.items() if not name.startswith("COOP_")}
    environ |= {"COOP_DATA": str(tmp_path), "COOP_SECRET_KEY": "only-for-this-test-0123456789-abcdefghij"}
    script = (
        "from django.db import connection as c; k = c.cursor(); k.execute('PRAGMA synchronous'); print(k.fetchone())"
    )
    answer = subprocess.run(
        [sys.executable, "manage.py", "shell", "--no-imports", "-c", script],
        env=environ,
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    assert answer.stdout.strip() == "(2,)"


@pytest.mark.postgresql
@pytest.mark.django_db
def test_postgresql_does_not_wait_for_a_lock_for_ever():
    assert ask("SHOW lock_timeout") == "20s"
    assert ask("SHOW transaction_isolation") == "read committed"


@pytest.mark.redis
def test_redis_answers(redis_url: str):
    import redis

    with redis.Redis.from_url(redis_url) as client:
        assert client.ping()


@pytest.mark.redis
def test_an_engine_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("TMPDIR", str(tmp_path))
    monkeypatch.setattr("tempfile.tempdir", None)
    tmp_path.chmod(0o755)
    for parent in tmp_path.parents[:3]:
        parent.chmod(parent.stat().st_mode | 0o011)
    if engines.find_redis() is None:
        pytest.skip("Redis is not installed")
    with engines.redis() as url:
        port = int(url.split(":")[2].split("/")[0])
        assert list(tmp_path.iterdir())
    assert not list(tmp_path.iterdir())
    with socket.socket() as probe:
        assert probe.connect_ex(("127.0.0.1", port)) != 0
    monkeypatch.setattr("tempfile.tempdir", None)


def test_a_server_that_does_not_come_up_says_why(tmp_path: Path):
    began = time.monotonic()
    command = [sys.executable, "-c", "import sys; sys.exit('no room on the disk')"]
    running = engines._running(command, engines.free_port(), tmp_path, None, signal.SIGTERM)
    with pytest.raises(RuntimeError, match="no room on the disk"), running:
        pass
    assert time.monotonic() - began < 5


@pytest.mark.redis
@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="only Linux tells a child that its parent died")
def test_an_engine_stops_when_what_started_it_is_killed():
    if engines.find_redis() is None:
        pytest.skip("Redis is not installed")
    script = (
        "from deploy import engines; import time\nwith engines.redis() as url: print(url, flush=True); time.sleep(60)"
    )
    command = [sys.executable, "-c", script]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) as keeper:
        assert keeper.stdout is not None
        port = int(keeper.stdout.readline().split(":")[2].split("/")[0])
        keeper.kill()
    end = time.monotonic() + 10
    while time.monotonic() < end:
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) != 0:
                return
        time.sleep(0.1)
    raise AssertionError("it went on")
