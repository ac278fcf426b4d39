"""The test command: every check, then the whole suite on SQLite and on PostgreSQL. With arguments: just pytest."""

import contextlib
import os
import re
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from deploy import engines, environment  # noqa: E402

LOCK = ROOT / "deploy" / "requirements-test.txt"
NO_SKIP = "--no-skip"
ENGINES = ("sqlite", "postgresql")
PACKAGES = ("coop", "inventory", "batches", "members", "deploy", "tests", "manage.py")
#: a server as it should be, for Django's own deployment checks
PRODUCTION_LIKE = {
    "COOP_ADDRESS": "https://strips.example.org",
    "COOP_SMTP_URL": "smtp://mail.example.org",
    "COOP_SECRET_KEY": "for-this-check-only-0123456789-qwertzuiopasdfghjklyxcvbnm",
}


def bare_environ() -> dict[str, str]:
    """The environment without settings of a server that may run on this machine too."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("COOP_")}
    return kept | {name: value for name, value in os.environ.items() if name.startswith("COOP_TEST_")}


def run(title: str, command: Sequence[str], **environ: str) -> bool:
    """One check, timed; its output is shown only where it fails."""
    began = time.monotonic()
    answer = subprocess.run(
        command, cwd=ROOT, env=bare_environ() | environ, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
    )
    right = answer.returncode == 0
    print(f"{'ok  ' if right else 'FAIL'}  {title}  ({time.monotonic() - began:.1f} s)", flush=True)
    if not right:
        print(answer.stdout, flush=True)
    return right


def checks(python: str) -> bool:
    """Format, lint, types, contracts, migrations, deployment. All are run, so that one look shows all that is wrong."""
    manage = [python, "manage.py"]
    with tempfile.TemporaryDirectory(prefix="coop-checks-") as folder:
        results = [
            run("format", [python, "-m", "ruff", "format", "--check", *PACKAGES]),
            run("lint", [python, "-m", "ruff", "check", *PACKAGES]),
            run("import contracts", [python, "-c", "from importlinter.cli import lint_imports_command as c; c()"]),
            run("migrations", [*manage, "makemigrations", "--check", "--dry-run"], COOP_ENV="test"),
            run(
                "deployment",
                [*manage, "check", "--deploy", "--fail-level", "WARNING"],
                COOP_DATA=folder,
                **PRODUCTION_LIKE,
            ),
            run("types", [python, "-m", "mypy"]),
        ]
    return all(results)


def install_engines() -> None:
    """Fetch what is missing; what cannot be had is skipped by name in the tests that need it."""
    if not os.environ.get("COOP_TEST_POSTGRESQL_URL") and engines.find_postgres(installed=True) is None:
        print("Installing PostgreSQL ...", flush=True)
        engines.apt_install("postgresql")
    if not os.environ.get("COOP_TEST_REDIS_URL") and engines.find_redis() is None:
        print("Installing Redis ...", flush=True)
        engines.apt_install("redis-server")
    if engines.find_chromium() is None:
        print("Installing Chromium ...", flush=True)
        engines.apt_install("chromium")


class Suite:
    """pytest on one engine, as a process of its own; its words are shown at the end where another runs beside it."""

    def __init__(self, python: str, engine: str, arguments: Sequence[str], no_skip: bool, aloud: bool) -> None:
        self.engine, self.aloud, self.words = engine, aloud, ""
        environ = bare_environ() | {"COOP_TEST_ENGINE": engine, "PYTHONUNBUFFERED": "1"}
        if no_skip:
            environ["COOP_TEST_NO_SKIP"] = "1"
        out = None if aloud else subprocess.PIPE
        command = [python, "-m", "pytest", *arguments]
        self.began = time.monotonic()
        self.process = subprocess.Popen(command, cwd=ROOT, env=environ, stdout=out, stderr=subprocess.STDOUT, text=True)
        self.reader = threading.Thread(target=self._read, daemon=True)
        self.reader.start()

    def _read(self) -> None:
        if self.process.stdout is not None:
            self.words = self.process.stdout.read()

    def finish(self) -> int:
        code = self.process.wait()
        self.reader.join()
        if not self.aloud:
            print(f"\n---- {self.engine} ----\n{self.words}", flush=True)
        found = re.findall(r"\d+ (?:passed|failed|skipped|errors?)\b", self.words.rpartition("\n=")[2])
        print(f"{self.engine}: exit {code}, {', '.join(found) or 'see above'}, {time.monotonic() - self.began:.0f} s")
        return code


@contextlib.contextmanager
def beside(suites: Sequence[Suite]) -> Iterator[None]:
    """Stopped by hand, both suites stop; pytest then takes its servers down."""
    try:
        yield
    finally:
        for suite in suites:
            if suite.process.poll() is None:
                suite.process.terminate()


def suites(python: str, arguments: Sequence[str], no_skip: bool) -> bool:
    """Both engines side by side: each is one process, and two cores are what a desk has."""
    asked = os.environ.get("COOP_TEST_ENGINE")
    chosen = [asked] if asked else list(ENGINES)
    if "postgresql" in chosen and not os.environ.get("COOP_TEST_POSTGRESQL_URL") and engines.find_postgres() is None:
        print("PostgreSQL cannot be had on this machine: THE SUITE ON POSTGRESQL IS SKIPPED.", flush=True)
        if no_skip or chosen == ["postgresql"]:
            return False
        chosen.remove("postgresql")
    running = [Suite(python, engine, arguments, no_skip, aloud=engine == chosen[0]) for engine in chosen]
    with beside(running):
        codes = [suite.finish() for suite in running]
    return not any(codes)


def scale(python: str, no_skip: bool) -> bool:
    """The benchmarks, one engine after the other: side by side they would measure each other."""
    asked = os.environ.get("COOP_TEST_ENGINE")
    right = True
    for engine in [asked] if asked else ENGINES:
        if (
            engine == "postgresql"
            and not os.environ.get("COOP_TEST_POSTGRESQL_URL")
            and engines.find_postgres() is None
        ):
            print("PostgreSQL cannot be had on this machine: ITS BENCHMARKS ARE SKIPPED.", flush=True)
            right = right and not no_skip
            continue
        suite = Suite(python, engine, ["-m", "scale", "-s", "-q", "-n0", "tests/scale"], no_skip, aloud=True)
        with beside([suite]):
            right = suite.finish() == 0 and right
    return right


def main(arguments: list[str]) -> int:
    no_skip = NO_SKIP in arguments
    rest = [word for word in arguments if word != NO_SKIP]
    try:
        python = str(environment.ensure(environment.home() / "python-test", LOCK))
    except environment.CannotMake as trouble:
        print(trouble, file=sys.stderr)
        return 1
    if Path(sys.prefix) != environment.python_of(environment.home() / "python-test").parent.parent:
        # go on inside the environment, which may hold database binaries of its own
        os.execv(python, [python, str(Path(__file__).resolve()), *arguments])
    install_engines()
    right = bool(rest) or checks(python)
    right = suites(python, rest, no_skip) and right
    right = (bool(rest) or scale(python, no_skip)) and right
    print("All is well." if right else "Something is wrong: see above.", flush=True)
    return 0 if right else 1


if __name__ == "__main__":
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit(130)
