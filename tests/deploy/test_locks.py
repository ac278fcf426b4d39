"""The lists of packages: exact, hashed, and free of addresses."""

import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
LOCKS = ("requirements.txt", "requirements-test.txt")


def blocks(name: str) -> dict[str, str]:
    """Package name -> everything the list says about it."""
    text = (ROOT / "deploy" / name).read_text()
    return {
        re.split(r"[=\[]", block)[0]: block for block in re.findall(r"^[a-z0-9].*(?:\n    .*)*", text, re.MULTILINE)
    }


@pytest.mark.parametrize("name", LOCKS)
def test_every_package_has_one_version_and_hashes(name: str):
    found = blocks(name)
    assert len(found) > 40
    for block in found.values():
        assert re.match(r"[a-z0-9-]+(\[[a-z,]+\])?==[^ ]+ ", block), block
        assert "--hash=sha256:" in block, block


@pytest.mark.parametrize("name", LOCKS)
def test_no_list_holds_an_address(name: str):
    text = (ROOT / "deploy" / name).read_text()
    assert "://" not in text
    assert not re.search(r"^--", text, re.MULTILINE), "an option of the installer"


def test_tests_run_on_the_versions_that_are_served():
    served, tested = blocks("requirements.txt"), blocks("requirements-test.txt")
    assert {name: tested.get(name) for name in served} == served


def test_each_declared_dependency_is_on_a_list():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    for name, wanted in (
        ("requirements.txt", project["dependencies"]),
        ("requirements-test.txt", project["optional-dependencies"]["test"]),
    ):
        found = blocks(name)
        for line in wanted:
            package = re.split(r"[^A-Za-z0-9_.-]", line)[0].lower().replace("_", "-")
            assert package in found, package
