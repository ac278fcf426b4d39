"""The shelf's pages: who they open to, what they do, and that a longer list asks no more of the database."""

import datetime as dt
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coop.command import new_key
from inventory import ledger
from inventory.commands.stock import draw
from inventory.models import Item, Movement, Place, Question
from tests.makers import inventory as make
from tests.makers import papers
from tests.makers.coop import coordinator, do, member, sign_in, volunteer

pytestmark = pytest.mark.django_db

READ = ["shelf", "inventory:ledger", "inventory:suppliers", "inventory:sheds", "inventory:questions"]
WRITE = [
    "inventory:receive_choose",
    "inventory:material_new",
    "inventory:supplier_new",
    "inventory:shed_new",
]


@pytest.fixture
def lot() -> Item:
    drums = [{"name": "drum", "tare_mg": 1000, "gross_mg": 2000}]
    return make.lot(quantity=1000, containers=drums, hold_reason="torn sack")


def pages_of(item: Item) -> tuple[list[str], list[str]]:
    """Addresses about one lot: those a volunteer reads or counts with, and those only a coordinator writes with."""
    shed = Place.objects.get(kind="shed")
    movement = Movement.objects.get()
    do(draw, item=item, place=shed, quantity=1)
    question = Question.objects.get()
    read = [reverse(f"inventory:{name}", args=[item.code_id]) for name in ("lot", "count", "weigh", "container_new")]
    read += [
        reverse("inventory:material", args=[item.material_id]),
        reverse("inventory:shed", args=[shed.pk]),
        reverse("inventory:supplier", args=[item.lot.supplier_id]),
        reverse("inventory:deed", args=[movement.deed_id]),
        reverse("inventory:question", args=[question.pk]),
        reverse("inventory:container_open", args=[item.code_id, item.lot.containers.get().pk]),
    ]
    write = [reverse(f"inventory:{name}", args=[item.code_id]) for name in ("draw", "transfer", "discard")]
    write += [
        reverse("inventory:certificate_new", args=[item.code_id]),
        reverse("inventory:receive", args=[item.material_id]),
        reverse("inventory:material_change", args=[item.material_id]),
        reverse("inventory:supplier_change", args=[item.lot.supplier_id]),
        reverse("inventory:shed_change", args=[shed.pk]),
        reverse("inventory:correct", args=[movement.pk]),
        reverse("inventory:question_settle", args=[question.pk]),
    ]
    return read + [reverse(name) for name in READ], write + [reverse(name) for name in WRITE]


def test_volunteers_read_and_count_coordinators_write_and_members_stay_out(lot: Item) -> None:
    read, write = pages_of(lot)
    keeper, helper, stranger = (sign_in(Client(), one()) for one in (coordinator, volunteer, member))
    for address in read + write:
        assert keeper.get(address).status_code == 200, address
        assert helper.get(address).status_code == (200 if address in read else 403), address
        assert stranger.get(address).status_code == 403, address
        assert Client().get(address).status_code == 302, address


def test_an_unknown_code_is_not_found(lot: Item) -> None:
    keeper = sign_in(Client(), coordinator())
    for name in ("lot", "draw", "count", "weigh", "certificate"):
        assert keeper.get(reverse(f"inventory:{name}", args=["XXXXXXXX"])).status_code == 404


def test_a_code_may_be_written_in_groups_and_small(lot: Item) -> None:
    keeper = sign_in(Client(), coordinator())
    written = f"{lot.code_id[:4]} {lot.code_id[4:]}".lower()
    assert keeper.get(reverse("inventory:lot", args=[written])).status_code == 200


@pytest.fixture
def keeper() -> Any:
    return sign_in(Client(), coordinator("Ida Holm"))


def test_a_lot_is_received_at_the_door(keeper: Client) -> None:
    acid, shed, supplier = make.acid(), make.shed(), make.supplier()
    address = reverse("inventory:receive", args=[acid.pk])
    facts = {
        "key": new_key(),
        "supplier": supplier.pk,
        "supplier_lot": "OX-7",
        "form": "dihydrate",
        "quantity": "25 kg",
        "name_1": "sack",
        "tare_1": "120",
        "gross_1": "25120",
        "assay_ppb": "99,6 %",
        "price_cents": "112,50",
        "place": shed.pk,
        "hold_reason": "",
    }
    answer = keeper.post(address, facts)
    item = Item.objects.get()
    assert (answer.status_code, answer.url) == (302, reverse("inventory:lot", args=[item.code_id]))
    assert ledger.on_hand(item) == 25 * make.KG
    assert (item.lot.assay_ppb, item.lot.price_cents) == (996_000_000, 11250)
    assert item.lot.containers.get().gross_mg == 25_120_000
    keeper.post(address, facts)
    assert Item.objects.count() == 1


