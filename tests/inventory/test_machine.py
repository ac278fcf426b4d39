"""Random commands in any order: the books prove after every step, and holds agree with a plain closure.

COOP_TEST_MACHINE_RUNS says how many runs (60 on a desk; a thousand where the whole suite is run for good).
"""

import os
from collections import defaultdict
from typing import Any

import pytest
from django.db import transaction
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    Bundle,
    consumes,
    initialize,
    invariant,
    multiple,
    precondition,
    rule,
)
from hypothesis.stateful import run_state_machine_as_test as run_machine

from coop.command import Refused
from coop.registry import proofs
from inventory import ancestry, holds, ledger, stocktakes
from inventory.commands import correcting, counting, holding, incidents, stock, stocktaking
from inventory.models import Edge, Freed, Hold, Holding, HoldSeed, Item, Movement, Place, Stocktake
from tests.inventory.drum_rules import AMOUNTS, DRUMS, SHEDS, Drums
from tests.makers import brew
from tests.makers import inventory as make
from tests.makers.coop import coordinator, do

RUNS = int(os.environ.get("COOP_TEST_MACHINE_RUNS", "60"))
SHRINKS = bool(os.environ.get("COOP_TEST_MACHINE_SHRINKS"))  # minutes, for whoever looks for the reason


def closure(starts: set[int], children: dict[int, set[int]], stops: set[int]) -> set[int]:
    """What can be reached: the plain way."""
    found: set[int] = set()
    ahead = [start for start in starts if start not in stops]
    while ahead:
        item = ahead.pop()
        if item not in found:
            found.add(item)
            ahead += [child for child in children[item] if child not in stops]
    return found


def plainly_held() -> dict[int, set[int]]:
    """Hold id to the items it reaches, from the rows alone."""
    children: dict[int, set[int]] = defaultdict(set)
    for edge in Edge.objects.all():
        if edge.mass_mg or edge.pieces:
            children[edge.parent_id].add(edge.child_id)
    return {
        hold.pk: closure(
            set(HoldSeed.objects.filter(hold=hold).values_list("item", flat=True)),
            children,
            set(Freed.objects.filter(hold=hold, voided_by=None).values_list("item", flat=True)),
        )
        for hold in Hold.objects.filter(lifted_by=None)
    }


