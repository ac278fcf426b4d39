"""A stocktake on pages and over the API: blind, one question a screen, and who may."""

import datetime as dt
from typing import Any

import pypdfium2
import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from coop.command import new_key
from inventory import ledger
from inventory.commands.stocktaking import begin_stocktake, count_in, end_stocktake
from inventory.models import Count, Item, Movement, Place, Stocktake
from inventory.stocktakes_today import open_stocktakes
from tests.makers import inventory as make
from tests.makers.api import Api
from tests.makers.coop import coordinator, do, member, sign_in, volunteer

pytestmark = pytest.mark.django_db

KG = make.KG
#: 4 321 g in the book: a figure that stands nowhere else
BOOK = 4_321_000
FIGURES = ("4\u202f321", "4321", "4.321")
DRUMS = [
    {"name": "drum 1", "tare_mg": 1 * KG, "gross_mg": 3 * KG},
    {"name": "drum 2", "tare_mg": 1 * KG, "gross_mg": 3_321_000},
]


@pytest.fixture
def shed() -> Place:
    return make.shed(name="Mill shed")


@pytest.fixture
def lot(shed: Place) -> Item:
    return make.lot(make.glycerine(most_at_once=25 * KG), shed, quantity=BOOK)


@pytest.fixture
def drums(shed: Place) -> Item:
    return make.lot(make.acid(), shed, quantity=BOOK, containers=DRUMS)


@pytest.fixture
def ann() -> Any:
    return volunteer("Ann Ash")


@pytest.fixture
def take(shed: Place, lot: Item, ann: Any) -> Stocktake:
    made: Stocktake = do(begin_stocktake, ann, place=shed)
    return made


@pytest.fixture
def helper(ann: Any) -> Client:
    client: Client = sign_in(Client(), ann)
    return client


def url(name: str, *args: Any) -> str:
    return reverse(f"inventory:{name}", args=args)


def text(answer: Any) -> str:
    return str(answer.content.decode())


def posted(client: Client, address: str, **facts: Any) -> Any:
    return client.post(address, {"key": new_key(), **facts})


def test_it_is_begun_on_the_page_of_the_shed_and_gone_on_with_there(helper: Client, shed: Place, lot: Item) -> None:
    begin = url("stocktake_begin", shed.pk)
    page = text(helper.get(url("shed", shed.pk)))
    assert begin in page
    assert FIGURES[0] in page
    answer = posted(helper, begin, note="before the season")
    take = Stocktake.objects.get()
    assert answer.url == url("stocktake", take.pk)
    page = text(helper.get(url("shed", shed.pk)))
    assert url("stocktake", take.pk) in page
    assert not any(figure in page for figure in FIGURES)
    assert helper.get(begin).url == url("stocktake", take.pk)
    assert posted(sign_in(Client(), volunteer("Ben Elm")), begin).url == url("stocktake", take.pk)


def test_no_page_and_no_answer_shows_the_book_before_all_is_counted(
    helper: Client, take: Stocktake, lot: Item, drums: Item, ann: Any
) -> None:
    posted(helper, url("stocktake_count", take.pk, lot.code_id), quantity="4000")
    shown = [
        text(helper.get(address))
        for address in (
            url("stocktake", take.pk), url("stocktake_differences", take.pk), url("stocktakes"),
            url("stocktake_count", take.pk, lot.code_id), url("stocktake_count", take.pk, drums.code_id),
            url("shed", take.place_id), f"{url('shed', take.place_id)}?as=csv", f"/api/v1/stocktakes/{take.pk}",
            f"{url('stocktake_differences', take.pk)}?as=csv", "/api/v1/stocktakes",
        )
    ]  # fmt: skip
    for page in shown:
        assert not any(figure in page for figure in (*FIGURES, "321", "3\u202f321")), page[:200]
    answer = helper.get(f"/api/v1/stocktakes/{take.pk}").json()
    assert answer["left"] == [drums.code_id]
    assert answer["look_again"] == []
    assert [thing["figures"] for thing in answer["things"]] == [None, None]


def test_the_second_look_is_blind_too(helper: Client, take: Stocktake, lot: Item) -> None:
    posted(helper, url("stocktake_count", take.pk, lot.code_id), quantity="3999")
    for address in (
        url("stocktake", take.pk), url("stocktake_differences", take.pk), url("stocktake_count", take.pk, lot.code_id),
        f"/api/v1/stocktakes/{take.pk}",
    ):  # fmt: skip
        page = text(helper.get(address)).replace("Kept: 3\u202f999", "")
        assert not any(figure in page for figure in (*FIGURES, "3\u202f999", "3999", "322")), address
    page = text(helper.get(url("stocktake_count", take.pk, lot.code_id)))
    assert "Better somebody else looks" in page


