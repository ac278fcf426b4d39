"""What the shelf puts on Today: one task a material, whatever came together."""

import datetime as dt
from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from coop.models import Person
from coop.today import Task
from inventory.commands.ordering import order
from inventory.commands.stock import draw
from inventory.models import Material, Place
from inventory.today import materials, open_questions
from tests.makers import inventory as make
from tests.makers.coop import coordinator, do, member, sign_in, volunteer

pytestmark = pytest.mark.django_db
KG = make.KG
TODAY = dt.date(2027, 3, 15)
DAY = dt.timedelta(days=1)


@pytest.fixture(autouse=True)
def clock() -> Iterator[Any]:
    with time_machine.travel(dt.datetime(2027, 3, 15, 9, 0, tzinfo=dt.UTC), tick=False) as moving:
        yield moving


@pytest.fixture
def keeper() -> Person:
    return coordinator("Ida Holm")


@pytest.fixture
def shed() -> Place:
    return make.shed()


@pytest.fixture
def acid(keeper: Person) -> Material:
    supplier = make.supplier(name="Calder", lead_days=10)
    return make.acid(name="Oxalic acid dihydrate", low_level=2 * KG, pack_size=KG, supplier=supplier)


def tasks(person: Person) -> list[Task]:
    found: list[Task] = materials(person, timezone.now())
    return found


def said(task: Task) -> str:
    return " / ".join([task.title, *task.rows]).replace("\u202f", " ")


def test_nothing_is_said_of_what_is_enough(acid: Material, keeper: Person) -> None:
    make.lot(acid, quantity=5 * KG)
    assert tasks(keeper) == []


def test_low_and_to_order_and_expiring_is_one_task_with_its_picture(
    acid: Material, keeper: Person, shed: Place
) -> None:
    lot = make.lot(acid, shed, quantity=KG, best_before=TODAY + 9 * DAY)
    make.hold(make.lot(acid, shed, quantity=3 * KG))
    do(order, material=acid, quantity=KG, ordered_on=TODAY - 20 * DAY)
    (task,) = tasks(keeper)
    assert said(task) == (
        "Order Oxalic acid dihydrate now: 2 packs of 1 000 g / Under its safety stock. / "
        "Low: Oxalic acid dihydrate, 1 000 g of 2 000 g / Not counted: 3 000 g on hold / "
        "1 000 g ordered for Fri 5 Mar have not come, and are not counted. / "
        f"Lot {lot.spaced_code}: 1 000 g, best before Wed 24 Mar / Calder needs 10 days"
    )
    assert (task.urgency.value, task.label) == ("overdue", "Note the order")
    assert task.url == reverse("inventory:order_new", args=[acid.pk])
    assert "<svg" in task.picture


def test_what_is_to_be_ordered_within_a_week_says_by_when(acid: Material, keeper: Person, shed: Place) -> None:
    """What is left on 30 March is lost on the 31st: ten days before, a Sunday, is the 21st; the Friday is the 19th."""
    make.lot(acid, shed, quantity=3 * KG, best_before=TODAY + 15 * DAY)
    (task,) = tasks(keeper)
    assert said(task).startswith("Order Oxalic acid dihydrate by Fri 19 Mar: 2 packs of 1 000 g / ")
    assert (task.urgency.value, task.when) == ("soon", "in 4 days")


def test_nothing_left_is_overdue(acid: Material, keeper: Person, shed: Place) -> None:
    lot = make.lot(acid, shed, quantity=KG)
    do(draw, item=lot, place=shed, quantity=KG + 1)
    assert [task.urgency.value for task in tasks(keeper)] == ["overdue"]
    assert len(open_questions(keeper, timezone.now())) == 1


def test_low_with_enough_on_its_way_waits_for_it(acid: Material, keeper: Person) -> None:
    make.lot(acid, quantity=KG)
    do(order, material=acid, quantity=2 * KG)
    (task,) = tasks(keeper)
    assert said(task) == "Low: Oxalic acid dihydrate, 1 000 g of 2 000 g / 2 000 g on order, expected Thu 25 Mar"
    assert task.label == "Look at the lots"


def test_low_without_a_supplier_has_no_day(keeper: Person) -> None:
    make.lot(make.acid(name="Citrate", low_level=2 * KG), quantity=KG)
    assert [said(task) for task in tasks(keeper)] == ["Low: Citrate, 1 000 g of 2 000 g"]


def test_a_late_order_of_what_is_enough_is_asked_after(acid: Material, keeper: Person) -> None:
    make.lot(acid, quantity=9 * KG)
    late = do(order, material=acid, quantity=2 * KG, ordered_on=TODAY - 20 * DAY)
    (task,) = tasks(keeper)
    assert said(task).startswith("Ask after an order: Oxalic acid dihydrate, 2 000 g / ")
    assert (task.urgency.value, task.when, task.url) == (
        "overdue",
        "10 days ago",
        reverse("inventory:order", args=[late.pk]),
    )


def test_a_lot_is_used_first_in_its_last_two_weeks(keeper: Person, shed: Place) -> None:
    acid = make.acid(name="Oxalic acid dihydrate")
    make.lot(acid, shed, quantity=KG, best_before=TODAY + 15 * DAY)
    assert tasks(keeper) == []
    lot = make.lot(acid, shed, quantity=KG, best_before=TODAY + 14 * DAY)
    (task,) = tasks(keeper)
    assert said(task) == (
        f"Use first: Oxalic acid dihydrate, 1 000 g / Lot {lot.spaced_code}: 1 000 g, best before Mon 29 Mar"
    )
    assert task.when == "in 14 days"


def test_only_coordinators_are_asked(acid: Material) -> None:
    make.lot(acid, quantity=KG)
    now = timezone.now()
    for other in (volunteer(), member()):
        assert materials(other, now) == open_questions(other, now) == []


def test_more_materials_ask_the_database_no_more_often(acid: Material, keeper: Person, shed: Place) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as seen:
            tasks(keeper)
        return len(seen)

    make.lot(acid, shed, quantity=KG, best_before=TODAY)
    few = asked()
    for _number in range(3):
        make.lot(make.acid(low_level=9 * KG, supplier=acid.supplier), shed, quantity=KG, best_before=TODAY)
    assert asked() == few


def test_the_page_shows_the_task_and_its_picture(acid: Material, keeper: Person) -> None:
    make.lot(acid, quantity=KG)
    page = sign_in(Client(), keeper).get("/").content.decode()
    assert "Note the order</a>" in page
    assert "has-picture" in page
