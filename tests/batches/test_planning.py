"""The plan: how much, from which lots, and what is said when it cannot be."""

import datetime as dt

import pytest

from batches.commands.bagging import enter_solution
from batches.commands.planning import plan_bench
from coop.command import Refused
from tests.makers import batches as make
from tests.makers import inventory
from tests.makers.inventory import KG

pytestmark = pytest.mark.django_db
DAY = make.START.date()


@pytest.fixture
def room():
    return make.room()


def acid(room, kilos, days, **facts):
    best_before = DAY + dt.timedelta(days=days)
    facts.setdefault("assay_ppb", 998_000_000)
    return inventory.lot(room.acid.material, room.shed, quantity=kilos * KG, best_before=best_before, **facts)


def lines(bench, role):
    return [(line["item"], line["mass_mg"]) for line in bench.plan["mixes"][0]["lines"] if line["role"] == role]


def test_one_lot_that_is_enough_is_taken_before_two_that_expire_sooner(room):
    acid(room, 1, 10)
    acid(room, 1, 20)
    enough = acid(room, 5, 400)
    bench = make.planned(room, target_mg=4 * KG)
    assert [item for item, _mass in lines(bench, "acid")] == [enough.pk]


def test_of_two_lots_that_are_enough_the_first_expiring_is_taken(room):
    acid(room, 5, 400)
    soon = acid(room, 5, 40)
    assert [item for item, _mass in lines(make.planned(room), "acid")] == [soon.pk]


def test_two_lots_are_taken_where_one_is_not_enough_and_the_first_is_used_up(room):
    sooner = acid(room, 6, 10)
    inventory.lot(room.glycerine.material, room.shed, quantity=40 * KG)
    bench = make.planned(room, target_mg=40 * KG, blanks=room.blanks)
    drawn = lines(bench, "acid")
    assert drawn[0] == (sooner.pk, 6 * KG)
    assert [item for item, _mass in drawn] == [sooner.pk, room.acid.pk]
    assert sum(line["mass_mg"] for line in bench.plan["mixes"][0]["lines"]) == 40 * KG


def test_held_expired_and_unknown_acid_is_not_planned_with(room):
    inventory.hold(room.acid)
    acid(room, 5, -1)
    acid(room, 5, 100, form="unknown")
    with pytest.raises(Refused) as refused:
        make.planned(room)
    assert (refused.value.code, refused.value.facts["what"]) == ("short", "acid")
    assert refused.value.facts["on_hand_mg"] == 0


def test_hives_become_strips_and_strips_become_solution(room):
    bench = make.planned(room, target_mg=None, hives={make.hive_kind().pk: 20})
    assert bench.plan["strips"] == 60
    assert bench.plan["target_mg"] == room.recipe.mass_for(60) == 3 * KG
    assert bench.blanks == room.blanks


def test_a_hive_kind_without_a_dose_is_refused(room):
    other = make.hive_kind("tall hive")
    with pytest.raises(Refused) as refused:
        make.planned(room, target_mg=None, hives={other.pk: 2})
    assert refused.value.code == "doses"


def test_too_few_blanks_of_one_lot_are_said_and_lots_are_not_mixed(room):
    inventory.lot(room.blanks.material, room.shed, quantity=400)
    with pytest.raises(Refused) as refused:
        make.planned(room, target_mg=None, strips=520)
    assert (refused.value.facts["what"], refused.value.facts["short"]) == ("strips", 20)
    assert make.planned(room, target_mg=None, strips=390).plan["strips"] == 390


def test_too_little_glycerine_says_the_most_that_can_be_made(room):
    inventory.hold(room.glycerine)
    inventory.lot(room.glycerine.material, room.shed, quantity=1 * KG)
    with pytest.raises(Refused) as refused:
        make.planned(room, target_mg=4 * KG)
    most = refused.value.facts["most_mg"]
    assert refused.value.facts["what"] == "glycerine"
    assert make.planned(room, target_mg=most - 2).plan["glycerine_mg"] == pytest.approx(KG, abs=5)


def test_several_mixes_share_every_line_and_sum_exactly(room):
    bench = make.planned(room, target_mg=4 * KG + 1, mixes=3)
    pails = bench.plan["mixes"]
    assert len(pails) == 3
    assert sum(pail["target_mg"] for pail in pails) == 4 * KG + 1
    for role in ("acid", "glycerine"):
        shares = [line["mass_mg"] for pail in pails for line in pail["lines"] if line["role"] == role]
        assert max(shares) - min(shares) <= 1
        assert sum(shares) == bench.plan[f"{role}_mg"]


def test_a_weak_returned_solution_is_used_up_with_acid_only(room):
    back = room.do(enter_solution, mass_mg=2 * KG, place=room.shed, w_ppb=300_000_000)
    bench = make.planned(room, target_mg=None, use_up=back)
    assert bench.plan["returned_mg"] == 2 * KG
    assert bench.plan["glycerine_mg"] <= 1
    pure = 2 * KG * 0.3 + bench.plan["acid_mg"] * 0.998
    assert pure / bench.plan["target_mg"] == pytest.approx(0.36, abs=1e-6)


def test_so_much_weak_solution_that_nothing_else_fits_is_refused_with_what_fits(room):
    back = room.do(enter_solution, mass_mg=2 * KG, place=room.shed, w_ppb=300_000_000)
    with pytest.raises(Refused) as refused:
        make.planned(room, target_mg=2 * KG + 1000, returned=[{"item": back}])
    assert refused.value.code == "too_much"
    use = refused.value.facts["use_mg"]
    assert (
        make.planned(room, target_mg=2 * KG + 1000, returned=[{"item": back, "mass_mg": use}]).plan["returned_mg"]
        == use
    )


def test_returned_solution_that_should_be_titrated_first_is_said_in_the_plan(room):
    facts = {"mass_mg": 500_000, "place": room.shed, "w_ppb": 355_000_000}
    room.now -= dt.timedelta(days=100)
    old = room.do(enter_solution, **facts)
    room.now += dt.timedelta(days=100)
    tired, known = (
        room.do(enter_solution, reheats=2, is_titrated=is_titrated, **facts) for is_titrated in (False, True)
    )
    said = make.planned(room, returned=[{"item": one} for one in (old, tired, known)]).plan["warnings"]
    assert [one.split(":")[0] for one in said] == [old.spaced_code, tired.spaced_code]
    assert "titrate" in said[0]


def test_a_plan_says_how_much_in_exactly_one_way(room):
    for facts in ({"target_mg": None}, {"strips": 40}):
        with pytest.raises(Refused) as refused:
            make.planned(room, **facts)
        assert refused.value.code == "target"


def test_the_limits_in_force_are_kept_with_the_plan(room):
    bench = make.planned(room)
    assert bench.limits["ceiling_mc"] == 60_000
    assert room.do(plan_bench, recipe=room.recipe, day=DAY, target_mg=KG, u_w_ppb=9).plan["u_w_ppb"] == 9
