"""At the pail: weighing in, correcting, reading, titrating."""

import pytest

from batches.commands.bagging import enter_solution, return_solution
from batches.commands.bench import close_bench
from batches.commands.mixing import correct_weighing, due_again, pail_check, read, target_of, titrate, weigh_in
from batches.commands.soaking import lay_strips, pour
from batches.models import Deviation, Reading, Solution
from coop.command import Refused
from coop.proof import differences
from inventory import ledger
from inventory.models import Movement, Question
from tests.makers import batches as make
from tests.makers import inventory
from tests.makers.coop import club
from tests.makers.inventory import KG

pytestmark = pytest.mark.django_db


@pytest.fixture
def room():
    return make.room()


@pytest.fixture
def mix(room):
    return make.started(room).mixes.get()


def w_of(mix):
    w = Solution.objects.get(item=mix.item).w_ppb
    assert w is not None
    return w


def planned_mass(mix, item):
    return next(line["mass_mg"] for line in mix.bench.plan["mixes"][0]["lines"] if line["item"] == item.pk)


def test_what_is_weighed_in_leaves_the_lot_and_makes_the_mix(room, mix):
    mass = planned_mass(mix, room.acid)
    before = ledger.on_hand(room.acid)
    weighing = room.do(weigh_in, mix=mix, item=room.acid, gross_mg=mass + 800_000, tare_mg=800_000)
    assert weighing.mass_mg == weighing.target_mg == mass
    assert ledger.on_hand(room.acid) == before - mass
    assert target_of(mix, room.acid) is None
    assert target_of(mix, room.glycerine) == planned_mass(mix, room.glycerine)
    assert list(differences()) == []


@pytest.mark.parametrize("factor", [0.5, 1.5])
def test_a_mass_far_from_its_figure_is_asked_about_and_kept_when_confirmed(room, mix, factor):
    mass = int(planned_mass(mix, room.acid) * factor)
    with pytest.raises(Refused) as refused:
        room.do(weigh_in, mix=mix, item=room.acid, mass_mg=mass)
    assert refused.value.code == "did_you_mean"
    assert mix.weighings.count() == 0
    assert room.do(weigh_in, mix=mix, item=room.acid, mass_mg=mass, confirmed=True).mass_mg == mass


def test_a_mass_that_the_scale_cannot_tell_is_asked_about(room, mix):
    for mass in (16 * KG, 1_900):
        with pytest.raises(Refused) as refused:
            room.do(weigh_in, mix=mix, item=room.glycerine, mass_mg=mass, target_mg=mass, scale=room.scale)
        assert refused.value.code == "did_you_mean"


def test_acid_of_unknown_form_is_asked_about(room, mix):
    unknown = inventory.lot(room.acid.material, room.shed, form="unknown")
    with pytest.raises(Refused) as refused:
        room.do(weigh_in, mix=mix, item=unknown, mass_mg=1_400_000)
    assert refused.value.code == "form"


def test_more_than_the_book_holds_is_kept_with_a_question_on_the_mix(room, mix):
    little = inventory.lot(room.acid.material, room.shed, quantity=480_000)
    with pytest.raises(Refused):  # another lot, but far from what the plan still asks of acid
        room.do(weigh_in, mix=mix, item=little, mass_mg=500_000)
    room.do(weigh_in, mix=mix, item=little, mass_mg=500_000, confirmed=True)
    question = Question.objects.get()
    assert (question.item, question.kind) == (mix.item, Question.Kind.FOUND)
    assert list(differences()) == []


def test_a_correction_reverses_both_movements_and_the_strength_follows(room, mix):
    make.weighed(room, mix.bench, mix)
    right = mix.weighings.get(item=room.acid)
    wrong_w = w_of(mix)
    room.do(correct_weighing, weighing=right, mass_mg=right.mass_mg - 50_000, reason="read the wrong line")
    right.refresh_from_db()
    assert right.first_mass_mg - right.mass_mg == 50_000
    assert w_of(mix) < wrong_w
    assert Movement.objects.filter(reverses__isnull=False).count() == 2
    room.do(correct_weighing, weighing=right, mass_mg=right.first_mass_mg, reason="it was right")
    assert w_of(mix) == wrong_w
    assert list(differences()) == []


def test_a_weighing_that_never_was_is_corrected_to_nothing(room, mix):
    weighing = room.do(weigh_in, mix=mix, item=room.acid, mass_mg=planned_mass(mix, room.acid))
    room.do(correct_weighing, weighing=weighing, mass_mg=0, reason="entered twice")
    assert Solution.objects.get(item=mix.item).w_ppb is None
    assert list(differences()) == []


