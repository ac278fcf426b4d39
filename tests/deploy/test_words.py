"""What the READMEs say is so."""

import re
from pathlib import Path

import pytest

from coop import conf

ROOT = Path(__file__).resolve().parent.parent.parent
README = (ROOT / "README.md").read_text()
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text()


def test_the_table_names_every_setting_and_no_other():
    assert set(re.findall(r"^\| `(COOP_[A-Z_]+)`", README, re.MULTILINE)) == set(conf.KNOWN)


def test_the_table_says_which_settings_may_come_from_a_file():
    assert set(re.findall(r"^\| `(COOP_[A-Z_]+)` \(or `_FILE`\)", README, re.MULTILINE)) == set(conf._SECRETS)


def test_its_defaults_are_the_real_ones():
    got = conf.read({})
    assert f"| `COOP_PORT` | a number | {got.port} |" in README
    assert f"| `{got.listen}` |" in README


@pytest.mark.parametrize("words", [README, DEVELOPERS])
def test_what_is_named_is_there(words: str):
    for name in re.findall(r"`((?:coop|deploy|tests|inventory|batches|members)/[a-z_./-]+)`", words):
        assert (ROOT / name).exists(), name
    for name in set(re.findall(r"manage\.py ([a-z_]+)", words)) - {"check", "makemigrations"}:
        assert list(ROOT.glob(f"*/management/commands/{name}.py")) or list(
            ROOT.glob(f"*/*/management/commands/{name}.py")
        ), name


def test_the_flags_are_those_of_the_start_command():
    known = (ROOT / "deploy" / "start.py").read_text()
    for flag in re.findall(r"`(--[a-z-]+)", README):
        assert f'"{flag}"' in known, flag
