"""The ledger page: filters together, keyset paging, and a balance that is right on every page."""

import csv
import datetime as dt
import io
from collections import defaultdict
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coop.models import Person
from inventory import book, deeds, ledger
from inventory.commands.correcting import correct
from inventory.commands.stock import discard, draw, transfer
from inventory.models import Item, Movement, Place
from tests.makers import inventory as make
from tests.makers.coop import club, coordinator, do, member, sign_in, volunteer
from tests.makers.world import World

pytestmark = pytest.mark.django_db
LEDGER = "inventory:ledger"


@pytest.fixture
def keeper(client: Client) -> Client:
    signed_in: Client = sign_in(client, coordinator("Ada Ash"))
    return signed_in


@pytest.fixture
def mill() -> Place:
    return make.shed(name="Mill")


def ask(client: Client, query: Any = "", **asked: Any) -> Any:
    answer = client.get(reverse(LEDGER) + query, asked or None)
    assert answer.status_code == 200
    return answer


def shown(answer: Any) -> list[int]:
    return [line.movement.pk for line in answer.context["lines"]]


def busy(item: Item, mill: Place, days: int = 0) -> None:
    """Draws, moves to another shed and back, waste, and one correction."""
    hill = Place.objects.filter(name="Hill").first() or make.shed(name="Hill")
    at = timezone.now() - dt.timedelta(days=days)
    drawn = do(draw, item=item, place=mill, quantity=700, happened_at=at)
    do(transfer, item=item, source=mill, target=hill, quantity=400, happened_at=at)
    do(discard, item=item, place=hill, quantity=30, happened_at=at)
    do(transfer, item=item, source=hill, target=mill, quantity=100, happened_at=at)
    do(correct, movement=drawn, quantity=70, note="a nought too many", happened_at=at)


def ends(row: Movement) -> tuple[Place, Place]:
    return row.source, row.target


def by_hand(what: dict[str, Any], place: Place | None) -> dict[int, int]:
    """The balance after every movement, from the first one on."""
    balance, found = 0, {}
    for row in Movement.objects.filter(**what).order_by("pk").select_related("source", "target"):
        for end, sign in ((row.target, 1), (row.source, -1)):
            if end == place if place else end.kind == "shed":
                balance += sign * row.quantity
        found[row.pk] = balance
    return found


def balances(answer: Any) -> dict[int, str]:
    return {line.movement.pk: line.balance for line in answer.context["lines"]}


def in_words(found: dict[int, int], item: Item) -> dict[int, str]:
    return {pk: ledger.amount(balance, item) for pk, balance in found.items()}


