"""The incident book on pages and over the API: easy to write, whom to call beside it, names kept to few."""

from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from coop.command import new_key
from inventory import ledger
from inventory.commands.correcting import correct
from inventory.commands.incidents import note_incident, spill
from inventory.models import Incident, Item, Place
from tests.makers import inventory as make
from tests.makers.api import Api
from tests.makers.coop import club, coordinator, do, member, sign_in, volunteer

pytestmark = pytest.mark.django_db

BOOK, NEW = reverse("inventory:incidents"), reverse("inventory:incident_new")
WORDS = {"what": "A drum fell over.", "people": "Lotte Krane", "done": "Swept up dry."}


@pytest.fixture
def shed() -> Place:
    return make.shed(name="Mill shed")


@pytest.fixture
def item(shed: Place) -> Item:
    drums = [{"name": "drum", "tare_mg": 1_000_000, "gross_mg": 6_000_000}]
    return make.lot(make.acid(most_at_once=25 * make.KG), shed, quantity=5 * make.KG, containers=drums)


@pytest.fixture
def helper() -> Any:
    return sign_in(Client(), volunteer("Vol Ash"))


def spill_url(item: Item) -> str:
    return reverse("inventory:spill", args=[item.code_id])


def test_whom_to_call_stands_on_every_page_of_the_book(helper: Client, item: Item) -> None:
    entry = do(note_incident, what="A splash.")
    for address in (BOOK, NEW, spill_url(item), reverse("inventory:incident", args=[entry.pk])):
        page = helper.get(address).content.decode()
        assert 'href="tel:+33199005678"' in page, address
        for words in ("3 Mill Lane, Willow Bank", "rinse with water", club().sheet_link):
            assert words in page, (address, words)
    for address in (NEW, spill_url(item)):
        assert "Goggles and gloves on" in helper.get(address).content.decode()
    assert f'href="{NEW}"' in helper.get(reverse("shelf")).content.decode()
    assert f'href="{spill_url(item)}"' in helper.get(reverse("inventory:lot", args=[item.code_id])).content.decode()


def test_a_club_that_wrote_nothing_down_is_told_so(helper: Client) -> None:
    club(poison_phone="", shed_address="", first_aid_text="", phone="", sheet_link="")
    assert "Something is missing here." in helper.get(NEW).content.decode()


def test_a_volunteer_notes_a_spill_on_the_page_of_the_thing(helper: Client, item: Item, shed: Place) -> None:
    drum = item.lot.containers.get()
    sent = {"key": new_key(), "place": shed.pk, "quantity": "0,2 kg", "container": drum.pk, **WORDS}
    for _tap in range(2):
        answer = helper.post(spill_url(item), sent)
        assert answer.status_code == 302
    entry = Incident.objects.get()
    assert answer["Location"] == reverse("inventory:incident", args=[entry.pk])
    assert (entry.what, entry.people, entry.done) == tuple(WORDS.values())
    drum.refresh_from_db()
    assert (ledger.on_hand(item), drum.net_mg) == (4_800_000, 4_800_000)
    all_of_it = {**sent, "key": new_key(), "quantity": "4,8 kg"}
    for _tap in range(2):
        assert helper.post(spill_url(item), all_of_it).status_code == 302
    drum.refresh_from_db()
    assert (ledger.on_hand(item), drum.net_mg) == (0, 0)
    page = helper.get(answer["Location"]).content.decode()
    for words in ("200\u202fg", "Mill shed", "Lotte Krane", "Vol Ash"):
        assert words in page


def test_a_spill_of_pieces_has_no_container(helper: Client, shed: Place) -> None:
    strips = make.lot(make.strips(), shed)
    assert "container" not in helper.get(spill_url(strips)).context["form"].fields
    sent = {"key": new_key(), "place": shed.pk, "quantity": "12", "what": "Wet through."}
    assert helper.post(spill_url(strips), sent).status_code == 302
    assert ledger.on_hand(strips) == 988


def test_a_splash_or_a_spill_is_written_one_tap_from_the_shelf(helper: Client, item: Item, shed: Place) -> None:
    assert helper.post(NEW, {"key": new_key(), "what": "A splash in the face."}).status_code == 302
    assert Incident.objects.get().movement is None
    code = f"{item.code_id[:4]} {item.code_id[4:]}".lower()
    sent = {"key": new_key(), "place": shed.pk, "code": code, "quantity": "150,5", **WORDS}
    assert helper.post(NEW, sent).status_code == 302
    assert Incident.objects.exclude(movement=None).get().movement.quantity == 150_500
    assert ledger.on_hand(item) == 4_849_500


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"what": " "}, "what"), ({"what": "x" * 501}, "what"), ({"people": "x" * 201}, "people"),
        ({"code": "XXXXXXXX"}, "code"), ({"code": ""}, "code"), ({"quantity": ""}, "quantity"),
        ({"quantity": "-1"}, "quantity"), ({"quantity": "NaN"}, "quantity"), ({"quantity": "1e99"}, "quantity"),
        ({"quantity": "0"}, "quantity"), ({"quantity": "500 kg"}, "quantity"), ({"place": ""}, "place"),
        ({"place": "x"}, "place"),
    ],
)  # fmt: skip
def test_what_cannot_be_understood_gets_a_sentence_and_keeps_the_words(
    helper: Client, item: Item, shed: Place, change: dict[str, str], field: str
) -> None:
    sent = {"key": new_key(), "place": shed.pk, "code": item.code_id, "quantity": "150", **WORDS, **change}
    answer = helper.post(NEW, sent)
    assert (answer.status_code, list(answer.context["form"].errors)) == (422, [field])
    assert "Swept up dry." in answer.content.decode()
    assert not Incident.objects.exists()
    assert ledger.on_hand(item) == 5_000_000


