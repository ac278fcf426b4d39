"""The whole server as the start command runs it: web, worker and schedule, in a data folder of its own."""

import contextlib
import dataclasses
import json
import os
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import psutil
import psycopg
from django.conf import settings

from deploy.engines import free_port

ROOT = Path(__file__).resolve().parent.parent.parent
CLUB = ["--name", "Testing Club", "--zone", "Europe/Paris", "--coordinator-name", "Ada"]
CLUB += ["--coordinator-email", "ada@example.org"]


def environ_for(**settings: str) -> dict[str, str]:
    """The environment without this session's own settings, pointed at the Python that runs the tests."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("COOP_", "DJANGO_", "PYTEST_"))}
    return kept | {"COOP_START_PYTHON": sys.executable} | settings


def start(*flags: str, **settings: str) -> "subprocess.CompletedProcess[str]":
    """Run the start command to its end: for refusals and for --prepare."""
    return subprocess.run(
        [str(ROOT / "deploy" / "start"), *flags],
        env=environ_for(**settings),
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=120,
    )


@dataclasses.dataclass
class Server:
    process: "subprocess.Popen[str]"
    data: Path
    port: int
    words: list[str] = dataclasses.field(default_factory=list)
    seconds_to_up: float = 0.0

    @property
    def url(self) -> str:
        return f"http://localhost:{self.port}"

    def health(self) -> tuple[int, dict[str, Any]]:
        """Status and answer of /health; status 0 while nobody answers."""
        try:
            with urllib.request.urlopen(f"{self.url}/health", timeout=10) as answer:
                return answer.status, json.load(answer)
        except urllib.error.HTTPError as trouble:
            with trouble:
                return trouble.code, json.load(trouble)
        except OSError:
            return 0, {}

    def processes(self) -> dict[str, int]:
        """The direct children by name: what the supervisor keeps."""
        found = {}
        for child in psutil.Process(self.process.pid).children():
            with contextlib.suppress(psutil.NoSuchProcess):
                found["web" if "gunicorn" in child.cmdline() else "worker"] = child.pid
        return found


def tree(pid: int) -> list[int]:
    """A process and all that descend from it."""
    return [pid, *(child.pid for child in psutil.Process(pid).children(recursive=True))]


@contextlib.contextmanager
def running(data: Path, *flags: str, **settings: str) -> Iterator[Server]:
    """Start the server and wait until it answers; stops it in the end, whatever happens."""
    port = free_port()
    command = [str(ROOT / "deploy" / "start"), "--data", str(data), "--port", str(port), *flags]
    began = time.monotonic()
    process = subprocess.Popen(
        command,
        env=environ_for(**settings),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    server = Server(process, data, port)
    up = threading.Event()

    def listen() -> None:
        assert process.stdout is not None
        for line in process.stdout:
            server.words.append(line)
            if "The server is up" in line:
                server.seconds_to_up = time.monotonic() - began
                up.set()
        up.set()

    listener = threading.Thread(target=listen, daemon=True)
    listener.start()
    try:
        if not up.wait(120) or process.poll() is not None:
            raise RuntimeError("".join(server.words))
        yield server
    finally:
        if process.poll() is None:
            process.terminate()
        try:
            process.wait(30)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        listener.join(10)
        assert process.stdout is not None
        process.stdout.close()


@contextlib.contextmanager
def own_database() -> Iterator[str]:
    """A PostgreSQL database of a server's own, beside the suite's; its address, and it is gone afterwards."""
    known = settings.DATABASES["default"]
    address = f"postgresql://{known['USER']}:{known['PASSWORD']}@{known['HOST']}:{known['PORT']}"
    name = f"whole_{free_port()}"
    with psycopg.connect(f"{address}/postgres", autocommit=True) as database:
        database.execute(f"CREATE DATABASE {name}".encode())
        try:
            yield f"{address}/{name}"
        finally:
            database.execute(f"DROP DATABASE {name} WITH (FORCE)".encode())


def shell(data: Path, code: str, **elsewhere: str) -> str:
    """Run a line of Python inside the server's own project and database; answers with what it printed."""
    command = [sys.executable, "manage.py", "shell", "--no-imports", "-c", code]
    environ = environ_for(COOP_DATA=str(data), **elsewhere)
    done = subprocess.run(command, cwd=ROOT, env=environ, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr
    return done.stdout


@contextlib.contextmanager
def second_worker(data: Path, **elsewhere: str) -> Iterator[None]:
    """One more worker with a schedule of its own, beside the one that the server keeps."""
    command = [sys.executable, "-m", "celery", "--app", "coop.site.celery", "--quiet", "worker", "--with-schedule"]
    command += ["--pool", "solo", "--without-gossip", "--without-mingle", "--without-heartbeat"]
    environ = environ_for(COOP_DATA=str(data), DJANGO_SETTINGS_MODULE="coop.site.settings", **elsewhere)
    quiet = subprocess.DEVNULL
    process = subprocess.Popen(command, cwd=ROOT, env=environ, stdin=quiet, stdout=quiet, stderr=quiet)
    try:
        yield
        assert process.poll() is None, "the second worker has ended by itself"
    finally:
        process.terminate()
        try:
            process.wait(20)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
