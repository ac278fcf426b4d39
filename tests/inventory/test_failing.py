"""Every command of the shelf, failing at each of its statements in turn: nothing is half written."""

import datetime as dt
from collections.abc import Callable
from typing import Any

import pytest

from coop.command import COMMANDS, command
from coop.models import Deed, HiveKind, the_club
from inventory.commands import (
    containers,
    correcting,
    counting,
    holding,
    importing,
    incidents,
    lots,
    ordering,
    papers,
    receiving,
    samples,
    settings,
    stock,
)
from inventory.models import Item, Movement, Place, Question
from tests.inventory import test_failing_stocktakes
from tests.makers import batches
from tests.makers import inventory as make
from tests.makers import papers as papers_of
from tests.makers.coop import do
from tests.makers.failing import survives

pytestmark = pytest.mark.django_db(transaction=True)


def _lot(**facts: Any) -> tuple[Item, Place]:
    shed = make.shed()
    return make.lot(place=shed, **facts), shed


def receive() -> dict[str, Any]:
    return {
        "material": make.acid(),
        "supplier": make.supplier(),
        "place": make.shed(),
        "quantity": 25 * make.KG,
        "form": "dihydrate",
        "best_before": dt.date(2030, 1, 1),
        "containers": [{"name": "sack", "tare_mg": 120_000, "gross_mg": 25_120_000}],
        "hold_reason": "torn sack",
    }


def receive_delivery() -> dict[str, Any]:
    first = receive()
    supplier = first.pop("supplier")
    order = do(ordering.order, material=first["material"], quantity=5_000, expected_on=the_club().today())
    first |= {"certificate_name": "a.pdf", "certificate_content": papers_of.pdf(), "order": order}
    second = {"material": make.strips(holds_on_arrival=True), "quantity": 400, "place": first["place"]}
    return {"supplier": supplier, "paper_number": "4711", "lots": [first, second], "confirmed": True}


def open_delivery() -> dict[str, Any]:
    return {"supplier": make.supplier(), "paper_number": "4711"}


def change_delivery() -> dict[str, Any]:
    return {"delivery": make.delivery(), "supplier": make.supplier(), "paper_number": "4712"}


def change_used_lot() -> dict[str, Any]:
    room = batches.room()
    batches.weighed(room, batches.started(room, target_mg=2_000_000))
    changes = {"form": "unknown", "assay_ppb": 990_000_000, "best_before": dt.date(2030, 1, 1), "grade": "pure"}
    return {"item": room.acid, "reason": "the label says so", **changes}


def measure_strips() -> dict[str, Any]:
    return {"item": make.lot(make.strips()), "dry_mg": [11_600, 12_000], "wet_mg": [24_600, 25_400]}


def draw_more_than_there_is() -> dict[str, Any]:
    item, shed = _lot(quantity=480, hold_reason="torn sack")
    return {"item": item, "place": shed, "quantity": 500}


def transfer() -> dict[str, Any]:
    item, shed = _lot()
    return {"item": item, "source": shed, "target": make.shed(), "quantity": 500}


def discard() -> dict[str, Any]:
    item, shed = _lot()
    return {"item": item, "place": shed, "quantity": 500, "cause": "spill"}


def count() -> dict[str, Any]:
    item, shed = _lot()
    return {"item": item, "place": shed, "quantity": 500}


def _with_drum() -> tuple[Item, Place]:
    return _lot(quantity=5_000, containers=[{"name": "drum", "tare_mg": 1_000, "gross_mg": 6_000}])


def count_by_weight() -> dict[str, Any]:
    item, shed = _with_drum()
    weighed = [{"container": item.lot.containers.get(), "gross_mg": 4_000}]
    return {"item": item, "place": shed, "weighed": weighed}


def add_container() -> dict[str, Any]:
    return {"item": _lot()[0], "name": "drum", "tare_mg": 5}


def open_container() -> dict[str, Any]:
    return {"container": _with_drum()[0].lot.containers.get()}


def weigh_container() -> dict[str, Any]:
    return {"container": _with_drum()[0].lot.containers.get(), "gross_mg": 3_000, "tare_mg": 900}


def move_container() -> dict[str, Any]:
    return {"container": _with_drum()[0].lot.containers.get(), "target": make.shed(), "gross_mg": 5_500}


def spill() -> dict[str, Any]:
    item, shed = _with_drum()
    facts = {"what": "A drum fell over.", "people": "Ada", "done": "Swept up.", "quantity": 5_001}
    return {"item": item, "place": shed, "container": item.lot.containers.get(), **facts}


def note_incident() -> dict[str, Any]:
    return {"what": "A splash in the face.", "done": "Rinsed.", "place": make.shed()}


def find() -> dict[str, Any]:
    item, shed = _lot()
    return {"item": item, "place": shed, "quantity": 500, "note": "Behind the door."}


