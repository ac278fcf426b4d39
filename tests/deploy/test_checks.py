"""Misconfiguration is a system check with a hint; a server as it should be has nothing to hear."""

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from coop import checks, conf
from deploy.test import PRODUCTION_LIKE


def hear(check: Callable[..., Any], settings: Any, **environ: str) -> list[str]:
    settings.CONF = conf.read(environ)
    settings.IS_DEMO = settings.CONF.is_demo
    return [message.id for message in check(None)]


def test_links_that_open_for_nobody_are_warned_of(settings: Any):
    check = checks.address_is_reachable
    assert hear(check, settings) == ["coop.W001"]
    assert hear(check, settings, COOP_ADDRESS="http://strips.example.org") == ["coop.W002"]
    assert hear(check, settings, COOP_ADDRESS="https://strips.example.org") == []
    assert hear(check, settings, COOP_DEMO="1") == []


def test_letters_that_stay_in_the_house_are_warned_of(settings: Any):
    check = checks.letters_leave_the_house
    assert hear(check, settings) == ["coop.W003"]
    assert hear(check, settings, COOP_SMTP_URL="smtp://mail.example.org") == []
    assert hear(check, settings, COOP_DEMO="1") == []


def test_a_data_folder_that_cannot_be_written_to_is_an_error(
    settings: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    settings.DATA_FOLDER = tmp_path
    assert checks.data_folder_is_writable(None) == []
    monkeypatch.setattr(os, "access", lambda *args: False)
    (trouble,) = checks.data_folder_is_writable(None)
    assert trouble.id == "coop.E001"
    assert "COOP_DATA" in (trouble.hint or "")


@pytest.mark.django_db
def test_lost_guards_are_an_error(monkeypatch: pytest.MonkeyPatch):
    assert checks.triggers_stand(None, databases=["default"]) == []
    monkeypatch.setattr("coop.triggers.missing", lambda alias: ["coop_deed_no_delete"])
    (trouble,) = checks.triggers_stand(None, databases=["default"])
    assert "coop_deed_no_delete" in trouble.msg


@pytest.mark.sqlite
@pytest.mark.slow
def test_without_a_secret_key_nothing_runs_and_the_hint_says_what_makes_one(tmp_path: Path):
    environ = {name: value for name, value in os.environ.items() if not name.startswith("COOP_")}
    answer = subprocess.run(
        [sys.executable, "manage.py", "check"],
        env=environ | {"COOP_DATA": str(tmp_path)},
        cwd=conf.ROOT,
        capture_output=True,
        text=True,
    )
    assert answer.returncode != 0
    assert "There is no secret key. Run deploy/start once" in answer.stderr


def test_the_check_of_the_test_command_is_of_a_server_as_it_should_be(settings: Any):
    for check in (checks.address_is_reachable, checks.letters_leave_the_house):
        assert hear(check, settings, **PRODUCTION_LIKE) == []