def test_an_unlikely_amount_is_asked_about_and_then_kept(keeper: Client) -> None:
    strips, shed, supplier = make.strips(most_at_once=1000), make.shed(), make.supplier()
    address = reverse("inventory:receive", args=[strips.pk])
    facts = {"key": new_key(), "supplier": supplier.pk, "quantity": "10000", "price_cents": "0", "place": shed.pk}
    answer = keeper.post(address, facts)
    assert answer.status_code == 422
    assert 'type="checkbox" name="confirmed"' in answer.content.decode()
    assert keeper.post(address, {**facts, "confirmed": "on"}).status_code == 302
    assert Item.objects.get().lot.received_quantity == 10_000


def test_what_happens_to_a_lot_is_noted(keeper: Client) -> None:
    item, other = make.lot(quantity=5_000_000), make.shed()
    shed = Place.objects.exclude(pk=other.pk).get(kind="shed")
    wanted = [
        ("draw", {"place": shed.pk, "quantity": "100"}, 4_900_000),
        ("transfer", {"place": shed.pk, "target": other.pk, "quantity": "1,5 kg"}, 4_900_000),
        ("discard", {"place": other.pk, "quantity": "200", "cause": "spill"}, 4_700_000),
        ("count", {"place": shed.pk, "quantity": "3390"}, 4_690_000),
    ]
    for name, facts, left in wanted:
        answer = keeper.post(reverse(f"inventory:{name}", args=[item.code_id]), {"key": new_key(), **facts})
        assert answer.status_code == 302, answer.content.decode()
        assert ledger.on_hand(item) == left, name


def test_drums_are_weighed_on_a_page(keeper: Client) -> None:
    item = make.lot(quantity=5_000, containers=[{"name": "drum", "tare_mg": 1_000, "gross_mg": 6_000}])
    shed, drum = Place.objects.get(kind="shed"), item.lot.containers.get()
    address = reverse("inventory:weigh", args=[item.code_id])
    keeper.post(address, {"key": new_key(), "place": shed.pk, f"drum_{drum.pk}": "5"})
    assert ledger.on_hand(item) == 4_000


def test_a_movement_is_set_right_from_the_ledger(keeper: Client) -> None:
    item = make.lot(quantity=5_000_000)
    movement = do(draw, item=item, place=Place.objects.get(kind="shed"), quantity=900_000)
    page = keeper.get(reverse("inventory:ledger"), {"code": item.code_id}).content.decode()
    assert reverse("inventory:correct", args=[movement.pk]) in page
    address = reverse("inventory:correct", args=[movement.pk])
    keeper.post(address, {"key": new_key(), "quantity": "90", "note": "a nought too many"})
    assert ledger.on_hand(item) == 4_910_000
    assert keeper.post(address, {"key": new_key(), "quantity": "80", "note": "again"}).status_code == 422


def test_the_ledger_goes_further_back_and_exports(keeper: Client) -> None:
    item = make.lot(quantity=5_000_000)
    shed = Place.objects.get(kind="shed")
    for _number in range(60):
        do(draw, item=item, place=shed, quantity=1_000)
    first = keeper.get(reverse("inventory:ledger"))
    assert len(first.context["lines"]) == 50
    second = keeper.get(reverse("inventory:ledger") + first.context["older"])
    assert len(second.context["lines"]) == 11
    file = keeper.get(reverse("inventory:ledger"), {"as": "csv"}).content.decode()
    assert file.count(item.code_id) == 61


