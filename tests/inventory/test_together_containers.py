"""Two people with one drum, in real threads on PostgreSQL: it is carried once."""

from typing import Any

import pytest

from coop.command import Refused, new_key
from inventory import containers, ledger
from inventory.commands.containers import move_container
from inventory.models import Container, Item, Movement, Place, Question
from tests.inventory.test_together import Meeting, Work, together
from tests.makers import inventory as make
from tests.makers.coop import coordinator

pytestmark = [pytest.mark.postgresql, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def shed() -> Place:
    return make.shed()


@pytest.fixture
def lot(shed: Place) -> Item:
    return make.lot(place=shed, quantity=5_000, containers=[{"name": "drum", "tare_mg": 1_000, "gross_mg": 6_000}])


def carried_by_two(lot: Item, targets: list[Place], monkeypatch: Any) -> list[Any]:
    """Both have read where the drum stands before either of them writes."""
    meeting, net_of = Meeting(), containers.net_of
    Place.objects.the(Place.Kind.FOUND)

    def after_meeting(container: Container, gross_mg: int) -> int:
        meeting.wait()
        return net_of(container, gross_mg)

    monkeypatch.setattr(containers, "net_of", after_meeting)
    drum, people = lot.lot.containers.get(), [coordinator(), coordinator()]

    def work(person: Any, target: Place) -> Work:
        mine = Container.objects.get(pk=drum.pk)
        return lambda: move_container(actor=person, key=new_key(), container=mine, target=target)

    return together(*(work(person, target) for person, target in zip(people, targets, strict=True)))


def test_a_drum_that_two_carry_off_is_carried_once(lot: Item, monkeypatch: Any) -> None:
    targets = [make.shed(), make.shed()]
    got = carried_by_two(lot, targets, monkeypatch)
    moved = [one for one in got if isinstance(one, Movement)]
    refused = [one for one in got if isinstance(one, Refused)]
    assert (len(moved), [one.code for one in refused]) == (1, ["moved"]), got
    drum = lot.lot.containers.get()
    assert drum.place == moved[0].target
    assert ledger.on_hand(lot) == 5_000
    assert not Question.objects.exists()


def test_without_the_guard_its_content_is_found_a_second_time(lot: Item, monkeypatch: Any) -> None:
    def careless(container: Container, target: Place, gross_mg: int) -> bool:
        return bool(Container.objects.filter(pk=container.pk).update(place=target, gross_mg=gross_mg))

    monkeypatch.setattr(containers, "put_down", careless)
    got = carried_by_two(lot, [make.shed(), make.shed()], monkeypatch)
    assert all(isinstance(one, Movement) for one in got), got
    assert ledger.on_hand(lot) == 10_000