def test_after_the_second_look_the_differences_stand_there_and_are_written(
    helper: Client, take: Stocktake, lot: Item, ann: Any
) -> None:
    for grams in ("3999", "4000,5 g"):
        posted(helper, url("stocktake_count", take.pk, lot.code_id), quantity=grams)
    page = text(helper.get(url("stocktake_differences", take.pk)))
    for words in (
        FIGURES[0],
        "3\u202f999",
        "4\u202f000.5",
        "−320.5",
        "Write one difference into the book",
        "Look again",
    ):
        assert words in page, words
    assert helper.get(f"/api/v1/stocktakes/{take.pk}").json()["things"][0]["figures"]["difference_g"] == "-320.5"
    answer = posted(helper, url("stocktake_differences", take.pk))
    assert answer.url == url("stocktake", take.pk)
    movement = Movement.objects.get(cause="count")
    page = text(helper.get(answer.url))
    assert url("deed", movement.deed_id) in page
    assert "−320.5" in page
    assert movement.quantity == 320_500
    assert "Ann Ash" in movement.note
    assert FIGURES[1] in text(helper.get(f"{answer.url}?as=csv"))


def test_one_goes_down_the_list_and_the_other_comes_up(take: Stocktake, helper: Client) -> None:
    for _number in range(3):
        make.lot(place=take.place)
    down = url("stocktake_count", take.pk, "X").removesuffix("/X")
    ben = sign_in(Client(), volunteer("Ben Elm"))
    first = [
        text(one.get(url("stocktake", take.pk))).partition(f'is-big" href="{down}/')[2][:8] for one in (helper, ben)
    ]
    codes = [one["code"] for one in helper.get(f"/api/v1/stocktakes/{take.pk}").json()["things"]]
    assert first == [codes[0], codes[-1]]
    answer = posted(helper, f"{down}/{codes[0]}", quantity="5 kg", confirmed="on")
    assert answer.url == f"{down}/{codes[1]}"
    assert posted(ben, f"{down}/{codes[3]}", absent="1").url == f"{down}/{codes[2]}"
    assert Count.objects.latest("pk").quantity == 0


def test_two_phones_that_count_one_thing_are_told(take: Stocktake, lot: Item, helper: Client) -> None:
    ben = sign_in(Client(), volunteer("Ben Elm"))
    address = url("stocktake_count", take.pk, lot.code_id)
    posted(helper, address, quantity="4321")
    answer = ben.post(address, {"key": new_key(), "quantity": "4300"}, follow=True)
    assert "Ann Ash counted it too" in text(answer)
    assert Count.objects.count() == 2


def test_drums_are_boxes_with_their_tare(take: Stocktake, drums: Item, helper: Client) -> None:
    address = url("stocktake_count", take.pk, drums.code_id)
    one, two = drums.lot.containers.order_by("pk")
    page = text(helper.get(address))
    assert "Tare 1\u202f000" in page
    assert 'inputmode="decimal"' in page
    answer = posted(helper, address, **{f"drum_{one.pk}": "2,5 kg"})
    assert answer.status_code == 422
    assert "should stand here too" in text(answer)
    posted(helper, address, **{f"drum_{one.pk}": "2,5 kg", f"gone_{two.pk}": "on", "loose": "250"})
    assert Count.objects.get().quantity == 1_750_000


@pytest.mark.parametrize(
    "typed", ["", "-1", "NaN", "1e99", "nothing", "٣", "4 321 321 321 321 321 321", "x" * 200, "5 parsec"]
)
def test_what_is_no_amount_gets_a_sentence_and_is_kept_in_the_box(
    take: Stocktake, lot: Item, helper: Client, typed: str
) -> None:
    answer = posted(helper, url("stocktake_count", take.pk, lot.code_id), quantity=typed, note="kept")
    assert answer.status_code in (302, 422)
    if answer.status_code == 422:
        assert "kept" in text(answer)
        assert not Count.objects.exists()


def test_kilograms_as_grams_bring_a_tick_once(take: Stocktake, lot: Item, helper: Client) -> None:
    address = url("stocktake_count", take.pk, lot.code_id)
    answer = posted(helper, address, quantity="4,3")
    assert answer.status_code == 422
    assert 'type="checkbox" name="confirmed"' in text(answer)
    assert posted(helper, address, quantity="4,3", confirmed="on").status_code == 302


def test_a_double_tap_counts_once(take: Stocktake, lot: Item, helper: Client) -> None:
    address, facts = url("stocktake_count", take.pk, lot.code_id), {"key": new_key(), "quantity": "4300"}
    assert helper.post(address, facts).url == helper.post(address, facts).url
    assert Count.objects.count() == 1


def test_something_else_is_counted_by_its_code(take: Stocktake, helper: Client) -> None:
    stray = make.lot()
    page = url("stocktake", take.pk)
    assert helper.get(page, {"code": f" {stray.spaced_code.lower()} "}).url == url(
        "stocktake_count", take.pk, stray.code_id
    )
    for code in ("", "XXXX XXXX", "x" * 200):
        assert helper.get(page, {"code": code}).status_code == 422