def test_an_input_after_the_first_pour_is_kept_as_a_deviation(room):
    bench = make.started(room)
    make.poured(room, bench)
    room.do(weigh_in, after=2, mix=bench.mixes.get(), item=room.glycerine, mass_mg=10_000)
    assert Deviation.objects.get().kind == "after_pour"


def test_a_pail_that_weighs_another_sum_is_asked_about(room, mix):
    make.weighed(room, mix.bench, mix)
    with pytest.raises(Refused) as refused:
        room.do(pail_check, mix=mix, total_mg=4_100_000)
    assert refused.value.code == "reweigh"
    assert room.do(pail_check, mix=mix, total_mg=4_100_000, confirmed=True).expected_mg == 4 * KG


def test_a_reading_is_corrected_by_the_last_check_with_its_uncertainty(room, mix):
    reading = room.do(read, mix=mix, solution_mc=40_000, thermometer=room.thermometer)
    assert reading.corrected_mc == 39_800  # it showed 18.2 in water of 18.0
    assert reading.expanded_mc == round(2 * (2 * 100**2 / 12 + 200**2) ** 0.5)


def test_a_jump_is_asked_about_and_a_slow_climb_is_not(room, mix):
    room.do(read, mix=mix, solution_mc=30_000)
    with pytest.raises(Refused) as refused:
        room.do(read, after=1, mix=mix, solution_mc=39_000)
    assert refused.value.code == "did_you_mean"
    assert room.do(read, mix=mix, solution_mc=37_900).solution_mc == 37_900
    assert room.do(read, after=1, mix=mix, solution_mc=60_000, confirmed=True).solution_mc == 60_000


def test_above_the_ceiling_a_deviation_opens_once_and_recording_goes_on(room, mix):
    for minutes, temp in ((0, 55_000), (3, 60_100), (3, 61_000), (3, 62_000)):
        room.do(read, after=minutes, mix=mix, solution_mc=temp)
    assert Reading.objects.count() == 4
    deviation = Deviation.objects.get()
    assert (deviation.kind, deviation.reason) == ("peak", "")


def test_readings_are_due_more_often_as_it_gets_hot(room, mix):
    minutes = []
    for temp in (30_000, 48_000, 54_000):
        reading = room.do(read, after=10, mix=mix, solution_mc=temp)
        minutes.append(due_again(reading).total_seconds() / 60)
    assert minutes == [5, 3, 2]


def test_a_titration_replaces_the_computed_strength_and_what_was_made_follows(room):
    club(can_titrate=True)
    bench = make.started(room)
    soak = make.bagged(room, make.lifted(room, make.poured(room, bench)))
    back, mix = soak.returned.get(), bench.mixes.get()
    room.do(titrate, item=mix.item, w_ppb=352_000_000, u_ppb=1_000_000, method="NaOH")
    solution = Solution.objects.get(item=mix.item)
    assert (solution.w_ppb, solution.source) == (352_000_000, "titrated")
    assert solution.weighed_ppb == pytest.approx(360_000_000, abs=1000)
    assert Solution.objects.get(item=back.item).w_ppb == 352_000_000
    assert list(differences()) == []


def test_a_club_without_a_fine_balance_is_not_offered_a_titration(room, mix):
    with pytest.raises(Refused) as refused:
        room.do(titrate, item=mix.item, w_ppb=350_000_000, u_ppb=0, method="NaOH")
    assert refused.value.code == "balance"


def test_reuse_and_reheats_are_one_more_than_the_highest_that_was_drawn(room, mix):
    old, new = (
        room.do(enter_solution, mass_mg=KG, place=room.shed, w_ppb=360_000_000, reuse=reuse, reheats=reheats)
        for reuse, reheats in ((2, 1), (0, 3))
    )
    for item in (old, new):
        room.do(weigh_in, mix=mix, item=item, mass_mg=500_000)
    solution = Solution.objects.get(item=mix.item)
    assert (solution.reuse, solution.reheats) == (3, 4)


def test_what_stays_in_the_pail_may_go_back_on_the_shelf(room, mix):
    make.weighed(room, mix.bench, mix)
    soak = room.do(lay_strips, bench=mix.bench, strips=10)
    room.do(pour, mix=mix, mass_mg=1 * KG, temp_mc=52_000, clarity="clear", covered_mm=12)
    back = room.do(return_solution, mix=mix, mass_mg=2_900_000, clarity="clear")
    assert ledger.on_hand(back.item) == 2_900_000
    assert Solution.objects.get(item=back.item).w_ppb == Solution.objects.get(item=mix.item).w_ppb
    assert soak.item_id != back.item_id
    with pytest.raises(Refused):
        room.do(close_bench, bench=mix.bench)
    assert list(differences()) == []
