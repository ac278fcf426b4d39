"""The start command, for real: what it refuses, what it makes, what it keeps running, what it leaves behind."""

import os
import pty
import shutil
import signal
import socket
import sqlite3
import stat
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path

import psutil
import pytest

from tests.engines.server import CLUB, ROOT, Server, environ_for, running, start, tree

pytestmark = [pytest.mark.slow, pytest.mark.sqlite]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with a club, as the first start leaves it."""
    folder = tmp_path_factory.mktemp("start") / "data"
    answer = start("--data", str(folder), "--prepare", *CLUB)
    assert answer.returncode == 0, answer.stderr
    assert "/" in answer.stdout
    assert "within ten minutes" in answer.stdout
    return folder


@pytest.fixture
def data(made: Path, tmp_path: Path) -> Path:
    """A copy of it, to spoil."""
    return Path(shutil.copytree(made, tmp_path / "data"))


@pytest.fixture(scope="module")
def server(made: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """A second start on that folder; what stands here may be asked and hurt, and must go on."""
    with running(Path(shutil.copytree(made, tmp_path_factory.mktemp("server") / "data"))) as server:
        yield server


def wait_until_well(server: Server) -> None:
    """Another test may just have killed a part of it."""
    end = time.monotonic() + 60
    while server.health()[0] != 200:
        assert time.monotonic() < end, server.health()
        time.sleep(0.2)


def test_it_refuses_malformed_settings_before_it_makes_anything(tmp_path: Path):
    answer = start("--data", str(tmp_path / "data"), "--port", "eighty", COOP_ADDRESS="strips.example.org")
    assert answer.returncode == 2
    assert "COOP_PORT: “eighty” is no port number. Write a number from 1 to 65535" in answer.stderr
    assert "COOP_ADDRESS: " in answer.stderr
    assert "Traceback" not in answer.stderr
    assert not (tmp_path / "data").exists()


def test_it_says_which_flags_it_needs_where_it_cannot_ask(tmp_path: Path):
    answer = start("--data", str(tmp_path), "--prepare", "--name", "Club")
    assert answer.returncode != 0
    assert "--zone, --coordinator-name, --coordinator-email" in answer.stderr


def test_it_refuses_an_unknown_zone_with_a_hint(tmp_path: Path):
    flags = [word if word != "Europe/Paris" else "Paris" for word in CLUB]
    answer = start("--data", str(tmp_path), "--prepare", *flags)
    assert answer.returncode != 0
    assert "Write it like Europe/Paris" in answer.stderr


def test_it_asks_on_a_terminal_until_the_answers_can_be_used(tmp_path: Path):
    ours, theirs = pty.openpty()
    command = [str(ROOT / "deploy" / "start"), "--data", str(tmp_path / "data"), "--prepare"]
    try:
        for line in ("Asking Club", "Paris", "Europe/Paris", "Ada", "ada at home", "ada@example.org"):
            os.write(ours, f"{line}\n".encode())
        answer = subprocess.run(
            command, stdin=theirs, env=environ_for(), capture_output=True, text=True, timeout=120, check=False
        )
    finally:
        os.close(ours)
        os.close(theirs)
    assert answer.returncode == 0, answer.stderr
    assert "“Paris” is not a time zone. Write it like Europe/Paris." in answer.stderr
    assert "“ada at home” is not a mail address." in answer.stderr
    assert "Ada can sign in once" in answer.stdout


def test_it_makes_a_secret_that_only_its_own_account_can_read(made: Path):
    assert stat.S_IMODE((made / "secret_key").stat().st_mode) == 0o600
    assert stat.S_IMODE(made.stat().st_mode) == 0o700


def test_it_refuses_a_port_that_is_taken(data: Path):
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        answer = start("--data", str(data), "--port", str(taken.getsockname()[1]))
    assert answer.returncode == 3
    assert "Choose another one: --port" in answer.stderr


def test_it_leaves_the_database_of_a_newer_server_alone(data: Path):
    with sqlite3.connect(data / "coop.sqlite3") as database:
        database.execute(
            "INSERT INTO django_migrations (app, name, applied) VALUES ('coop', '9999_later', '2030-01-01')"
        )
    database.close()
    answer = start("--data", str(data), "--prepare")
    assert answer.returncode != 0
    assert "used by a newer server (coop.9999_later)" in answer.stderr


def test_it_starts_no_demo_on_a_real_club(data: Path):
    answer = start("--demo", "--data", str(data), "--prepare")
    assert answer.returncode != 0
    assert "holds the club “Testing Club”, so no demo is started on it" in answer.stderr


def test_it_lays_lost_triggers_again(data: Path):
    def triggers() -> set[str]:
        with sqlite3.connect(data / "coop.sqlite3") as database:
            found = {row[0] for row in database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")}
        database.close()
        return found

    before = triggers()
    with sqlite3.connect(data / "coop.sqlite3") as database:
        database.execute(f'DROP TRIGGER "{min(before)}"')
    database.close()
    assert start("--data", str(data), "--prepare").returncode == 0
    assert triggers() == before


def test_a_second_start_is_quick_and_stays_small(server: Server):
    """Five seconds on an idle machine; beside other work as many times that as there are hands asking for a core."""
    assert server.seconds_to_up < 5 * max(1.0, os.getloadavg()[0])
    wait_until_well(server)
    shared = [psutil.Process(pid).memory_full_info().pss for pid in tree(server.process.pid)]
    assert sum(shared) < 300e6, shared


def test_a_second_one_on_the_same_folder_is_refused(server: Server):
    answer = start("--data", str(server.data), "--port", str(server.port + 1))
    assert answer.returncode == 3
    assert (
        f"runs already on the data folder {server.data} (process {server.process.pid}, {server.url})" in answer.stderr
    )
    wait_until_well(server)


def test_it_restarts_whichever_of_its_processes_dies(server: Server):
    before = server.processes()
    assert set(before) == {"web", "worker"}
    for pid in before.values():
        os.kill(pid, signal.SIGKILL)
    for _ in range(100):
        after = server.processes()
        if set(after) == set(before) and not set(after.values()) & set(before.values()):
            break
        time.sleep(0.1)
    assert set(after) == set(before)
    assert not set(after.values()) & set(before.values())
    wait_until_well(server)


def test_it_stops_cleanly_and_leaves_nothing(data: Path):
    with running(data) as server:
        whole = tree(server.process.pid)
        assert len(whole) >= 4
        server.process.send_signal(signal.SIGINT)
        assert server.process.wait(20) == 0
        assert not [pid for pid in whole if psutil.pid_exists(pid)]
        assert not list((data / "bell" / "queue").iterdir())


def test_a_broken_message_in_the_bell_is_cleared_at_start(data: Path):
    queue = data / "bell" / "queue"
    queue.mkdir(parents=True, exist_ok=True)
    (queue / "1_broken.celery.msg").write_text("{")
    with running(data) as server:
        time.sleep(2)
        assert "worker" in server.processes()
        assert not any("ended by itself" in line for line in server.words)
