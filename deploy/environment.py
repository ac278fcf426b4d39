"""Makes the server's own Python environment from a list of hashed versions. Standard library only.

A stamp, written last, names the list and the Python it was made with: without it, or with another, the environment is
made anew, so a broken one is never used.
"""

import fcntl
import hashlib
import importlib.util
import os
import platform
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
STAMP = "coop-stamp"


class CannotMake(Exception):
    """The environment cannot be made; says what to type."""


def python_of(folder: Path) -> Path:
    return folder / "bin" / "python"


def home(fallback: Path | None = None) -> Path:
    """Where environments live: `.coop` beside the code, or the fallback where that cannot be written."""
    beside = ROOT / ".coop"
    try:
        beside.mkdir(exist_ok=True)
    except OSError:
        if fallback is None:
            raise CannotMake(
                f"{beside} cannot be made. Give this folder to the account that runs the server."
            ) from None
        return fallback
    return beside if os.access(beside, os.W_OK) or fallback is None else fallback


def stamp_for(lock: Path) -> str:
    version = f"{platform.python_implementation()} {platform.python_version()} {Path(sys.executable).resolve()}"
    return f"{hashlib.sha256(lock.read_bytes()).hexdigest()} {version}"


def ensure(folder: Path, lock: Path) -> Path:
    """The Python of an environment that holds exactly what the list names. Two callers at once wait for each other."""
    folder.parent.mkdir(parents=True, exist_ok=True)
    with folder.with_suffix(".lock").open("w") as guard:
        fcntl.flock(guard, fcntl.LOCK_EX)
        if not is_whole(folder, lock):
            _make(folder, lock)
    return python_of(folder)


def is_whole(folder: Path, lock: Path) -> bool:
    try:
        return (folder / STAMP).read_text() == stamp_for(lock) and python_of(folder).exists()
    except OSError:
        return False


def _make(folder: Path, lock: Path) -> None:
    print(f"Making the Python environment in {folder} (once, about a minute) ...", flush=True)
    if folder.exists():
        shutil.rmtree(folder)
    installer = _bare_environment(folder)
    # Only what is named on the list, only with these hashes, and nothing is built on this machine.
    command = [*installer, "install", "-qq", "--disable-pip-version-check", "--no-input", "--require-hashes"]
    command += ["--only-binary=:all:", "--no-deps", "--requirement", str(lock)]
    if subprocess.run(command).returncode != 0:
        raise CannotMake(
            "The packages could not be installed (see above). Nothing else was changed. "
            "Check that this machine reaches its package index, then start again."
        )
    (folder / STAMP).write_text(stamp_for(lock))


def _bare_environment(folder: Path) -> list[str]:
    """Make an empty environment; answers how to call an installer for it. Debian ships Python without either half."""
    python = str(python_of(folder))
    if importlib.util.find_spec("venv") and importlib.util.find_spec("ensurepip"):
        _run_venv(folder)
        return [python, "-m", "pip"]
    if importlib.util.find_spec("venv") and importlib.util.find_spec("pip"):
        _run_venv(folder, "--without-pip")
        return [sys.executable, "-m", "pip", "--python", python]
    package = f"python{sys.version_info.major}.{sys.version_info.minor}-venv"
    from deploy.engines import apt_install, can_apt

    if can_apt():
        print(f"Installing {package} ...", flush=True)
        if apt_install(package) or apt_install("python3-venv"):
            _run_venv(folder)
            return [python, "-m", "pip"]
    raise CannotMake(f"This Python cannot make environments. On Debian or Ubuntu type: sudo apt install {package}")


def _run_venv(folder: Path, *options: str) -> None:
    if subprocess.run([sys.executable, "-m", "venv", *options, str(folder)]).returncode != 0:
        raise CannotMake(f"An environment could not be made in {folder} (see above).")
