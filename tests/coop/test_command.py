"""The one road: once under a key, whole or not at all, behind the gate."""

import datetime as dt
import threading
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from coop import triggers
from coop.command import COMMANDS, Conflict, Refused, command, new_key
from coop.models import Club, Deed, HiveKind, Person


@pytest.fixture
def actor(db: None) -> Person:
    Club.objects.create(name="Alder Brook", zone="Europe/Paris")
    return Person.objects.create_user("pia@example.org", name="Pia")


@pytest.fixture
def add_kind() -> Iterator[Any]:
    @command("test.add_kind", gate=True)
    def add_kind(deed: Deed, *, name: str, fail: bool = False, weight: Decimal | None = None) -> HiveKind:
        kind = HiveKind.objects.create(name=name)
        if fail:
            raise Refused("Not today.", code="not_today", why="rain")
        return kind

    yield add_kind
    del COMMANDS["test.add_kind"]


def test_the_same_key_and_figures_do_it_once(actor: Person, add_kind: Any) -> None:
    key = new_key()
    first = add_kind(actor=actor, key=key, name="nucleus")
    again = add_kind(actor=actor, key=key, name="nucleus")
    assert again == first
    assert HiveKind.objects.count() == 1
    assert Deed.objects.get().result == {"value": {"~model": "coop.hivekind", "pk": first.pk}}


def test_the_same_key_with_other_figures_is_a_conflict(actor: Person, add_kind: Any) -> None:
    key = new_key()
    add_kind(actor=actor, key=key, name="nucleus")
    with pytest.raises(Conflict):
        add_kind(actor=actor, key=key, name="double brood")
    assert HiveKind.objects.count() == 1


def test_two_people_may_bear_the_same_key(actor: Person, add_kind: Any) -> None:
    other = Person.objects.create_user("jonas@example.org", name="Jonas")
    add_kind(actor=actor, key="k" * 12, name="nucleus")
    add_kind(actor=other, key="k" * 12, name="double brood")
    assert Deed.objects.count() == 2


def test_a_refusal_leaves_nothing_and_is_not_remembered(actor: Person, add_kind: Any) -> None:
    key = new_key()
    with pytest.raises(Refused) as refusal:
        add_kind(actor=actor, key=key, name="nucleus", fail=True)
    assert refusal.value.facts == {"why": "rain"}
    assert not Deed.objects.exists()
    assert not HiveKind.objects.exists()
    add_kind(actor=actor, key=key, name="nucleus")
    assert Deed.objects.count() == 1


def test_a_deed_is_never_altered_nor_deleted(actor: Person, add_kind: Any) -> None:
    add_kind(actor=actor, key=new_key(), name="nucleus")
    for statement in (
        "UPDATE coop_deed SET verb = 'x'",
        "UPDATE coop_deed SET result = NULL",
        "UPDATE coop_deed SET result = '1'",
        "DELETE FROM coop_deed",
    ):
        with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(statement)


def test_what_happened_is_kept_apart_from_when_it_was_recorded_and_never_in_the_future(
    actor: Person, add_kind: Any
) -> None:
    yesterday = timezone.now() - dt.timedelta(days=1)
    add_kind(actor=actor, key=new_key(), name="a", happened_at=yesterday)
    add_kind(actor=actor, key=new_key(), name="b", happened_at=timezone.now() + dt.timedelta(days=1))
    late, future = Deed.objects.order_by("id")
    assert late.happened_at == yesterday
    assert future.happened_at <= timezone.now()


def test_a_command_never_runs_inside_another(actor: Person, add_kind: Any, transactional_db: None) -> None:
    with pytest.raises(RuntimeError, match="durable"), transaction.atomic():
        add_kind(actor=actor, key=new_key(), name="nucleus")


def test_no_two_commands_share_a_verb(add_kind: Any) -> None:
    with pytest.raises(RuntimeError, match="two commands"):
        command("test.add_kind")(lambda deed: None)


def test_a_missing_trigger_is_noticed_and_laid_again(actor: Person) -> None:
    assert triggers.missing() == []
    triggers.lift()
    assert "coop_deed_no_delete" in triggers.missing()
    triggers.lay()
    assert triggers.missing() == []


@pytest.mark.postgresql
@pytest.mark.django_db(transaction=True)
def test_a_double_tap_in_two_threads_does_it_once(add_kind: Any) -> None:
    Club.objects.create(name="Alder Brook", zone="Europe/Paris")
    actor = Person.objects.create_user("pia@example.org", name="Pia")
    key, start, got = new_key(), threading.Barrier(2), []

    def tap() -> None:
        start.wait()
        try:
            got.append(add_kind(actor=actor, key=key, name="nucleus").pk)
        finally:
            connection.close()

    threads = [threading.Thread(target=tap) for _tap in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(set(got)) == 1
    assert len(got) == 2
    assert HiveKind.objects.count() == 1
