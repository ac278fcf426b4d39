"""The pages and the API of what happens to one thing: amounts as people type them, double taps, who may."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from coop.command import new_key
from coop.models import Deed
from inventory import ledger
from inventory.commands.stock import transfer
from inventory.models import Item, Movement, Place, Question
from tests.makers import inventory as make
from tests.makers.api import Api
from tests.makers.coop import coordinator, do, member, sign_in, volunteer

pytestmark = pytest.mark.django_db

DRUMS = [
    {"name": "drum 1", "tare_mg": 1_000_000, "gross_mg": 3_000_000},
    {"name": "drum 2", "tare_mg": 1_000_000, "gross_mg": 4_000_000},
]
LONG, SCRIPTS = "ä" * 200, "Ωμέγα, 草酸, щавель, \u202eלימון"


@pytest.fixture
def shed() -> Place:
    return make.shed(name="Mill shed")


@pytest.fixture
def other(shed: Place) -> Place:
    return make.shed(name="Hill shed")


@pytest.fixture
def item(shed: Place) -> Item:
    return make.lot(make.acid(most_at_once=25 * make.KG), shed, quantity=5 * make.KG, containers=DRUMS)


@pytest.fixture
def keeper() -> Any:
    return sign_in(Client(), coordinator("Ida Holm"))


def pages(shed: Place, other: Place) -> dict[str, dict[str, Any]]:
    """Every page that moves an amount of one thing, with what it wants besides the amount."""
    return {
        "draw": {"place": shed.pk},
        "transfer": {"place": shed.pk, "target": other.pk},
        "discard": {"place": shed.pk},
        "count": {"place": shed.pk},
        "find": {"place": shed.pk, "note": "behind the door"},
        "spill": {"place": shed.pk, "what": "It fell over."},
    }


def url(name: str, item: Item, *more: Any) -> str:
    return reverse(f"inventory:{name}", args=[item.code_id, *more])


@pytest.mark.parametrize("text", ["", "-5", "NaN", "inf", "1e99", "5 lb", "1,5.0", "0.0001", "five", "1" * 41, "٣٫٥x"])
def test_an_amount_that_cannot_be_read_gets_a_sentence_and_changes_nothing(
    keeper: Client, item: Item, shed: Place, other: Place, text: str
) -> None:
    for name, facts in pages(shed, other).items():
        answer = keeper.post(url(name, item), {"key": new_key(), "quantity": text, **facts})
        assert answer.status_code == 422, name
        assert answer.context["form"].errors["quantity"], name
    api = Api(coordinator())
    for name, facts in api_deeds(shed, other).items():
        assert api.send(f"items/{item.code_id}/{name}", mass_g=text, **facts).status_code == 400, name
    assert Movement.objects.count() == 1


def api_deeds(shed: Place, other: Place) -> dict[str, dict[str, Any]]:
    wanted = pages(shed, other)
    wanted["transfer"] = {"source": shed.pk, "target": other.pk}
    return wanted


@pytest.mark.parametrize("text", ["1500", "1 500", "1500,0", "1500.0", "1,5 kg", "1.5 kg", "1500 g"])
def test_comma_point_and_unit_are_all_read(keeper: Client, item: Item, shed: Place, other: Place, text: str) -> None:
    for name, facts in pages(shed, other).items():
        answer = keeper.post(url(name, item), {"key": new_key(), "quantity": text, **facts})
        assert answer.status_code == 302, (name, answer.context["form"].errors)
    causes = Movement.objects.exclude(cause__in=["receive", "count"]).values_list("cause", "quantity")
    assert set(causes) == {(cause, 1_500_000) for cause in ("draw", "transfer", "discard", "found", "spill")}


def test_a_double_tap_is_one_deed(keeper: Client, item: Item, shed: Place, other: Place) -> None:
    api = Api(coordinator())
    for name, facts in pages(shed, other).items():
        sent, before = {"key": new_key(), "quantity": "10", **facts}, Deed.objects.count()
        first, again = keeper.post(url(name, item), sent), keeper.post(url(name, item), sent)
        assert (first.status_code, again.status_code) == (302, 302), name
        assert Deed.objects.count() == before + 1, name
    for name, facts in api_deeds(shed, other).items():
        key, before = new_key(), Deed.objects.count()
        first, again = (api.send(f"items/{item.code_id}/{name}", key, mass_g="20", **facts) for _time in range(2))
        assert first.json() == again.json(), name
        assert Deed.objects.count() == before + 1, name


def test_kilograms_typed_for_grams_are_asked_about_with_a_tick(
    keeper: Client, item: Item, shed: Place, other: Place
) -> None:
    api = Api(coordinator())
    for name, facts in api_deeds(shed, other).items():
        api.refused(f"items/{item.code_id}/{name}", "did_you_mean", mass_g="500000", **facts)
    for name, facts in pages(shed, other).items():
        assert 'type="hidden" name="confirmed"' in keeper.get(url(name, item)).content.decode(), name
        sent = {"key": new_key(), "quantity": "500 kg", **facts}
        answer = keeper.post(url(name, item), sent)
        assert answer.status_code == 422, name
        assert 'type="checkbox" name="confirmed"' in answer.content.decode(), name
        assert "Is the unit right?" in answer.content.decode(), name
    assert Movement.objects.count() == 1
    assert keeper.post(url("find", item), {**sent, "note": "a pallet", "confirmed": "on"}).status_code == 302


def test_long_words_and_other_scripts_are_kept_or_refused_with_a_sentence(
    keeper: Client, item: Item, shed: Place
) -> None:
    facts = {"place": shed.pk, "quantity": "1"}
    for note in (LONG, SCRIPTS):
        assert keeper.post(url("find", item), {"key": new_key(), **facts, "note": note}).status_code == 302
        assert Question.objects.latest("pk").answer == note
    assert keeper.post(url("find", item), {"key": new_key(), **facts, "note": "x" * 301}).status_code == 422
    assert keeper.post(url("find", item), {"key": new_key(), **facts, "note": " "}).status_code == 422


def test_who_counts_is_not_told_what_the_book_says(keeper: Client, item: Item) -> None:
    for name in ("count", "weigh"):
        page = keeper.get(url(name, item)).content.decode()
        assert "5\u202f000" not in page, name
        assert "By the book" not in page, name
    assert "5\u202f000" in keeper.get(url("draw", item)).content.decode()
    wrong = keeper.post(url("count", item), {"key": new_key(), "place": "", "quantity": "-1"})
    assert "5\u202f000" not in wrong.content.decode()


def test_a_closed_or_unknown_shed_is_no_choice(keeper: Client, item: Item, other: Place) -> None:
    Place.objects.filter(pk=other.pk).update(is_closed=True)
    lost = Place.objects.the(Place.Kind.LOST)
    for place in (other.pk, lost.pk, 10**9, "x"):
        answer = keeper.post(url("draw", item), {"key": new_key(), "quantity": "1", "place": place})
        assert answer.status_code == 422, place
    api = Api(coordinator())
    for wrong in (lost.pk, 10**9, "x", None):
        assert api.send(f"items/{item.code_id}/draw", place=wrong, mass_g="1").status_code == 400, wrong


def test_found_stock_is_for_coordinators(item: Item, shed: Place) -> None:
    body = {"place": shed.pk, "mass_g": "500", "note": "behind the door"}
    for person in (volunteer(), member()):
        assert sign_in(Client(), person).get(url("find", item)).status_code == 403
        assert Api(person).send(f"items/{item.code_id}/find", **body).status_code == 403
    answer = Api(coordinator()).post(f"items/{item.code_id}/find", **body)
    assert (answer["cause"], answer["mass_g"], answer["note"]) == ("found", "500", "behind the door")
    assert ledger.on_hand(item) == 5_500_000
    assert Api(coordinator()).send(f"items/{item.code_id}/find", **body | {"note": ""}).status_code == 400


def test_a_correction_names_what_it_corrects_and_is_named_by_it(keeper: Client, item: Item, shed: Place) -> None:
    wrong = do(transfer, item=item, source=shed, target=make.shed(), quantity=500_000)
    api = Api(coordinator())
    assert api.send(f"movements/{wrong.pk}/correct", mass_g="400").status_code == 400
    right = api.post(f"movements/{wrong.pk}/correct", mass_g="400", note="read the wrong line")["movement"]
    assert right["replaces"] == wrong.pk
    page = keeper.get(reverse("inventory:ledger"), {"code": item.code_id}).content.decode()
    assert page.count("corrects 500\u202fg of ") == 2
    assert f'href="{reverse("inventory:deed", args=[wrong.deed_id])}">corrects' in page
    assert f'href="{reverse("inventory:deed", args=[right["deed"]])}">set right</a>' in page
    deed = keeper.get(reverse("inventory:deed", args=[right["deed"]])).content.decode()
    assert deed.count("corrects 500\u202fg of ") == 2
    assert "read the wrong line" in deed