class Shelf(Drums):
    """One club's shelf, in a transaction that is rolled back when the run ends."""

    items, drums = Bundle("items"), Bundle("drums")
    mixes = Bundle("mixes")
    tubs = Bundle("tubs")
    liquids = Bundle("liquids")
    bags = Bundle("bags")
    things = Bundle("things")
    holds = Bundle("holds")

    def __init__(self) -> None:
        super().__init__()
        self.atomic: Any = transaction.atomic()
        self.atomic._from_testcase = True  # so that durable commands run inside it
        self.atomic.__enter__()
        self.by = coordinator()
        self.sheds = [make.shed(), make.shed(), Place.objects.the(Place.Kind.QUARANTINE)]
        self.acid, self.strip, self.supplier = make.acid(), make.strips(), make.supplier()

    @initialize(target=items)
    def sacks(self) -> Any:
        """Something to begin with, so that few steps reach far."""
        lots = ((self.acid, 3_000), (self.strip, 2_000))
        made = [make.lot(material, self.sheds[0], quantity=some, supplier=self.supplier) for material, some in lots]
        return multiple(*made)

    @initialize(target=drums)
    def barrels(self) -> Any:
        """A lot in two drums."""
        lot = make.lot(self.acid, self.sheds[1], quantity=3_000, supplier=self.supplier, containers=DRUMS)
        return multiple(*lot.lot.containers.all())

    @initialize(targets=(mixes, liquids, things))
    def pail(self) -> Item:
        return brew.mix((make.lot(self.acid, self.sheds[0], quantity=900, supplier=self.supplier), self.sheds[0], 800))

    def teardown(self) -> None:
        transaction.set_rollback(True)
        self.atomic.__exit__(None, None, None)

    @rule(targets=(items, things), is_strip=st.booleans(), quantity=AMOUNTS, shed=SHEDS, doubt=st.booleans())
    def receive(self, is_strip: bool, quantity: int, shed: int, doubt: bool) -> Any:
        material = self.strip if is_strip else self.acid
        facts = {"quantity": quantity, "supplier": self.supplier, "hold_reason": "torn" if doubt else ""}
        return make.lot(material, self.sheds[shed], **facts)

    @rule(item=items, quantity=AMOUNTS, shed=SHEDS)
    def draw(self, item: Item, quantity: int, shed: int) -> None:
        do(stock.draw, item=item, place=self.sheds[shed], quantity=quantity)

    @rule(item=items, quantity=AMOUNTS, shed=SHEDS, other=st.integers(1, 2))
    def transfer(self, item: Item, quantity: int, shed: int, other: int) -> None:
        target = self.sheds[(shed + other) % 3]
        do(stock.transfer, item=item, source=self.sheds[shed], target=target, quantity=quantity)

    @rule(item=items, quantity=st.integers(0, 2_000), shed=SHEDS)
    def count(self, item: Item, quantity: int, shed: int) -> None:
        do(counting.count, item=item, place=self.sheds[shed], quantity=quantity)
        assert ledger.quantity_at(item, self.sheds[shed]) == quantity

    @rule(item=items, quantity=AMOUNTS, shed=SHEDS, cause=st.sampled_from(["discard", "spill"]))
    def discard(self, item: Item, quantity: int, shed: int, cause: str) -> None:
        do(stock.discard, item=item, place=self.sheds[shed], quantity=quantity, cause=cause)

    @rule(item=items, quantity=AMOUNTS, shed=SHEDS)
    def find(self, item: Item, quantity: int, shed: int) -> None:
        before = ledger.quantity_at(item, self.sheds[shed])
        movement = do(stock.find, item=item, place=self.sheds[shed], quantity=quantity, note="behind the door")
        assert ledger.quantity_at(item, self.sheds[shed]) == before + quantity
        assert movement.questions.get().settled_by == movement.deed

    @rule(item=items, quantity=AMOUNTS, shed=SHEDS)
    def spill(self, item: Item, quantity: int, shed: int) -> None:
        incident = do(incidents.spill, item=item, place=self.sheds[shed], quantity=quantity, what="It fell over.")
        assert incident.movement.quantity == quantity

    @rule(item=items, quantity=st.integers(0, 2_000), shed=SHEDS)
    def count_in(self, item: Item, quantity: int, shed: int) -> None:
        """A stocktake is begun, or gone on with; the book stays as it is until it ends."""
        take = do(stocktaking.begin_stocktake, place=self.sheds[shed])
        before = Movement.objects.count()
        do(stocktaking.count_in, stocktake=take, item=item, quantity=quantity, confirmed=True)
        assert Movement.objects.count() == before

    @precondition(lambda self: Stocktake.objects.filter(state="open").exists())
    @rule()
    def end_stocktake(self) -> None:
        """After a second look at what differs, what was counted is what was there, whatever moved since."""
        take = Stocktake.objects.filter(state="open").earliest("pk")
        for thing in stocktakes.read(take).again:
            facts = {"item": thing.item, "quantity": thing.counts[-1].quantity, "confirmed": True}
            do(stocktaking.count_in, stocktake=take, **facts)
        wanted = {one.item.pk: one.difference for one in stocktakes.read(take).counted}
        before = {pk: ledger.quantity_at(Item.objects.get(pk=pk), take.place) for pk in wanted}
        do(stocktaking.end_stocktake, stocktake=take, leave_uncounted=True)
        for pk, difference in wanted.items():
            there = ledger.quantity_at(Item.objects.get(pk=pk), take.place)
            assert there == max(before[pk] + difference, 0)

    @precondition(lambda self: Movement.objects.exists())
    @rule(data=st.data(), quantity=st.integers(0, 2_000))
    def correct(self, data: st.DataObject, quantity: int) -> None:
        movements = list(Movement.objects.order_by("pk"))
        movement = data.draw(st.sampled_from(movements))
        before = Movement.objects.count()
        try:
            if movement.cause in correcting.OWN_CAUSES:
                do(correcting.correct, movement=movement, quantity=quantity, note="a slip")
            else:
                brew.set_right(movement, quantity)
        except Refused:
            assert Movement.objects.count() == before

    @rule(item=items, quantity=AMOUNTS, shed=SHEDS)
    def ask_for(self, item: Item, quantity: int, shed: int) -> None:
        """A request: all or nothing."""
        place = self.sheds[shed]
        there = ledger.quantity_at(item, place)
        move = ledger.Move(item, place, Place.objects.the(Place.Kind.LOST), quantity, "loss")
        if there >= quantity:
            brew.go(move, fact=False)
            assert ledger.quantity_at(item, place) == there - quantity
            return
        with pytest.raises(Refused) as refusal:
            brew.go(move, fact=False)
        assert refusal.value.facts == {"on_hand": there, "short": quantity - there}
        assert ledger.quantity_at(item, place) == there

    @rule(targets=(mixes, liquids, things), item=items, quantity=AMOUNTS, shed=SHEDS)
    def mix(self, item: Item, quantity: int, shed: int) -> Any:
        return brew.mix((item, self.sheds[shed], quantity)) if item.unit == "mass" else multiple()

    @rule(mix=mixes, item=items, quantity=AMOUNTS, shed=SHEDS)
    def add(self, mix: Item, item: Item, quantity: int, shed: int) -> None:
        if item.unit == "mass":
            brew.add(mix, item, self.sheds[shed], quantity)

    @rule(targets=(tubs, liquids, things), one=mixes, other=mixes, mass=AMOUNTS, blanks=items, pieces=AMOUNTS)
    def soak(self, one: Item, other: Item, mass: int, blanks: Item, pieces: int) -> Item:
        is_strip = blanks.kind == "lot" and blanks.unit == "pieces"
        poured = [(one, mass)] if one == other else [(one, mass), (other, mass)]
        return brew.soak(*poured, blanks=(blanks, self.sheds[0], pieces) if is_strip else None)

    @rule(targets=(items, bags, things), tub=tubs, pieces=AMOUNTS, uptake=AMOUNTS, shed=SHEDS)
    def bag(self, tub: Item, pieces: int, uptake: int, shed: int) -> Item:
        return brew.bag(tub, self.sheds[shed], pieces, uptake)

    @rule(targets=(items, things), source=liquids, mass=AMOUNTS, shed=SHEDS)
    def give_back(self, source: Item, mass: int, shed: int) -> Item:
        return brew.give_back(source, self.sheds[shed], mass)

    @rule(targets=(items, bags, things), bag=bags, pieces=AMOUNTS, shed=SHEDS)
    def split(self, bag: Item, pieces: int, shed: int) -> Any:
        return brew.part(bag, self.sheds[shed], pieces)

    @rule(target=holds, item=things)
    def hold(self, item: Item) -> Hold:
        return make.hold(item)

    @rule(hold=consumes(holds))
    def lift(self, hold: Hold) -> None:
        do(holding.lift_hold, hold=hold, reason="settled")

    @precondition(lambda self: Hold.objects.active().exists())
    @rule(item=things)
    def free(self, item: Item) -> None:
        for hold in holds.holds_of(item):
            do(holding.free_from_hold, hold=hold, item=item, reason="tested")

    @invariant()
    def the_books_prove(self) -> None:
        found = [sentence for name, proof in proofs.items() if name.startswith("inventory.") for sentence in proof()]
        assert found == []

    @invariant()
    def nothing_is_below_zero(self) -> None:
        assert not Holding.objects.filter(quantity__lt=0).exists()

    @invariant()
    def holds_agree_with_the_plain_closure(self) -> None:
        plain = plainly_held()
        everything = set(Item.objects.values_list("pk", flat=True))
        reached: set[int] = set().union(*plain.values())
        assert holds.held_ids() == reached
        by_item = {item: {hold.pk for hold in found} for item, found in holds.on_hold(everything).items()}
        expected = {item: {hold for hold, ids in plain.items() if item in ids} for item in reached}
        assert by_item == expected
        newest = Item.objects.order_by("-pk").first()
        if newest is not None:
            assert {hold.pk for hold in holds.holds_of(newest)} == expected.get(newest.pk, set())

    @invariant()
    def shares_sum_exactly(self) -> None:
        mixes = Item.objects.filter(edges_up__mass_mg__gt=0).distinct()
        for shares in ancestry.all_shares_up(list(mixes.values_list("pk", flat=True))).values():
            assert sum(shares.values()) == 10**18


@pytest.mark.django_db
@pytest.mark.parametrize("half", [1, 2])
def test_the_books_prove_after_any_commands(half: int) -> None:
    """In two halves, so that two processors share them."""
    run_machine(
        Shelf,
        settings=settings(
            max_examples=(RUNS + 1) // 2,
            stateful_step_count=10,
            deadline=None,
            phases=[Phase.explicit, Phase.reuse, Phase.generate, *([Phase.shrink] if SHRINKS else [])],
            suppress_health_check=list(HealthCheck),
            print_blob=True,
        ),
    )
