"""The machine's rules about drums: put in, weighed, carried, spilt from, counted; each agrees with the books."""

from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import Bundle, RuleBasedStateMachine, multiple, rule

from coop.command import Refused
from inventory import ledger
from inventory.commands import containers, counting, incidents, stocktaking
from inventory.models import Container, Item, Place, Question
from tests.makers.coop import do

AMOUNTS = st.integers(1, 2_000)
SHEDS = st.integers(0, 2)
TARE = 100
GROSS = st.integers(TARE, 2_000)
DRUMS = [{"name": f"drum {number}", "tare_mg": TARE, "gross_mg": 1_600} for number in (1, 2)]


class Drums(RuleBasedStateMachine):
    """Half of the machine; `sheds` comes from the whole."""

    items, drums = Bundle("items"), Bundle("drums")
    sheds: list[Place]

    @rule(drum=drums, quantity=AMOUNTS)
    def spill_from(self, drum: Container, quantity: int) -> None:
        """Out of a drum, where it stands; the book's word for what is in it never falls below nothing."""
        drum.refresh_from_db()
        place = drum.place or self.sheds[0]
        facts = {"item": drum.lot.item, "place": place, "quantity": quantity, "what": "It leaked."}
        before = drum.net_mg
        do(incidents.spill, **facts, container=drum)
        drum.refresh_from_db()
        is_weighed = drum.lot.item.unit == "mass"
        assert drum.net_mg == (max((before or 0) - quantity, 0) if is_weighed else before)

    @rule(target=drums, item=items, name=st.sampled_from("abcd"), shed=SHEDS, gross=GROSS)
    def put_in(self, item: Item, name: str, shed: int, gross: int) -> Any:
        facts = {"name": name, "place": self.sheds[shed], "tare_mg": TARE, "gross_mg": gross}
        try:
            return do(containers.add_container, item=item, **facts)
        except Refused:
            return multiple()  # no lot, a name that is taken, or a shed where none of it ever was

    @rule(drum=drums, gross=GROSS, is_empty=st.booleans())
    def weigh(self, drum: Container, gross: int, is_empty: bool) -> None:
        drum.refresh_from_db()
        if is_empty:
            do(containers.empty_container, container=drum)
        else:
            assert do(containers.weigh_container, container=drum, gross_mg=gross)["net_mg"] == gross - TARE

    @rule(drum=drums, shed=SHEDS, gross=st.none() | GROSS)
    def carry(self, drum: Container, shed: int, gross: int | None) -> None:
        """With what is in it: what the scale says and the book has not is found; an old weight finds nothing."""
        target, item = self.sheds[shed], drum.lot.item
        found = Question.objects.count()
        before = ledger.quantity_at(item, target)
        try:
            movement = do(containers.move_container, container=drum, target=target, gross_mg=gross)
        except Refused:
            assert ledger.quantity_at(item, target) == before
            return
        drum.refresh_from_db()
        assert drum.place == target
        assert movement.quantity == drum.net_mg or (gross is None and movement.quantity < (drum.net_mg or 0))
        assert gross is not None or Question.objects.count() == found
        assert ledger.quantity_at(item, target) == before + movement.quantity

    @rule(drum=drums, shed=SHEDS, gross=GROSS, is_here=st.booleans())
    def count_drums(self, drum: Container, shed: int, gross: int, is_here: bool) -> None:
        """One drum is weighed; the others that stand there by the book weigh the same, or are not there."""
        item, place = drum.lot.item, self.sheds[shed]
        others = Container.objects.filter(lot=drum.lot, place=place, emptied_on=None).exclude(pk=drum.pk)
        seen = [drum, *(others if is_here else ())]
        weighed = [{"container": one, "gross_mg": gross} for one in seen]
        absent = [] if is_here else list(others)
        if item.unit != "mass":
            return
        outcome = do(counting.count_by_weight, item=item, place=place, weighed=weighed, absent=absent)
        assert outcome["counted"] == ledger.quantity_at(item, place) == len(seen) * (gross - TARE)
        standing = Container.objects.filter(lot=drum.lot, place=place, emptied_on=None)
        assert set(standing) == (set(seen) if gross > TARE else set())

    @rule(drum=drums, shed=SHEDS, gross=GROSS)
    def count_in_drum(self, drum: Container, shed: int, gross: int) -> None:
        """One drum on the scale, the others are not there."""
        item, place = drum.lot.item, self.sheds[shed]
        if item.unit != "mass":
            return
        take = do(stocktaking.begin_stocktake, place=place)
        others = Container.objects.filter(lot=drum.lot, place=place, emptied_on=None).exclude(pk=drum.pk)
        weighed = [{"container": Container.objects.get(pk=drum.pk), "gross_mg": gross}]
        facts = {"item": item, "weighed": weighed, "absent": list(others), "confirmed": True}
        count = do(stocktaking.count_in, stocktake=take, **facts)
        assert count.quantity == gross - TARE
