"""What is skipped is said by name, and where nothing may be skipped it fails the run."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
pytestmark = [pytest.mark.slow, pytest.mark.sqlite]


def run_a_skipped_test(folder: Path, **environ: str) -> "subprocess.CompletedProcess[str]":
    """pytest with the suite's own conftest, on one test that skips itself and one that passes."""
    (folder / "test_skipping.py").write_text(
        "import pytest\n\ndef test_right(): pass\n\ndef test_gone():\n    pytest.skip('nothing to test with')\n"
    )
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("COOP_", "PYTEST_"))}
    command = [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", "-c", str(ROOT / "pyproject.toml")]
    command += ["--rootdir", str(ROOT), "-p", "tests.conftest", str(folder / "test_skipping.py")]
    return subprocess.run(command, env=kept | environ, cwd=ROOT, capture_output=True, text=True)


def test_a_skip_is_named_and_counted(tmp_path: Path):
    answer = run_a_skipped_test(tmp_path)
    assert answer.returncode == 0, answer.stdout
    assert "1 SKIPPED on sqlite" in answer.stdout
    assert "::test_gone" in answer.stdout


def test_a_skip_fails_where_none_is_allowed(tmp_path: Path):
    answer = run_a_skipped_test(tmp_path, COOP_TEST_NO_SKIP="1")
    assert answer.returncode == 1, answer.stdout
    assert "::test_gone" in answer.stdout
