"""The supervisor: a dead child is restarted, everything stops cleanly, nothing is left behind."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
#: writes its process number, and that of a child of its own, then sleeps
SLEEPER = """
import os, subprocess, sys, time
inner = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(60)"])
with open(sys.argv[1], "a") as file:
    file.write(f"{os.getpid()} {inner.pid}\\n")
time.sleep(60)
"""
KEEPER = """
import os, sys
sys.path.insert(0, sys.argv[1])
from deploy.supervisor import Child, Supervisor
Supervisor([Child("sleeper", [sys.executable, "-c", sys.argv[2], sys.argv[3]], os.environ)]).run()
"""


def until(question: Callable[[], object], seconds: float = 10.0) -> object:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        answer = question()
        if answer:
            return answer
        time.sleep(0.05)
    raise AssertionError("it did not happen in time")


def lives(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


def lines(path: Path) -> list[list[int]]:
    return [[int(word) for word in line.split()] for line in path.read_text().splitlines()] if path.exists() else []


def noted(path: Path) -> list[int]:
    return [pid for line in lines(path) for pid in line]


@pytest.fixture
def notes(tmp_path: Path) -> Path:
    return tmp_path / "notes"


@pytest.fixture
def keeper(notes: Path) -> Iterator["subprocess.Popen[str]"]:
    command = [sys.executable, "-c", KEEPER, str(ROOT), SLEEPER, str(notes)]
    process = subprocess.Popen(command, stderr=subprocess.PIPE, text=True, start_new_session=True)
    try:
        until(lambda: lines(notes))
        yield process
    finally:
        if process.poll() is None:
            process.kill()
        process.wait()
        assert process.stderr is not None
        process.stderr.close()
        for pid in noted(notes):
            if lives(pid):
                os.kill(pid, signal.SIGKILL)


def test_it_restarts_a_dead_child_and_sweeps_what_it_left(keeper: "subprocess.Popen[str]", notes: Path):
    first, left = lines(notes)[0]
    os.kill(first, signal.SIGKILL)
    until(lambda: len(lines(notes)) == 2)
    assert lines(notes)[1][0] != first
    until(lambda: not lives(left))


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT, signal.SIGHUP])
def test_it_stops_cleanly_and_leaves_nothing(keeper: "subprocess.Popen[str]", notes: Path, number: signal.Signals):
    keeper.send_signal(number)
    assert keeper.wait(10) == 0
    assert not [pid for pid in noted(notes) if lives(pid)]


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="only Linux tells a child that its parent died")
def test_its_children_stop_when_it_is_killed(keeper: "subprocess.Popen[str]", notes: Path):
    child, _inner = lines(notes)[0]
    keeper.kill()
    until(lambda: not lives(child))


def test_a_child_that_keeps_dying_waits_longer_each_time(monkeypatch: pytest.MonkeyPatch):
    from deploy import supervisor

    now = [100.0]
    monkeypatch.setattr("deploy.supervisor.time.monotonic", lambda: now[0])
    child = supervisor.Child("quitter", [sys.executable, "-c", ""], os.environ)
    waits = []
    for _ in range(8):
        child.look()
        assert child.process is not None
        child.process.wait()
        child.look()
        waits.append(child.start_again_at - now[0])
        now[0] = child.start_again_at
    assert waits == [0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 30.0, 30.0]
