"""The commands of a stocktake, failing at each of their statements in turn: nothing is half written."""

from typing import Any

import pytest

from inventory.commands import stocktaking
from inventory.models import Item, Stocktake
from tests.makers import inventory as make
from tests.makers.coop import do
from tests.makers.failing import survives

pytestmark = pytest.mark.django_db(transaction=True)


def _begun() -> tuple[Stocktake, Item]:
    shed = make.shed()
    drums = [{"name": f"drum {number}", "tare_mg": 1_000, "gross_mg": 3_500} for number in (1, 2)]
    lot = make.lot(place=shed, quantity=5_000, containers=drums)
    return do(stocktaking.begin_stocktake, place=shed), lot


def _weighed(lot: Item) -> dict[str, Any]:
    one, two = lot.lot.containers.order_by("pk")
    return {"weighed": [{"container": one, "gross_mg": 3_000}], "absent": [two], "loose": 20}


def begin_stocktake() -> dict[str, Any]:
    return {"place": make.shed(), "note": "before the season"}


def count_in() -> dict[str, Any]:
    take, lot = _begun()
    return {"stocktake": take, "item": lot, **_weighed(lot)}


def end_stocktake() -> dict[str, Any]:
    take, lot = _begun()
    stray = make.lot(quantity=5_000)
    for _look in range(2):
        do(stocktaking.count_in, stocktake=take, item=lot, **_weighed(lot))
        do(stocktaking.count_in, stocktake=take, item=stray, quantity=70)
    return {"stocktake": take}


def leave_stocktake() -> dict[str, Any]:
    return {"stocktake": _begun()[0], "reason": "too cold"}


CASES = {
    stocktaking.begin_stocktake: begin_stocktake,
    stocktaking.count_in: count_in,
    stocktaking.end_stocktake: end_stocktake,
    stocktaking.leave_stocktake: leave_stocktake,
}


@pytest.mark.parametrize("command", CASES, ids=lambda one: one.verb)
def test_it_leaves_nothing_behind_wherever_it_fails(command: Any) -> None:
    survives(command, **CASES[command]())
