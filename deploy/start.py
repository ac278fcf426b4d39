"""The start command: environment, secret, database, club, then web and worker under one supervisor."""

import argparse
import fcntl
import os
import secrets
import shutil
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import IO, NoReturn

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from coop import conf  # noqa: E402  (standard library only)
from deploy import environment  # noqa: E402
from deploy.supervisor import Child, Supervisor  # noqa: E402

LOCK = ROOT / "deploy" / "requirements.txt"


def refuse(words: str, code: int = 2) -> NoReturn:
    print(words, file=sys.stderr)
    sys.exit(code)


def arguments(argv: Sequence[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="deploy/start",
        description="Starts the strip co-op server. The first start makes its environment, database and club.",
        epilog="Every other setting comes from the environment: see the table in README.md.",
    )
    parser.add_argument("--demo", action="store_true", help="an invented club to look around in (COOP_DEMO=1)")
    parser.add_argument("--port", metavar="N", help=f"where to listen, {conf.DEFAULT_PORT} by default (COOP_PORT)")
    parser.add_argument("--data", metavar="FOLDER", help="where everything is kept (COOP_DATA)")
    parser.add_argument("--name", help="the club's name, at its first start")
    parser.add_argument("--zone", help="its time zone, such as Europe/Paris, at its first start")
    parser.add_argument("--coordinator-name", metavar="NAME", help="who sets the club up, at its first start")
    parser.add_argument("--coordinator-email", metavar="MAIL", help="where the coordinator's codes go")
    parser.add_argument("--prepare", action="store_true", help="make everything ready and stop there")
    return parser.parse_args(argv)


def settings(chosen: argparse.Namespace) -> conf.Conf:
    """Flags go into the environment, where every process reads them alike."""
    if chosen.demo:
        os.environ["COOP_DEMO"] = "1"
    if chosen.port is not None:
        os.environ["COOP_PORT"] = chosen.port
    if chosen.data is not None:
        os.environ["COOP_DATA"] = chosen.data
    try:
        read = conf.read()
    except conf.BadSettings as trouble:
        refuse(f"The server was not started; nothing was changed.\n{trouble}")
    if read.is_test:
        refuse("COOP_ENV=test is for the tests: unset it to start a server.")
    os.environ["COOP_DATA"] = str(read.data)
    return read


def take(data: Path) -> IO[str]:
    """Hold the data folder for as long as this process lives, or refuse."""
    try:
        data.mkdir(parents=True, exist_ok=True, mode=0o700)
        holding = (data / "lock").open("a+")
    except OSError as trouble:
        refuse(f"The data folder {data} cannot be used ({trouble.strerror}). Set COOP_DATA or --data to another one.")
    try:
        fcntl.flock(holding, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        holding.seek(0)
        where = holding.read().strip() or "another process"
        refuse(
            f"The server runs already on the data folder {data} ({where}); nothing was changed. "
            "Stop that one first, or give this one a folder of its own with --data.",
            3,
        )
    return holding


def keep_note(holding: IO[str], read: conf.Conf) -> None:
    holding.seek(0)
    holding.truncate()
    holding.write(f"process {os.getpid()}, {read.address.origin}")
    holding.flush()


def check_port(read: conf.Conf) -> None:
    family = socket.AF_INET6 if ":" in read.listen else socket.AF_INET
    with socket.socket(family) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((read.listen, read.port))
        except OSError as trouble:
            refuse(
                f"Port {read.port} cannot be used ({trouble.strerror}). Choose another one: --port {read.port + 1}", 3
            )


def keep_secret(read: conf.Conf) -> None:
    """A server without a secret key makes one, once, readable by its own account only."""
    if read.secret_key:
        return
    path = read.data / "secret_key"
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
        file.write(secrets.token_urlsafe(60))
        file.flush()
        os.fsync(file.fileno())


def clear_bell(data: Path) -> None:
    """A truncated message would kill the worker; a lost tick costs nothing. So the folder starts empty."""
    bell = data / "bell"
    shutil.rmtree(bell, ignore_errors=True)
    for name in ("queue", "control"):
        (bell / name).mkdir(parents=True)


def python_for(read: conf.Conf) -> Path:
    """The server's own Python; COOP_START_PYTHON names one that an image or a package has made already."""
    ready_made = os.environ.get("COOP_START_PYTHON")
    if ready_made:
        return Path(ready_made)
    try:
        made = environment.ensure(environment.home(read.data) / "python", LOCK)
        return made
    except environment.CannotMake as trouble:
        refuse(str(trouble), 1)


def prepare(python: Path, chosen: argparse.Namespace) -> None:
    """Database, static files, club: one process that may ask on the terminal."""
    command = [str(python), str(ROOT / "manage.py"), "make_ready"]
    for name in ("name", "zone", "coordinator_name", "coordinator_email"):
        value = getattr(chosen, name)
        if value is not None:
            command += [f"--{name.replace('_', '-')}", value]
    code = subprocess.run(command, cwd=ROOT).returncode
    if code != 0:
        sys.exit(code if code > 0 else 1)


def children(python: Path, read: conf.Conf) -> list[Child]:
    bind = f"[{read.listen}]:{read.port}" if ":" in read.listen else f"{read.listen}:{read.port}"
    web = [str(python), "-m", "gunicorn", "coop.site.wsgi:application", "--bind", bind, "--chdir", str(ROOT)]
    web += ["--worker-class", "gthread", "--workers", "1", "--threads", "4", "--timeout", "60"]
    web += ["--graceful-timeout", "10", "--no-control-socket", "--log-level", "warning"]
    if os.access("/dev/shm", os.W_OK):
        web += ["--worker-tmp-dir", "/dev/shm"]
    worker = [str(python), "-m", "celery", "--app", "coop.site.celery", "--quiet", "--workdir", str(ROOT), "worker"]
    worker += [
        "--with-schedule",
        "--pool",
        "solo",
        "--prefetch-multiplier",
        "1",
        "--without-gossip",
        "--without-mingle",
    ]
    worker += ["--without-heartbeat", "--loglevel", "WARNING"]
    environ = {**os.environ, "DJANGO_SETTINGS_MODULE": "coop.site.settings", "PYTHONUNBUFFERED": "1"}
    environ["PYTHONWARNINGS"] = "ignore:You're running the worker with superuser"  # said once, by us
    return [Child("web", web, environ), Child("worker", worker, environ)]


def until_up(read: conf.Conf) -> Callable[[], bool]:
    """Asks the web process itself until it answers, then says where it is."""
    host = f"[{read.listen}]" if ":" in read.listen else read.listen
    host = "127.0.0.1" if host == "0.0.0.0" else "[::1]" if host == "[::]" else host
    ask = urllib.request.build_opener(urllib.request.ProxyHandler({}))

    def is_up() -> bool:
        try:
            ask.open(f"http://{host}:{read.port}/health", timeout=5).close()
        except urllib.error.HTTPError:
            pass  # it answers: what it thinks of itself is for /health to say
        except OSError:
            return False
        print(f"\nThe server is up: {read.address.origin}   (stop it with Ctrl-C)\n", flush=True)
        return True

    return is_up


def main(argv: Sequence[str]) -> None:
    os.umask(0o077)
    chosen = arguments(argv)
    read = settings(chosen)
    holding = take(read.data)
    check_port(read)
    keep_note(holding, read)
    python = python_for(read)
    keep_secret(read)
    clear_bell(read.data)
    prepare(python, chosen)
    if not chosen.prepare:
        if os.geteuid() == 0:
            print("You are root. A plain account that owns the data folder is safer for a server.", file=sys.stderr)
        Supervisor(children(python, read)).run(until_up(read))
    holding.close()


if __name__ == "__main__":
    try:
        main(sys.argv[1:])
    except KeyboardInterrupt:
        sys.exit(130)
