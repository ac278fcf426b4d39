"""The shelf's commands over the API."""

from typing import Any

from coop.access import COORDINATOR, VOLUNTEER, Mark
from coop.api.base import command_view
from inventory.api import answers, rows, takes
from inventory.commands import correcting, counting, holding, papers, receiving, settings, stock

WRITES, COUNTS = Mark(COORDINATOR), Mark(VOLUNTEER)
DOUBTS, CLEARS = Mark(VOLUNTEER), Mark(COORDINATOR, fresh=True)


def _levels(view: Any, data: dict[str, Any]) -> dict[str, Any]:
    return takes.levels(data)


def _changed_levels(view: Any, data: dict[str, Any], pk: int) -> dict[str, Any]:
    return rows.by_material(view, takes.levels(data), pk)  # type: ignore[no-any-return]


def _lot(view: Any, data: dict[str, Any]) -> dict[str, Any]:
    return takes.lot_facts(data)


add_supplier = command_view("AddSupplier", settings.add_supplier, takes.TakesSupplier, WRITES, answers.SupplierAnswer)
change_supplier = command_view(
    "ChangeSupplier", settings.change_supplier, takes.ChangesSupplier, WRITES, answers.SupplierAnswer, rows.by_supplier
)
add_material = command_view(
    "AddMaterial", settings.add_material, takes.TakesMaterial, WRITES, answers.MaterialAnswer, _levels
)
change_material = command_view(
    "ChangeMaterial", settings.change_material, takes.ChangesMaterial, WRITES, answers.MaterialAnswer, _changed_levels
)
add_shed = command_view("AddShed", settings.add_shed, takes.TakesShed, WRITES, answers.ShedAnswer)
change_shed = command_view(
    "ChangeShed", settings.change_shed, takes.ChangesShed, WRITES, answers.ShedAnswer, rows.by_shed
)
receive = command_view("Receive", receiving.receive, takes.TakesLot, WRITES, answers.ItemFacts, _lot)
draw = command_view("Draw", stock.draw, takes.TakesDraw, WRITES, answers.MovementAnswer, rows.by_item_amount)
transfer = command_view(
    "Transfer", stock.transfer, takes.TakesTransfer, WRITES, answers.MovementAnswer, rows.by_item_amount
)
discard = command_view(
    "Discard", stock.discard, takes.TakesDiscard, WRITES, answers.MovementAnswer, rows.by_item_amount
)
count = command_view("Count", counting.count, takes.TakesDraw, COUNTS, answers.CountAnswer, rows.by_item_amount)
count_by_weight = command_view(
    "CountByWeight", counting.count_by_weight, takes.TakesWeights, COUNTS, answers.CountAnswer, rows.by_item
)
find = command_view("Find", stock.find, takes.TakesFind, WRITES, answers.MovementAnswer, rows.by_item_amount)
correct = command_view(
    "Correct", correcting.correct, takes.TakesCorrection, WRITES, answers.Corrected, rows.by_movement_amount
)
settle_question = command_view(
    "SettleQuestion", correcting.settle_question, takes.TakesAnswer, WRITES, answers.QuestionAnswer, rows.by_question
)
attach_certificate = command_view(
    "AttachCertificate", papers.attach_certificate, takes.TakesCertificate, WRITES, answers.PaperAnswer, rows.by_item
)
place_hold = command_view("PlaceHold", holding.place_hold, takes.TakesHold, DOUBTS, answers.HoldAnswer)
lift_hold = command_view("LiftHold", holding.lift_hold, takes.TakesReason, CLEARS, answers.HoldAnswer, rows.by_hold)
free_from_hold = command_view(
    "FreeFromHold", holding.free_from_hold, takes.TakesFreeing, CLEARS, answers.FreedAnswer, rows.by_hold
)
