"""Every command of the ground, failing at each of its statements in turn."""

import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest
from django.utils import timezone

from coop import letters
from coop.command import COMMANDS
from coop.commands import club, founding, invitations, legal, people, telling
from coop.models import HiveKind, LegalBasis, Letter, Notice, Person
from tests.makers import coop as make
from tests.makers.failing import survives

pytestmark = pytest.mark.django_db(transaction=True)
DAY = dt.date(2026, 6, 6)
BASIS: dict[str, Any] = {
    "subject": "supply",
    "rule": "r",
    "reference": "s",
    "checked_by": "c",
    "valid_from": DAY,
    "valid_until": DAY,
}


def add_kind() -> HiveKind:
    kind: HiveKind = make.do(club.add_hive_kind, name="top bar")
    return kind


def a_basis() -> LegalBasis:
    basis: LegalBasis = make.do(legal.note_legal_basis, **BASIS)
    return basis


def a_call() -> dict[str, Any]:
    pia = make.member("Pia", email=None)
    notice = Notice.objects.create(key="k", kind="x", group="k", person=pia, due_at=timezone.now(), state="phone")
    return {"person": pia, "notices": [notice.pk], "reached": True}


def a_letter() -> Letter:
    letter = letters.queue(key="k", to="a@example.org", subject="s", body="b", now=timezone.now())
    assert letter is not None
    Letter.objects.update(state="failed")
    return letter


def _token_of(person: Person) -> Any:
    return make.do(invitations.make_token, by=person, name="scales")


CASES: dict[Callable[..., Any], Callable[[], dict[str, Any]]] = {
    club.change_club: lambda: {"phone": "12", "zone": "Europe/Riga"},
    club.add_hive_kind: lambda: {"name": "top bar"},
    club.change_hive_kind: lambda: {"kind": add_kind(), "name": "long hive"},
    legal.note_legal_basis: lambda: BASIS,
    legal.end_legal_basis: lambda: {"basis": a_basis()},
    people.add_person: lambda: {"name": "Ewa", "email": "ewa@example.org"},
    people.change_person: lambda: {"person": make.member("Pia"), "email": "new@example.org"},
    people.set_role: lambda: {"person": make.member("Pia"), "role": "volunteer"},
    people.set_releaser: lambda: {"person": make.member("Pia"), "may_release": True},
    people.sign_out_everywhere: lambda: {"person": make.member("Pia")},
    people.stop_reminders: lambda: {"person": make.member("Pia")},
    people.leave: lambda: {"person": make.member("Pia")},
    invitations.invite: lambda: {"person": make.member("Pia")},
    invitations.let_in: lambda: {"person": make.member("Pia"), "make_coordinator": True},
    invitations.make_token: lambda: {"name": "scales"},
    invitations.revoke_token: lambda: {"token": _token_of(make.member("Pia"))},
    invitations.add_shed_phone: lambda: {"name": "old one", "person": make.volunteer("Jonas")},
    invitations.revoke_shed_phone: lambda: {
        "phone": make.do(invitations.add_shed_phone, name="old one", person=make.volunteer("Jonas"))
    },
    telling.told_by_phone: a_call,
    telling.send_again: lambda: {"letter": a_letter()},
}


@pytest.mark.parametrize("command", CASES, ids=lambda command: command.verb)
def test_a_command_of_the_ground_is_whole_or_not_at_all(command: Callable[..., Any]) -> None:
    make.coordinator("Maren")
    survives(command, **CASES[command]())


def test_every_command_of_the_ground_is_in_the_list() -> None:
    ours = {run for run in COMMANDS.values() if run.__module__.startswith("coop.commands.")}
    assert ours - set(CASES) == {founding.found_club}


def test_the_founding_is_whole_or_not_at_all() -> None:
    survives(
        founding.found_club,
        by=Person.objects.system(),
        name="Alder Brook",
        zone="Europe/Paris",
        coordinator_name="Maren",
        coordinator_email="maren@example.org",
    )
