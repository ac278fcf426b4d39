"""The page of choices before labels are printed: a sentence for what cannot be, nothing lost, and who it opens to."""

import pypdfium2
import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from inventory.labels import address_of
from inventory.models import Delivery, Lot
from tests.makers import inventory
from tests.makers.coop import club, coordinator, deed, member, sign_in, volunteer

pytestmark = pytest.mark.django_db

DRUMS = [{"name": "drum 1", "tare_mg": 1_250_000}, {"name": "drum 2"}]


@pytest.fixture
def lot():
    return inventory.lot(inventory.acid(), containers=DRUMS)


@pytest.fixture
def client():
    return sign_in(Client(), volunteer("Vera"))


def page(client, lot, **asked):
    return client.get(reverse("inventory:lot_labels", args=[lot.code_id]), asked)


def text_of(answer):
    assert answer.status_code == 200, answer.content.decode()
    assert answer["Content-Type"] == "application/pdf"
    document = pypdfium2.PdfDocument(answer.content)
    return [one.get_textpage().get_text_range().replace("\u00a0", " ") for one in document]


def test_the_page_asks_for_paper_start_and_shift(client, lot):
    text = page(client, lot).content.decode()
    for word in ("99.1 × 67.7 mm, 8 a sheet (2 × 4)", "First free label", "Shift to the right", "drum 2"):
        assert word in text
    assert "each container that is not empty: 2" in text


def test_as_pdf_alone_is_one_label_for_each_container(client, lot):
    (sheet,) = text_of(page(client, lot, **{"as": "pdf"}))
    assert sheet.count(lot.spaced_code) == 2
    assert "drum 1" in sheet
    assert "drum 2" in sheet


def test_one_container_the_lot_alone_and_several_copies(client, lot):
    drum = lot.lot.containers.get(name="drum 2")
    (sheet,) = text_of(page(client, lot, **{"as": "pdf", "which": drum.pk, "copies": "3"}))
    assert (sheet.count("drum 2"), sheet.count("drum 1")) == (3, 0)
    (sheet,) = text_of(page(client, lot, **{"as": "pdf", "which": "lot"}))
    assert "drum" not in sheet


def test_a_paper_of_ones_own_by_its_measures_with_comma(client, lot):
    own = {"paper": "own", "width": "95,5", "height": "60", "columns": "2", "rows": "4", "left": "7.5", "top": "20"}
    assert text_of(page(client, lot, **{"as": "pdf", **own, "first": "8", "copies": "2"}))[1].count("drum") == 3


@pytest.mark.parametrize(
    ("asked", "sentence"),
    [
        ({"first": "9"}, "A sheet of this paper has the labels 1 to 8."),
        ({"first": "0"}, "too small here"),
        ({"right": "5.1"}, "leaves the paper"),
        ({"right": "NaN"}, "no measure in millimetres"),
        ({"down": "1e99"}, "no measure in millimetres"),
        ({"down": ""}, "This field is required"),
        ({"copies": "-1"}, "too small here"),
        ({"copies": "251"}, "Print them in parts"),
        ({"copies": "1000000000000"}, "too large here"),
        ({"paper": "A9"}, "Select a valid choice"),
        ({"which": "no such drum"}, "Select a valid choice"),
        ({"paper": "own"}, "Say this too"),
        ({"paper": "own", "width": "90", "height": "60", "columns": "3", "rows": "4"}, "270\u202fmm across"),
        ({"paper": "own", "width": "30", "height": "20", "columns": "3", "rows": "4"}, "at least 40 × 25 mm"),
        ({"paper": "own", "width": "9" * 200, "height": "20", "columns": "3", "rows": "4"}, "at most 40 characters"),
    ],
)
def test_what_cannot_be_printed_gets_a_sentence_and_keeps_the_choices(client, lot, asked, sentence):
    answer = page(client, lot, **{"as": "pdf", "copies": "2", **asked})
    assert answer.status_code == 422
    text = answer.content.decode()
    assert sentence in text
    for name, value in asked.items():
        if name in ("first", "copies", "right", "down", "width"):
            assert f'name="{name}" value="{value}"' in text or not value


def test_a_paper_too_small_for_hazard_words_is_refused_with_those_that_hold_them(client, lot):
    club(hazard_text="Harmful in contact with skin or if swallowed. " * 3)
    answer = page(client, lot, **{"as": "pdf", "paper": "63.5x38.1-3x7"})
    assert answer.status_code == 422
    assert "These papers hold them: 99.1 × 67.7 mm, 8 a sheet" in answer.content.decode()


def test_a_club_without_hazard_words_is_told(client, lot):
    club(hazard_text="")
    assert "hold no hazard words" in page(client, lot).content.decode()


def test_a_delivery_prints_all_its_lots(client, lot):
    other = inventory.lot(inventory.glycerine())
    third = inventory.lot(inventory.glycerine())
    delivery = Delivery.objects.create(supplier=lot.lot.supplier, arrived_at=timezone.now(), deed=deed())
    url = reverse("inventory:delivery_labels", args=[delivery.pk])
    assert "No lot came with this delivery yet" in client.get(url).content.decode()
    Lot.objects.filter(pk__in=[lot.pk, other.pk]).update(delivery=delivery)
    (sheet,) = text_of(client.get(url, {"as": "pdf"}))
    assert (sheet.count(lot.spaced_code), sheet.count(other.spaced_code)) == (2, 1)
    assert third.spaced_code not in sheet


def test_labels_open_to_volunteers_and_not_to_members(lot):
    url = reverse("inventory:lot_labels", args=[lot.code_id])
    assert sign_in(Client(), coordinator("Cora")).get(url).status_code == 200
    assert sign_in(Client(), member("Mia")).get(url).status_code in (403, 404)
    assert Client().get(url).status_code == 302
    bag = url.replace(lot.code_id, "33333333")
    assert sign_in(Client(), volunteer()).get(bag).status_code == 404


def test_the_address_in_the_picture_leads_to_the_page_of_the_code(lot):
    path = "/" + address_of(lot.code_id).split("/", 3)[3]
    assert path == f"/C/{lot.code_id}"
    answers = [Client().get(one) for one in (path, path.replace("/C/", "/c/"))]
    assert [answer.status_code for answer in answers] == [200, 200]
    assert "Not cleared" in answers[0].content.decode()


def test_the_lot_page_leads_to_the_labels_and_the_api_reads_them_out(client, lot):
    assert (
        reverse("inventory:lot_labels", args=[lot.code_id])
        in client.get(reverse("inventory:lot", args=[lot.code_id])).content.decode()
    )
    first, second = client.get(f"/api/v1/items/{lot.code_id}/labels").json()
    assert (first["container"], second["container"]) == ("drum 1, empty 1\u202f250\u202fg", "drum 2")
    assert (first["signal"], first["address"]) == ("Danger", address_of(lot.code_id))
    assert client.get("/api/v1/items/33333333/labels").status_code == 404
    assert sign_in(Client(), member()).get(f"/api/v1/items/{lot.code_id}/labels").status_code == 403
