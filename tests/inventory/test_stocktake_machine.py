"""Counts, draws, receipts and transfers in any order: what the book has at the end is what is there."""

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory import ledger, proofs
from inventory.commands import stock
from inventory.commands.stocktaking import begin_stocktake, count_in, end_stocktake
from inventory.models import Place
from tests.makers import inventory as make
from tests.makers.coop import do

pytestmark = [pytest.mark.django_db, pytest.mark.slow]

KINDS = st.sampled_from(["count", "draw", "bring", "carry"])
STEPS = st.lists(st.tuples(KINDS, st.integers(1, 900)), max_size=7)


class Shed:
    """One lot in two sheds: what the book has, and beside it what truly stands there."""

    def __init__(self, off: int) -> None:
        self.here, self.other = make.shed(), make.shed()
        self.lot = make.lot(place=self.here, quantity=1_000)
        do(stock.transfer, item=self.lot, source=self.here, target=self.other, quantity=400)
        self.true = {self.here: 600 + off, self.other: 400}
        self.take = do(begin_stocktake, place=self.here)

    def step(self, kind: str, amount: int) -> None:
        here, other = self.here, self.other
        if kind == "count":
            self.count()
        elif kind == "draw":
            self.out(here, min(amount, self.true[here]), None)
        elif kind == "carry":
            self.out(here, min(amount, self.true[here]), other)
        else:
            self.out(other, min(amount, ledger.quantity_at(self.lot, other)), here)

    def out(self, source: Place, amount: int, target: Place | None) -> None:
        if not amount:
            return
        facts: dict[str, Any] = {"item": self.lot, "quantity": amount, "confirmed": True}
        if target is None:
            do(stock.draw, place=source, **facts)
        else:
            do(stock.transfer, source=source, target=target, **facts)
            self.true[target] += amount
        self.true[source] -= amount

    def count(self) -> None:
        do(count_in, stocktake=self.take, item=self.lot, quantity=self.true[self.here], confirmed=True)


def play(off: int, before: list[Any], between: list[Any], after: list[Any]) -> None:
    shed = Shed(off)
    for steps in (before, between, after):
        for kind, amount in steps:
            shed.step(kind, amount)
        if steps is not after:
            shed.count()
    do(end_stocktake, stocktake=shed.take)
    assert ledger.quantity_at(shed.lot, shed.here) == shed.true[shed.here]
    assert [*proofs.holdings(), *proofs.edges()] == []


@settings(max_examples=25, suppress_health_check=list(HealthCheck))
@given(off=st.integers(-600, 600), before=STEPS, between=STEPS, after=STEPS)
def test_any_order_of_deeds_ends_with_the_book_equal_to_what_is_there(
    off: int, before: list[Any], between: list[Any], after: list[Any]
) -> None:
    play(off, before, between, after)