def test_other_scripts_are_kept_as_they_are(helper: Client) -> None:
    words = {"what": "Пролито <b>草酸</b> \u202eלימון", "people": "Åsa Öberg", "done": "ä" * 500}
    answer = helper.post(NEW, {"key": new_key(), **words})
    assert Incident.objects.get().what == words["what"]
    page = helper.get(answer["Location"]).content.decode()
    assert "<b>草酸</b>" not in page
    assert "&lt;b&gt;草酸" in page


def test_names_are_read_by_coordinators_and_by_who_wrote_them(helper: Client, item: Item, shed: Place) -> None:
    writer = volunteer("Pia Lund")
    entry = do(spill, writer, item=item, place=shed, quantity=5, **WORDS)
    addresses = [BOOK, f"{BOOK}?as=csv", reverse("inventory:incident", args=[entry.pk])]
    readers = [(sign_in(Client(), coordinator()), True), (sign_in(Client(), writer), True), (helper, False)]
    for client, may in readers:
        for address in addresses:
            page = client.get(address).content.decode()
            assert ("Lotte Krane" in page) is may, address
            assert "A drum fell over." in page, address
    for person, may in ((coordinator(), True), (writer, True), (volunteer(), False)):
        assert ("Lotte Krane" in str(Api(person).get("incidents"))) is may
    assert "A drum fell over" not in helper.get(BOOK, {"q": "Krane"}).content.decode()  # nor found by


def test_members_stay_out(item: Item, shed: Place) -> None:
    entry = do(note_incident, what="A splash.")
    stranger = sign_in(Client(), member())
    for address in (BOOK, NEW, spill_url(item), reverse("inventory:incident", args=[entry.pk])):
        assert stranger.get(address).status_code == 403, address
        assert Client().get(address).status_code == 302, address
    api = Api(member())
    body = {"place": shed.pk, "mass_g": "5", "what": "x"}
    assert api.send(f"items/{item.code_id}/spill", **body).status_code == 403
    assert api.send("incidents/note", what="x").status_code == 403
    assert api.client.get("/api/v1/incidents").status_code == 403


def test_a_program_reports_and_reads(item: Item, shed: Place) -> None:
    api, key = Api(volunteer("Vol Ash")), new_key()
    body = {"place": shed.pk, "mass_g": "150,5", **WORDS}
    first, again = (api.post(f"items/{item.code_id}/spill", key=key, **body) for _time in range(2))
    assert first == again
    assert (first["spilt"]["mass_g"], first["spilt"]["code"], first["by"]) == ("150.5", item.code_id, "Vol Ash")
    assert api.post("incidents/note", what="A splash.", place=shed.pk)["spilt"] is None
    listed = api.get("incidents", place=shed.pk)["results"]
    assert [row["what"] for row in listed] == ["A splash.", "A drum fell over."]
    for wrong in ({"what": ""}, {"what": " "}, {"mass_g": "1e99"}, {"mass_g": "-1"}, {"pieces": 4}, {"place": 10**9}):
        assert api.send(f"items/{item.code_id}/spill", **{**body, **wrong}).status_code == 400, wrong
    api.refused(f"items/{item.code_id}/spill", "did_you_mean", **{**body, "mass_g": "500000"})
    assert api.send("incidents/note", what="x" * 501).status_code == 400


def test_an_amount_set_right_is_shown_as_it_stands(helper: Client, item: Item, shed: Place) -> None:
    entry = do(spill, item=item, place=shed, quantity=500_000, **WORDS)
    right = do(correct, movement=entry.movement, quantity=50_000, note="a nought too many")
    address = reverse("inventory:incident", args=[entry.pk])
    assert "50\u202fg" in helper.get(address).content.decode()
    assert "set right in the ledger" in helper.get(address).content.decode()
    api = Api(volunteer())
    assert [row["spilt"]["mass_g"] for row in api.get("incidents")["results"]] == ["50"]
    do(correct, movement=right, quantity=0, note="it was water")
    assert helper.get(address).context["spilt"] == ""
    assert [row["spilt"] for row in api.get("incidents")["results"]] == [None]
    assert helper.get(BOOK).status_code == 200


def test_a_longer_book_asks_no_more_of_the_database(helper: Client, item: Item, shed: Place) -> None:
    def queries(address: str) -> int:
        with CaptureQueriesContext(connection) as seen:
            assert helper.get(address).status_code == 200
        return len(seen)

    def write() -> None:
        entry = do(spill, volunteer(), item=item, place=shed, quantity=5, **WORDS)
        do(note_incident, volunteer(), what="A splash.", place=make.shed())
        do(correct, movement=entry.movement, quantity=4, note="a slip")

    addresses = (BOOK, f"{BOOK}?as=csv", "/api/v1/incidents")
    write()
    for address in addresses:
        queries(address)
    before = [queries(address) for address in addresses]
    write(), write()
    assert [queries(address) for address in addresses] == before