def correct_a_lot_of_which_more_was_used() -> dict[str, Any]:
    item, shed = _lot(quantity=1_000)
    do(stock.draw, item=item, place=shed, quantity=900)
    return {"movement": Movement.objects.get(cause="receive"), "quantity": 800, "note": "short by a sack"}


def settle_question() -> dict[str, Any]:
    item, shed = _lot(quantity=1_000)
    do(stock.draw, item=item, place=shed, quantity=1_001)
    return {"question": Question.objects.get(), "answer": "The scale was off."}


def attach_certificate() -> dict[str, Any]:
    return {"item": _lot(form="unknown")[0], "name": "a.pdf", "content": papers_of.pdf(), "names_form": True}


def place_hold() -> dict[str, Any]:
    return {"items": [_lot()[0], _lot()[0]], "reason": "torn sack"}


def lift_hold() -> dict[str, Any]:
    return {"hold": make.hold(_lot()[0]), "reason": "the certificate came"}


def free_from_hold() -> dict[str, Any]:
    item, _shed = _lot()
    return {"hold": make.hold(item), "item": item, "reason": "titrated"}


def order() -> dict[str, Any]:
    return {"material": make.acid(supplier=make.supplier(), pack_size=500), "quantity": 5_000}


def _ordered() -> dict[str, Any]:
    return {"order": do(ordering.order, **order())}


def expect_order() -> dict[str, Any]:
    return {**_ordered(), "expected_on": the_club().today()}


def end_order() -> dict[str, Any]:
    return {**_ordered(), "outcome": "cancelled", "note": "out of stock"}


def add_material() -> dict[str, Any]:
    return {"name": "Oxalic acid", "kind": "acid", "low_level": 5, "supplier": make.supplier()}


def change_material() -> dict[str, Any]:
    return {"material": make.acid(), "name": "Acid", "low_level": 7}


def add_supplier() -> dict[str, Any]:
    return {"name": "Calder", "lead_days": 3}


def change_supplier() -> dict[str, Any]:
    return {"supplier": make.supplier(), "name": "Calder", "lead_days": 3}


def add_shed() -> dict[str, Any]:
    return {"name": "Mill shed"}


def change_shed() -> dict[str, Any]:
    return {"shed": make.shed(), "name": "Hill shed", "is_closed": True}


CASES: dict[Callable[..., Any], Callable[[], dict[str, Any]]] = {
    receiving.receive: receive,
    receiving.open_delivery: open_delivery,
    receiving.receive_delivery: receive_delivery,
    receiving.change_delivery: change_delivery,
    lots.change_lot: change_used_lot,
    samples.measure_strips: measure_strips,
    stock.draw: draw_more_than_there_is,
    stock.transfer: transfer,
    stock.discard: discard,
    counting.count: count,
    counting.count_by_weight: count_by_weight,
    containers.add_container: add_container,
    containers.open_container: open_container,
    containers.weigh_container: weigh_container,
    containers.move_container: move_container,
    containers.empty_container: open_container,
    incidents.spill: spill,
    incidents.note_incident: note_incident,
    stock.find: find,
    correcting.correct: correct_a_lot_of_which_more_was_used,
    correcting.settle_question: settle_question,
    papers.attach_certificate: attach_certificate,
    holding.place_hold: place_hold,
    holding.lift_hold: lift_hold,
    holding.free_from_hold: free_from_hold,
    ordering.order: order,
    ordering.expect_order: expect_order,
    ordering.end_order: end_order,
    settings.add_material: add_material,
    settings.change_material: change_material,
    settings.add_supplier: add_supplier,
    settings.change_supplier: change_supplier,
    settings.add_shed: add_shed,
    settings.change_shed: change_shed,
}


@pytest.mark.parametrize("command", CASES, ids=lambda one: one.verb)
def test_it_leaves_nothing_behind_wherever_it_fails(command: Any) -> None:
    survives(command, **CASES[command]())


def test_every_command_of_the_shelf_is_tried() -> None:
    own = {name for name in COMMANDS if name.startswith("inventory.")}
    # in test_stock_file_work.py and test_files_in_background.py
    of_files = {importing.hand_in, importing.judge_again, importing.ask_to_write, importing.write_file}
    tried = {*CASES, *test_failing_stocktakes.CASES, *of_files}
    assert {command.verb for command in tried} == own  # type: ignore[attr-defined]


def test_what_is_half_written_is_seen() -> None:
    """A careless function that writes outside the command's transaction does not survive."""

    @command("test.honest")
    def honest(deed: Deed) -> None:
        HiveKind.objects.create(name="nucleus")

    def careless(**call: Any) -> None:
        HiveKind.objects.create(name=f"left over {HiveKind.objects.count()}")
        honest(**call)

    try:
        with pytest.raises(AssertionError):
            survives(careless)
    finally:
        del COMMANDS["test.honest"]