def test_a_certificate_is_kept_by_its_content_and_given_back(keeper: Client) -> None:
    from django.core.files.uploadedfile import SimpleUploadedFile

    item = make.lot(make.acid(), form="unknown", certificate_names_form=False)
    address = reverse("inventory:certificate_new", args=[item.code_id])
    wrong = SimpleUploadedFile("a.pdf", b"<html>")
    assert keeper.post(address, {"key": new_key(), "file": wrong}).status_code == 422
    right = SimpleUploadedFile("a.pdf", papers.pdf())
    assert keeper.post(address, {"key": new_key(), "file": right, "names_form": "on"}).status_code == 302
    item.lot.refresh_from_db()
    assert (item.lot.form, item.lot.is_form_verified) == ("dihydrate", True)
    paper = keeper.get(reverse("inventory:certificate", args=[item.code_id]))
    assert (paper.content[:5], paper["Content-Type"]) == (b"%PDF-", "application/pdf")


def test_the_shelf_says_what_is_low_and_does_not_count_what_is_held_or_past_its_date(keeper: Client) -> None:
    acid = make.acid(name="Oxalic acid", low_level=2_000_000)
    shed = make.shed()
    make.lot(acid, shed, quantity=1_500_000)
    make.lot(acid, shed, quantity=5_000_000, hold_reason="torn")
    make.lot(acid, shed, quantity=4_000_000, best_before=dt.date(2020, 1, 1))
    page = keeper.get(reverse("shelf"))
    assert page.context["title"] == "Low: Oxalic acid"
    row = page.context["rows"][0]
    assert (row.usable, row.held, row.expired, row.lots) == (1_500_000, 5_000_000, 4_000_000, 3)


def test_settings_are_made_on_pages(keeper: Client) -> None:
    def post(page: str, /, *args: Any, **facts: Any) -> int:
        return keeper.post(reverse(f"inventory:{page}", args=args), {"key": new_key(), **facts}).status_code

    assert post("supplier_new", name="Calder", lead_days=10, order_weekdays=["1", "4"]) == 302
    assert post("material_new", name="Oxalic acid", kind="acid") == 302
    assert post("material_new", name="oxalic acid", kind="acid") == 422
    assert post("shed_new", name="Mill shed") == 302
    lot = make.lot()
    assert post("material_change", lot.material_id, name="Acid", low_level="2 kg", pack_size="1000") == 302
    lot.material.refresh_from_db()
    assert (lot.material.low_level, lot.material.pack_size, lot.material.most_at_once) == (2_000_000, 1_000_000, None)
    assert post("supplier_change", lot.lot.supplier_id, name="Calder Two", lead_days=3, order_weekdays="5") == 302
    assert post("shed_change", lot.holdings.get().place_id, name="Hill shed", is_closed="on") == 422
    do(draw, item=lot, place=lot.holdings.get().place, quantity=lot.lot.received_quantity + 1)
    question = Question.objects.get()
    assert post("question_settle", question.pk, answer="The scale was off.") == 302
    assert post("container_new", lot.code_id, name="drum", place=lot.holdings.get().place_id) == 302
    assert post("container_open", lot.code_id, lot.lot.containers.get().pk) == 302


@pytest.mark.parametrize(
    "name", ["shelf", "material", "shed", "ledger", "suppliers", "sheds", "questions", "supplier", "lot"]
)
def test_three_rows_ask_no_more_queries_than_one(name: str, keeper: Client, django_assert_max_num_queries: Any) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    acid, shed, supplier = make.acid(), make.shed(), make.supplier()
    first = make.lot(acid, shed, supplier=supplier, quantity=1_000)
    do(draw, item=first, place=shed, quantity=1_001)
    do(draw, item=make.lot(acid, shed, supplier=supplier), place=shed, quantity=1)
    arguments = {
        "material": [acid.pk],
        "shed": [shed.pk],
        "supplier": [supplier.pk],
        "lot": [first.code_id],
    }
    address = reverse(name if name == "shelf" else f"inventory:{name}", args=arguments.get(name))

    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as seen:
            assert keeper.get(address).status_code == 200
        return len(seen)

    queries()
    before = queries()
    for _number in range(2):
        more = make.lot(acid, shed, supplier=supplier, quantity=1_000)
        do(draw, item=more, place=shed, quantity=1_001)
        make.lot(make.acid(), make.shed(), supplier=make.supplier(), quantity=1_000, best_before=timezone.localdate())
        make.lot(acid, shed, supplier=supplier)
        do(draw, item=first, place=shed, quantity=5)
    assert queries() == before
