"""At the tub: laying strips, pouring, looking, lifting; more than one mix in a tub."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from batches import strength, tub
from batches.commands.bagging import bag
from batches.commands.mixing import correct_weighing
from batches.commands.soaking import correct_strips, lay_strips, lift, look, mark_dry, mark_wet, pour
from batches.models import Soak, Solution
from coop.command import Refused
from coop.proof import differences
from inventory import ledger
from inventory.models import Edge
from tests.makers import batches as make
from tests.makers.inventory import KG

pytestmark = pytest.mark.django_db
HOT = {"temp_mc": 52_000, "clarity": "clear", "covered_mm": 12}


@pytest.fixture
def room():
    return make.room()


@pytest.fixture
def bench(room):
    return make.started(room)


def test_strips_leave_their_lot_and_become_a_soak(room, bench):
    soak = room.do(lay_strips, bench=bench, strips=60)
    assert soak.blanks == room.blanks
    assert ledger.on_hand(room.blanks) == 440
    edge = Edge.objects.get(child=soak.item)
    assert (edge.parent, edge.pieces, edge.mass_mg) == (room.blanks, 60, 0)


def test_a_pack_that_weighs_another_count_is_asked_about(room, bench):
    with pytest.raises(Refused) as refused:
        room.do(lay_strips, bench=bench, strips=60, pack_mg=56 * 13_600)
    assert refused.value.code == "recount"
    assert room.do(lay_strips, bench=bench, strips=60, pack_mg=60 * 13_600).strips == 60


def test_a_wrong_count_is_corrected_in_lot_tub_and_record(room, bench):
    soak = room.do(lay_strips, bench=bench, strips=60)
    room.do(correct_strips, soak=soak, strips=58, reason="two stuck together")
    soak.refresh_from_db()
    assert (soak.strips, ledger.on_hand(room.blanks)) == (58, 442)
    assert list(differences()) == []


def test_the_first_pour_starts_the_clock_and_the_plain_case_needs_no_tub_named(room, bench):
    mix = make.weighed(room, bench)
    room.do(lay_strips, bench=bench, strips=60)
    made = room.do(pour, after=5, mix=mix, before_mg=5_400_000, after_mg=1_410_000, **HOT)
    soak = Soak.objects.get()
    assert made.mass_mg == 3_990_000
    assert (soak.state, soak.poured_at) == (Soak.State.SOAKING, room.now)
    assert (soak.lift_due_at() - room.now).total_seconds() == 48 * 3600
    assert tub.left_mg(soak) == 3_990_000


@pytest.mark.parametrize(
    "facts", [{"temp_mc": 38_000}, {"temp_mc": 61_000}, {"clarity": "grains"}, {"clarity": "coloured"}]
)
def test_a_pour_that_should_wait_is_asked_about_and_kept_when_confirmed(room, bench, facts):
    mix = make.weighed(room, bench)
    room.do(lay_strips, bench=bench, strips=60)
    with pytest.raises(Refused) as refused:
        room.do(pour, mix=mix, mass_mg=KG, **{**HOT, **facts})
    assert refused.value.code == "stop"
    assert room.do(pour, mix=mix, mass_mg=KG, confirmed=True, **{**HOT, **facts}).mass_mg == KG


def test_a_second_pour_of_the_same_mix_is_already_there_unless_it_tops_up(room, bench):
    soak = make.poured(room, bench)
    mix = bench.mixes.get()
    with pytest.raises(Refused) as refused:
        room.do(pour, by=room.mate, mix=mix, soak=soak, mass_mg=KG, **HOT)
    assert refused.value.code == "already"
    assert room.leader.name in refused.value.sentence
    room.do(pour, mix=mix, soak=soak, mass_mg=10_000, temp_mc=30_000, is_topup=True)
    assert tub.left_mg(soak) == 4 * KG
    assert list(differences()) == []


def test_a_pail_that_weighed_a_little_more_than_its_parts_is_no_question(room, bench):
    mix = make.weighed(room, bench)
    room.do(lay_strips, bench=bench, strips=60)
    room.do(pour, mix=mix, mass_mg=4_012_000, **HOT)
    assert not mix.item.questions.exists()
    assert list(differences()) == []


def test_two_mixes_in_one_tub_give_in_proportion_and_their_mean_strength(room):
    bench = make.started(room, mixes=2)
    first, second = bench.mixes.all()
    soak = make.poured(room, bench, mix=make.weighed(room, bench, first))
    make.weighed(room, bench, second)
    weaker = second.weighings.get(item=room.acid)
    room.do(correct_weighing, weighing=weaker, mass_mg=weaker.mass_mg - 7_000, reason="spilt")
    room.do(pour, after=2, mix=second, soak=soak, mass_mg=1 * KG, **HOT)
    w = [Solution.objects.get(item=mix.item).w_ppb or 0 for mix in (first, second)]
    strong = strength.of_soak(soak)
    assert strong.w_ppb == pytest.approx((1_990_000 * w[0] + KG * w[1]) / 2_990_000, abs=1)
    make.lifted(room, soak)
    made = room.do(bag, soak=soak, strips=7, net_mg=7 * 28_601)
    uptake = 7 * 28_601 - 7 * 13_600
    drawn = [move.quantity for move in made.item.named_places.get().movements_in.filter(item__unit="mass")]
    assert sum(drawn) == uptake
    assert sorted(drawn) == sorted(tub.split(uptake, [1_990_000, KG]))
    edge = Edge.objects.get(parent=soak.item, child=made.item)
    assert (edge.mass_mg, edge.pieces) == (uptake, 7)
    assert list(differences()) == []


@given(st.integers(0, 10**9), st.lists(st.integers(0, 10**7), min_size=1, max_size=6).filter(any))
def test_parts_in_proportion_are_whole_and_sum_exactly(amount, weights):
    parts = tub.split(amount, weights)
    assert sum(parts) == amount
    pairs = zip(parts, weights, strict=True)
    assert all(abs(part * sum(weights) - amount * weight) < sum(weights) for part, weight in pairs)


def test_parts_in_proportion_go_to_the_largest_remainder():
    assert tub.split(10, [1, 1, 1]) == [4, 3, 3]
    assert tub.split(0, [2, 3]) == [0, 0]
    assert tub.split(7, [0, 5]) == [0, 7]


def test_one_mix_may_go_into_two_tubs(room, bench):
    mix = make.weighed(room, bench)
    tubs = [room.do(lay_strips, bench=bench, strips=30) for _tub in range(2)]
    for soak in tubs:
        room.do(pour, mix=mix, soak=soak, mass_mg=1_990_000, **HOT)
    with pytest.raises(Refused) as refused:
        room.do(pour, mix=mix, mass_mg=1_000, **HOT)
    assert refused.value.code == "which"
    assert [tub.left_mg(soak) for soak in tubs] == [1_990_000, 1_990_000]


def test_lifting_too_soon_is_asked_about_and_lifting_twice_is_already_there(room, bench):
    soak = make.poured(room, bench)
    with pytest.raises(Refused) as refused:
        room.do(lift, after=20 * 60, soak=soak, min_mc=20_000, max_mc=22_000, clarity="clear")
    assert refused.value.code == "stop"
    room.do(lift, after=28 * 60, soak=soak, min_mc=22_000, max_mc=20_000, clarity="clear")
    soak.refresh_from_db()
    assert (soak.state, soak.hours(), soak.min_mc, soak.max_mc) == (Soak.State.LIFTED, 48, 20_000, 22_000)
    with pytest.raises(Refused) as refused:
        room.do(lift, after=1, soak=soak)
    assert refused.value.code == "already"


def test_nothing_is_lifted_before_anything_was_poured(room, bench):
    soak = room.do(lay_strips, bench=bench, strips=60)
    with pytest.raises(Refused) as refused:
        room.do(lift, soak=soak)
    assert refused.value.code == "not_poured"


def test_a_look_is_kept(room, bench):
    soak = make.poured(room, bench)
    assert room.do(look, after=14 * 60, soak=soak, has_crystals=True, min_mc=18_000).has_crystals


def test_ten_or_thirty_strips_are_marked_and_the_same_ones_weighed_wet(room, bench):
    soak = room.do(lay_strips, bench=bench, strips=60)
    with pytest.raises(Refused) as refused:
        room.do(mark_dry, soak=soak, masses_mg=make.DRY[:9])
    assert refused.value.code == "ten_or_thirty"
    room.do(mark_dry, soak=soak, masses_mg=make.DRY * 3)
    with pytest.raises(Refused) as refused:
        room.do(mark_wet, soak=soak, masses_mg=make.WET)
    assert refused.value.code == "ten_or_thirty"
    assert room.do(mark_wet, soak=soak, masses_mg=make.WET * 3).marked.count() == 30


def test_a_strip_of_an_unlikely_mass_or_lighter_than_dry_is_asked_about(room, bench):
    soak = room.do(lay_strips, bench=bench, strips=60)
    with pytest.raises(Refused):
        room.do(mark_dry, soak=soak, masses_mg=[1_360, *make.DRY[1:]])
    room.do(mark_dry, soak=soak, masses_mg=make.DRY)
    with pytest.raises(Refused):
        room.do(mark_wet, soak=soak, masses_mg=make.DRY)


def test_marking_again_moves_the_solution_that_bags_carry(room, bench):
    soak = make.bagged(room, make.lifted(room, make.poured(room, bench)))
    before = Edge.objects.get(parent=soak.item, child=make.bags(soak)[0].item).mass_mg
    room.do(mark_dry, soak=soak, masses_mg=[dry - 100 for dry in make.DRY], scale=room.scale)
    after = Edge.objects.get(parent=soak.item, child=make.bags(soak)[0].item).mass_mg
    assert after - before == 29 * 100
    assert list(differences()) == []
