"""The incident book: a spill is a movement and a word in one deed; nothing in it is ever changed."""

from typing import Any

import pytest
from django.db import IntegrityError, transaction

from coop import reader
from coop.command import Refused
from inventory import ledger, proofs
from inventory.commands.incidents import note_incident, spill
from inventory.models import Incident, Item, Movement, Place, Question
from tests.makers import inventory as make
from tests.makers.coop import coordinator, do, member, volunteer

pytestmark = pytest.mark.django_db


@pytest.fixture
def shed() -> Place:
    return make.shed(name="Mill shed")


@pytest.fixture
def item(shed: Place) -> Item:
    return make.lot(place=shed, quantity=5_000, containers=[{"name": "drum", "tare_mg": 1_000, "gross_mg": 6_000}])


def test_a_spill_is_lost_and_in_the_book_in_one_deed(item: Item, shed: Place) -> None:
    facts = {"what": " A drum fell over. ", "people": "Ada", "done": "Swept up dry."}
    incident = do(spill, volunteer(), item=item, place=shed, quantity=200, **facts)
    movement = incident.movement
    assert (incident.what, incident.people, incident.done) == ("A drum fell over.", "Ada", "Swept up dry.")
    assert (movement.cause, movement.target.kind, movement.quantity) == ("spill", "lost", 200)
    assert (movement.note, movement.deed) == ("A drum fell over.", incident.deed)
    assert ledger.on_hand(item) == 4_800


def test_more_than_the_book_held_was_spilt_all_the_same(item: Item, shed: Place) -> None:
    do(spill, item=item, place=shed, quantity=5_100, what="Two drums fell over.")
    assert ledger.on_hand(item) == 0
    assert Question.objects.get().kind == "found"


@pytest.mark.parametrize(("quantity", "net"), [(2_000, 3_000), (5_000, 0), (7_000, 0)])
def test_what_is_spilt_from_a_drum_is_no_longer_in_it(item: Item, shed: Place, quantity: int, net: int) -> None:
    drum = item.lot.containers.get()
    do(spill, item=item, place=shed, quantity=quantity, what="It fell over.", container=drum)
    drum.refresh_from_db()
    assert (drum.net_mg, drum.emptied_on is not None) == (net, net == 0)


def test_a_splash_is_noted_without_a_movement(shed: Place) -> None:
    incident = do(note_incident, volunteer(), what="A splash in the face.", done="Rinsed for long.", place=shed)
    assert (incident.movement, incident.place) == (None, shed)
    assert do(note_incident, what="A near thing.").place is None
    assert not Movement.objects.exists()


def test_what_cannot_be_understood_is_refused(item: Item, shed: Place) -> None:
    other = make.shed()
    strange = make.lot(place=shed, quantity=5, containers=[{"name": "can"}]).lot.containers.get()
    drum = item.lot.containers.get()
    lost = Place.objects.the(Place.Kind.LOST)
    good = {"item": item, "place": shed, "quantity": 5, "what": "It fell over."}
    wrong: list[tuple[Any, dict[str, Any], str]] = [
        (spill, good | {"what": " "}, "what"),
        (spill, good | {"quantity": 0}, "quantity"),
        (spill, good | {"quantity": -5}, "quantity"),
        (spill, good | {"place": lost}, "place"),
        (spill, good | {"container": strange}, "container"),
        (spill, good | {"place": other, "container": drum}, "container"),
        (note_incident, {"what": ""}, "what"),
        (note_incident, {"what": "A splash.", "place": lost}, "place"),
    ]
    for command, facts, code in wrong:
        with pytest.raises(Refused) as refusal:
            do(command, **facts)
        assert refusal.value.code == code, facts
    assert not Incident.objects.exists()
    assert ledger.on_hand(item) == 5_000


def test_kilograms_for_grams_are_asked_about(shed: Place) -> None:
    item = make.lot(make.acid(most_at_once=25 * make.KG), shed)
    facts = {"item": item, "place": shed, "quantity": 200 * make.KG, "what": "A bag burst."}
    with pytest.raises(Refused) as refusal:
        do(spill, **facts)
    assert refusal.value.code == "did_you_mean"
    assert do(spill, **facts, confirmed=True).movement.quantity == 200 * make.KG


def test_the_database_keeps_every_entry_as_it_was(item: Item, shed: Place) -> None:
    do(spill, item=item, place=shed, quantity=5, what="It fell over.")
    for change in (lambda: Incident.objects.update(what="Nothing."), lambda: Incident.objects.all().delete()):
        with pytest.raises(IntegrityError), transaction.atomic():
            change()


def test_names_are_for_coordinators_and_for_who_wrote_them() -> None:
    writer = volunteer("Vol Ash")
    incident = do(note_incident, writer, what="A splash.", people="Lotte Krane")
    readers = [(writer, True), (coordinator(), True), (volunteer(), False), (member(), False), (object(), False)]
    with reader.one_request():
        for who, may in readers:
            reader.is_read_by(who)
            assert incident.people_words == ("Lotte Krane" if may else ""), who


def test_an_incident_that_names_a_strange_movement_is_named(item: Item, shed: Place) -> None:
    do(spill, item=item, place=shed, quantity=5, what="It fell over.")
    assert list(proofs.incidents()) == []
    movement = Movement.objects.get(cause="receive")
    made = Incident.objects.create(what="x", movement=movement, deed=movement.deed, happened_at=movement.happened_at)
    assert list(proofs.incidents()) == [f"incident {made.pk} names a movement that is no spill of the same deed"]