@pytest.mark.parametrize("size", [3, 50])
@pytest.mark.parametrize("subject", ["material", "lot", "material in a shed", "lot in a shed"])
def test_the_balance_is_right_on_every_page_there_and_back(
    keeper: Client, mill: Place, monkeypatch: pytest.MonkeyPatch, size: int, subject: str
) -> None:
    monkeypatch.setattr(book, "PER_PAGE", size)
    acid = make.acid()
    one, two = make.lot(acid, mill, quantity=5_000), make.lot(acid, mill, quantity=9_000)
    other = make.lot(make.acid(), mill, quantity=100_000)
    for item in (one, other, two, one):
        busy(item, mill)
    asked: dict[str, Any] = {"code": one.code_id} if "lot" in subject else {"material": acid.pk}
    place = mill if "shed" in subject else None
    if place:
        asked["place"] = place.pk
    right = by_hand({"item": one} if "lot" in subject else {"item__material": acid}, place)
    answer, seen, pages = ask(keeper, **asked), {}, []
    while True:
        pages.append(balances(answer))
        seen.update(pages[-1])
        if not answer.context["older"]:
            break
        assert "balance=" in answer.context["older"]
        answer = ask(keeper, answer.context["older"])
    assert seen == in_words({pk: right[pk] for pk in seen}, one)
    assert seen.keys() == {row.pk for row in Movement.objects.filter(pk__in=right) if not place or place in ends(row)}
    assert len(pages) == -(-len(seen) // size) > 0
    while answer.context["newer"]:
        answer = ask(keeper, answer.context["newer"])
        assert balances(answer).items() <= seen.items()
    assert balances(answer) == pages[0]


def test_a_balance_that_was_altered_or_belongs_elsewhere_is_computed_again(
    keeper: Client, mill: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(book, "PER_PAGE", 3)
    one, two = make.lot(place=mill, quantity=5_000), make.lot(place=mill, quantity=9_000)
    busy(one, mill)
    busy(two, mill)
    first = ask(keeper, code=one.code_id)
    carried = first.context["older"].rpartition("balance=")[2].replace("%3A", ":")
    number, _colon, signature = carried.partition(":")
    right = balances(ask(keeper, first.context["older"]))
    last = shown(first)[-1]
    for wrong in ("", "1", f"{int(number) + 1}:{signature}", f"{number}:{signature[::-1]}", "x" * 2000, f"9{carried}"):
        assert balances(ask(keeper, code=one.code_id, before=last, balance=wrong)) == right, wrong
    for before in (last, last + 3):
        others = balances(ask(keeper, code=two.code_id, before=before, balance=carried))
        assert others.items() <= in_words(by_hand({"item": two}, None), two).items()


def test_the_balance_goes_on_while_others_write(keeper: Client, mill: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(book, "PER_PAGE", 3)
    item = make.lot(place=mill, quantity=50_000)
    busy(item, mill)
    first = ask(keeper, code=item.code_id)
    busy(item, mill)
    second = ask(keeper, first.context["older"])
    right = in_words(by_hand({"item": item}, None), item)
    assert balances(second).items() <= right.items()
    back = ask(keeper, second.context["newer"])
    assert shown(back) == shown(first)
    assert balances(back) == balances(first)
    newest = ask(keeper, back.context["newer"])
    assert shown(newest)[-1] > shown(first)[0]
    assert balances(newest).items() <= right.items()


@pytest.mark.parametrize("size", [3, 4, 50])
def test_lines_outside_the_days_count_in_the_balance(
    keeper: Client, mill: Place, monkeypatch: pytest.MonkeyPatch, size: int
) -> None:
    monkeypatch.setattr(book, "PER_PAGE", size)
    item = make.lot(place=mill, quantity=50_000, happened_at=timezone.now() - dt.timedelta(days=30))
    for days in (9, 2, 9, 5):
        busy(item, mill, days)
    day = club().day_of(timezone.now() - dt.timedelta(days=9)).isoformat()
    answer, seen = ask(keeper, code=item.code_id, since=day, until=day), {}
    first = balances(answer)
    while True:
        seen.update(balances(answer))
        if not answer.context["older"]:
            break
        answer = ask(keeper, answer.context["older"])
    assert len(seen) == 12
    assert seen.items() <= in_words(by_hand({"item": item}, None), item).items()
    while answer.context["newer"]:
        answer = ask(keeper, answer.context["newer"])
        assert balances(answer).items() <= seen.items()
    assert balances(answer) == first


@pytest.mark.parametrize(
    "more", [{}, {"person": 1}, {"verb": "inventory.draw"}, {"deed": 1}, {"until": "2300-01-01"}], ids=str
)
def test_there_is_a_balance_only_where_it_has_sense(keeper: Client, mill: Place, more: dict[str, Any]) -> None:
    item = make.lot(place=mill)
    if more:
        more = {name: item.deed.actor_id if name == "person" else value for name, value in more.items()}
    answer = ask(keeper, code=item.code_id, **more)
    has = not more or "until" in more
    assert bool(answer.context["balance_words"]) is has
    assert ("No balance here" in answer.content.decode()) is not has
    assert not ask(keeper, place=mill.pk).context["balance_words"]


def test_every_filter_works_and_they_work_together(keeper: Client, mill: Place) -> None:
    hill, bert = make.shed(name="Hill"), coordinator("Bert Birch")
    old = timezone.now() - dt.timedelta(days=10)
    one, two = make.lot(place=mill, quantity=1_000), make.lot(place=hill, quantity=2_000)
    drawn = do(draw, bert, item=one, place=mill, quantity=10, happened_at=old)
    moved = do(transfer, item=two, source=hill, target=mill, quantity=20)
    came = {item: item.movements.get(cause="receive") for item in (one, two)}
    day, today = club().day_of(old).isoformat(), club().today().isoformat()
    everything = {drawn, moved, *came.values()}
    for asked, right in (
        ({"material": one.material_id}, {came[one], drawn}),
        ({"code": f"{one.code_id[:4].lower()} {one.code_id[4:]}"}, {came[one], drawn}),
        ({"place": mill.pk}, {came[one], drawn, moved}),
        ({"place": hill.pk}, {came[two], moved}),
        ({"person": bert.pk}, {drawn}),
        ({"verb": "inventory.transfer"}, {moved}),
        ({"deed": moved.deed_id}, {moved}),
        ({"since": today}, everything - {drawn}),
        ({"until": day}, {drawn}),
        ({"since": day, "until": day}, {drawn}),
        ({"place": mill.pk, "material": two.material_id, "verb": "inventory.transfer", "since": today}, {moved}),
        ({"person": bert.pk, "place": mill.pk, "code": one.code_id, "deed": drawn.deed_id, "until": day}, {drawn}),
        ({"person": bert.pk, "material": two.material_id}, set()),
        ({"code": "NONE SUCH"}, set()),
    ):
        assert set(shown(ask(keeper, **asked))) == {row.pk for row in right}, asked
    nothing = ask(keeper, person=bert.pk, material=two.material_id).content.decode()
    assert "Nothing in the ledger matches all of this." in nothing


@pytest.mark.parametrize(
    "asked",
    [
        {"material": "x"}, {"material": "9" * 30}, {"code": "\x00"}, {"code": "ж" * 300}, {"place": "-1"},
        {"person": "0"}, {"verb": "nonsense"}, {"deed": "1e99"}, {"deed": "9" * 40}, {"since": "0001-01-01"},
        {"until": "9999-12-31"}, {"since": "31.12."}, {"before": "-5"}, {"before": "x"}, {"after": "²"},
        {"before": "9" * 18}, {"after": "1" * 40}, {"before": "5", "after": "5"}, {"as": "exe"}, {"until": "NaN"},
    ],
    ids=str,
)  # fmt: skip
def test_what_the_address_has_wrong_is_passed_over(keeper: Client, mill: Place, asked: dict[str, str]) -> None:
    make.lot(place=mill)
    ask(keeper, **asked)


def test_the_file_keeps_the_filter_and_has_the_balance(keeper: Client, mill: Place) -> None:
    one, two = make.lot(place=mill, quantity=5_000), make.lot(place=mill, quantity=9_000)
    busy(one, mill, days=3)
    busy(two, mill)
    busy(one, mill)
    rows = list(csv.DictReader(io.StringIO(ask(keeper, code=one.code_id, **{"as": "csv"}).content.decode("utf-8-sig"))))
    right = by_hand({"item": one}, None)
    kept = [float(row["Balance, g or pieces"]) for row in rows]
    assert kept == [right[pk] / 1000 for pk in sorted(right, reverse=True)]
    assert {row["Code"] for row in rows} == {one.code_id}
    today = club().today().isoformat()
    some = list(
        csv.DictReader(
            io.StringIO(ask(keeper, code=one.code_id, since=today, **{"as": "csv"}).content.decode("utf-8-sig"))
        )
    )
    assert [float(row["Balance, g or pieces"]) for row in some[:6]] == kept[:6]
    everything = ask(keeper, **{"as": "csv"}).content.decode()
    assert "Balance" not in everything
    assert two.code_id in everything


def test_a_volunteer_reads_the_ledger_and_deeds_without_members_names(client: Client) -> None:
    world = World()
    owner = world.people["owner"]
    sign_in(client, volunteer("Vera Vine"))
    handed = Movement.objects.filter(cause="hand_over").first()
    assert owner is not None
    assert handed is not None
    page = ask(client, code=handed.item.code_id).content.decode()
    deed = client.get(reverse("inventory:deed", args=[handed.deed_id])).content.decode()
    for text in (page, deed):
        assert owner.name not in text
        assert "with a member" in text
    by_owner = Movement.objects.filter(deed__actor=owner).first()
    assert by_owner is not None
    assert len(ask(client, person=owner.pk).context["lines"]) == len(ask(client).context["lines"])
    assert owner.name not in client.get(reverse("inventory:deed", args=[by_owner.deed_id])).content.decode()
    empty = Item.objects.exclude(deed__movements__isnull=False).first()
    assert empty is None or client.get(reverse("inventory:deed", args=[empty.deed_id])).status_code == 404
    sign_in(client, member())
    assert client.get(reverse(LEDGER)).status_code == 403


def test_a_deed_says_who_did_what_when_through_which_door_and_what_it_made(keeper: Client, mill: Place) -> None:
    at = timezone.now() - dt.timedelta(days=3)
    item = make.lot(place=mill, happened_at=at, hold_reason="the paper is missing")
    page = keeper.get(reverse("inventory:deed", args=[item.deed_id])).content.decode()
    for words in (item.deed.actor.name, "lot received", "later than it happened", "page", item.spaced_code):
        assert words in page
    assert reverse("inventory:lot", args=[item.code_id]) in page
    assert keeper.get(reverse("inventory:deed", args=[10**12])).status_code == 404


def test_every_deed_that_moves_stock_has_words_in_the_filter() -> None:
    World()
    moved = set(Movement.objects.values_list("deed__verb", flat=True))
    assert len(moved) > 8
    assert moved <= deeds.kinds().keys()


def test_more_lines_ask_the_database_no_more_often(keeper: Client, mill: Place, django_assert_num_queries: Any) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    item, person = make.lot(place=mill, quantity=50_000), Person.objects.get(name="Ada Ash")
    urls: list[dict[str, Any]] = [{}, {"code": item.code_id}, {"material": item.material_id, "place": mill.pk}]
    counts: dict[int, list[int]] = defaultdict(list)
    for _round in range(2):
        for number, asked in enumerate(urls):
            with CaptureQueriesContext(connection) as seen:
                ask(keeper, **asked)
            counts[number].append(len(seen))
        do(draw, person, item=item, place=mill, quantity=10)
        do(draw, volunteer("Vera Vine"), item=item, place=mill, quantity=10)
    assert all(one == three for one, three in counts.values()), counts