def test_a_sheet_to_print_has_things_and_tares_and_no_amount(take: Stocktake, drums: Item, helper: Client) -> None:
    answer = helper.get(url("count_sheet", take.place_id))
    pdf = pypdfium2.PdfDocument(answer.content)
    words = "".join(page.get_textpage().get_text_range() for page in pdf)
    for known in (drums.spaced_code, "drum 1", "1\u202f000", "Mill shed", "Goggles and gloves"):
        assert known in words.replace("\xa0", " "), known
    assert "321" not in words
    assert pdf.is_tagged()


def test_members_do_not_count_and_what_is_not_there_is_not_found(take: Stocktake, lot: Item, helper: Client) -> None:
    mole = sign_in(Client(), member("Mole"))
    for name, args in (
        ("stocktakes", ()), ("stocktake", (take.pk,)), ("stocktake_count", (take.pk, lot.code_id)),
        ("stocktake_differences", (take.pk,)), ("stocktake_leave", (take.pk,)),
        ("stocktake_begin", (take.place_id,)), ("count_sheet", (take.place_id,)),
    ):  # fmt: skip
        assert mole.get(url(name, *args)).status_code == 403, name
        assert helper.get(url(name, *args)).status_code in (200, 302), name
    assert helper.get(url("stocktake", 999_999)).status_code == 404
    assert helper.get(url("stocktake_count", take.pk, "XXXXXXXX")).status_code == 404
    Api(member()).refused(f"stocktakes/{take.pk}/end", "permission_denied")


def test_the_whole_of_it_over_the_api(take: Stocktake, lot: Item, drums: Item, shed: Place) -> None:
    api = Api(volunteer("Ben Elm"))
    assert api.post("stocktakes/begin", place=shed.pk)["id"] == take.pk
    count = f"stocktakes/{take.pk}/count"
    answer = api.post(count, item=lot.code_id, mass_g="4300")
    assert set(answer) == {"id", "stocktake", "code", "by", "happened_at"}
    api.refused(count, "did_you_mean", item=lot.code_id, mass_g="4.3")
    api.refused(f"stocktakes/{take.pk}/end", "second_look")
    api.post(count, item=lot.code_id, mass_g="4300")
    assert api.refused(f"stocktakes/{take.pk}/end", "uncounted")["facts"]["things"] == [drums.code_id]
    one, two = drums.lot.containers.order_by("pk")
    weighed = [{"container": one.pk, "gross_g": "3000"}, {"container": two.pk, "gross_g": "3321"}]
    api.post(count, item=drums.code_id, weighed=weighed)
    assert api.post(f"stocktakes/{take.pk}/end")["state"] == "done"
    assert ledger.on_hand(lot) == 4_300_000
    api.refused(f"stocktakes/{take.pk}/leave", "ended", reason="x")


def test_it_is_given_up_with_a_reason(take: Stocktake, helper: Client) -> None:
    assert posted(helper, url("stocktake_leave", take.pk), reason="").status_code == 422
    assert posted(helper, url("stocktake_leave", take.pk), reason="too cold").status_code == 302
    assert "given up" in text(helper.get(url("stocktake", take.pk)))


def test_an_old_one_stands_on_today_for_who_took_part(take: Stocktake, ann: Any) -> None:
    others = volunteer("Ben Elm"), member("Mole")
    later = timezone.now() + dt.timedelta(days=2)
    assert open_stocktakes(ann, timezone.now()) == []
    assert [len(open_stocktakes(one, later)) for one in (ann, coordinator(), *others)] == [1, 1, 0, 0]
    do(count_in, others[0], stocktake=take, item=Item.objects.first(), quantity=BOOK)
    assert len(open_stocktakes(others[0], later)) == 1


def test_three_things_ask_no_more_of_the_database_than_one(take: Stocktake, helper: Client, lot: Item) -> None:
    def asked() -> list[int]:
        found = []
        for address in (
            url("stocktake", take.pk), url("stocktake_differences", take.pk), url("stocktakes"),
            f"/api/v1/stocktakes/{take.pk}", url("count_sheet", take.place_id),
        ):  # fmt: skip
            with CaptureQueriesContext(connection) as seen:
                assert helper.get(address).status_code == 200
            found.append(len(seen))
        return found

    for _look in range(2):
        do(count_in, stocktake=take, item=lot, quantity=4_000_000)
    few = asked()
    for _number in range(2):
        more = make.lot(place=take.place)
        for _look in range(2):
            do(count_in, stocktake=take, item=more, quantity=4_000_000)
        ended = do(begin_stocktake, place=make.shed())
        do(count_in, stocktake=ended, item=more, quantity=0)
        do(end_stocktake, stocktake=ended)
    assert asked() == few
