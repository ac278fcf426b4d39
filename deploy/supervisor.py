"""Keeps a few processes running: restarts a dead one, stops all of them cleanly, leaves none behind. Stdlib only.

Each child leads a process group of its own, so that Ctrl-C reaches the supervisor alone and whatever a dead child
leaves is swept. On Linux children are told to stop when the supervisor itself is killed.
"""

import contextlib
import ctypes
import dataclasses
import os
import select
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Mapping, Sequence

FIRST_WAIT_S = 0.5
LONGEST_WAIT_S = 30.0
STEADY_S = 30.0
PATIENCE_S = 15.0
_PR_SET_PDEATHSIG = 1


def say(words: str) -> None:
    print(words, file=sys.stderr, flush=True)


def death_note(number: int = signal.SIGTERM) -> Callable[[], None] | None:
    """What a child runs first, to be sent a signal when its parent dies, however that comes about (Linux only)."""
    if not sys.platform.startswith("linux"):
        return None
    prctl = ctypes.CDLL(None).prctl

    def note() -> None:
        prctl(_PR_SET_PDEATHSIG, number)

    return note


@dataclasses.dataclass
class Child:
    """One process to keep alive. Dying again soon, it waits longer each time, up to half a minute."""

    name: str
    command: Sequence[str]
    environ: Mapping[str, str]
    process: "subprocess.Popen[bytes] | None" = None
    started_at: float = 0.0
    start_again_at: float = 0.0
    wait_s: float = FIRST_WAIT_S

    def start(self) -> None:
        self.process = subprocess.Popen(
            self.command,
            env=dict(self.environ),
            stdin=subprocess.DEVNULL,
            start_new_session=True,
            preexec_fn=death_note(),
        )
        self.started_at = time.monotonic()

    def look(self) -> None:
        """Start it where it should run and does not."""
        now = time.monotonic()
        if self.process is None:
            if now >= self.start_again_at:
                self.start()
            return
        code = self.process.poll()
        if code is None:
            return
        self.sweep()
        if now - self.started_at > STEADY_S:
            self.wait_s = FIRST_WAIT_S
        self.process, self.start_again_at = None, now + self.wait_s
        say(f"{self.name} ended by itself ({_how(code)}); it starts again in {self.wait_s:.1f} s")
        self.wait_s = min(self.wait_s * 2, LONGEST_WAIT_S)

    def ask_to_stop(self) -> None:
        if self.process is not None and self.process.poll() is None:
            self.process.terminate()

    def wait(self, until: float) -> None:
        if self.process is None:
            return
        try:
            self.process.wait(max(0.0, until - time.monotonic()))
        except subprocess.TimeoutExpired:
            say(f"{self.name} did not stop in time and is killed")
        self.sweep()
        self.process.wait()

    def sweep(self) -> None:
        """Kill what is left of the child's process group."""
        if self.process is not None:
            with contextlib.suppress(ProcessLookupError, PermissionError):
                os.killpg(self.process.pid, signal.SIGKILL)


def _how(code: int) -> str:
    return f"exit code {code}" if code >= 0 else f"signal {-code}"


class Supervisor:
    """Runs its children until SIGINT, SIGTERM or SIGHUP."""

    def __init__(self, children: Sequence[Child]) -> None:
        self.children = list(children)
        self.stopping = False

    def run(self, up: Callable[[], bool] | None = None) -> None:
        """`up` is asked again and again until it answers True; it says once that all is well."""
        with self._signals() as bell:
            try:
                while not self.stopping:
                    for child in self.children:
                        child.look()
                    if up is not None and up():
                        up = None
                    ready, _, _ = select.select([bell], [], [], 0.1 if up is not None else 0.5)
                    if ready:
                        os.read(bell, 512)
            finally:
                self.stop()

    def stop(self) -> None:
        """In the reverse order of starting, at most a quarter of a minute in all."""
        until = time.monotonic() + PATIENCE_S
        for child in reversed(self.children):
            child.ask_to_stop()
        for child in reversed(self.children):
            child.wait(until)

    @contextlib.contextmanager
    def _signals(self):  # type: ignore[no-untyped-def]
        def note(number: int, frame: object) -> None:
            if number != signal.SIGCHLD:
                self.stopping = True

        reading, writing = os.pipe()
        os.set_blocking(writing, False)
        before_fd = signal.set_wakeup_fd(writing, warn_on_full_buffer=False)
        numbers = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP, signal.SIGCHLD)
        before = {number: signal.signal(number, note) for number in numbers}
        try:
            yield reading
        finally:
            signal.set_wakeup_fd(before_fd)
            for number, handler in before.items():
                signal.signal(number, handler)
            os.close(reading)
            os.close(writing)
