"""When a lot's assay or form is set right, the strength of what was made of it follows."""

import pytest

from inventory.commands.lots import change_lot
from inventory.models import Question
from tests.makers import batches as make
from tests.makers import members
from tests.makers.coop import do

pytestmark = pytest.mark.django_db


@pytest.fixture
def room() -> make.Room:
    return make.room()


def test_the_strength_of_a_mix_follows_the_assay_of_its_acid(room: make.Room) -> None:
    mix = make.weighed(room, make.started(room, target_mg=2_000_000))
    mix.item.solution.refresh_from_db()
    before = mix.item.solution.w_ppb
    do(change_lot, item=room.acid, assay_ppb=900_000_000, reason="a slip of the pen")
    mix.item.solution.refresh_from_db()
    grams = mix.weighings.get(item=room.acid).mass_mg
    total = sum(mix.weighings.values_list("mass_mg", flat=True))
    assert mix.item.solution.w_ppb == pytest.approx(grams * 900_000_000 / total, abs=1)
    assert mix.item.solution.w_ppb < (before or 0)
    assert Question.objects.get(kind="papers").item == mix.item


def test_a_released_soak_gets_late_evidence(room: make.Room) -> None:
    bag = members.released_bags([30, 28], room=room)[0]
    do(change_lot, item=room.acid, form="anhydrous", reason="the supplier wrote")
    assert Question.objects.filter(item=bag.soak.item, kind="late").exists()
