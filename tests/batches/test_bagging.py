"""Bags, samples, returned solution and losses."""

import datetime as dt

import pytest

from batches import tub
from batches.commands.bagging import bag, correct_bag, declare_loss, retain_sample, return_solution
from batches.commands.bench import close_bench
from batches.commands.soaking import lay_strips
from batches.models import Soak, Solution
from batches.queries import balance
from coop.codes import new_code
from coop.command import Refused
from coop.proof import differences
from inventory import ledger
from inventory.models import Edge, Item
from tests.makers import batches as make
from tests.makers import inventory
from tests.makers.coop import club

pytestmark = pytest.mark.django_db


@pytest.fixture
def room():
    return make.room()


@pytest.fixture
def soak(room):
    return make.lifted(room, make.poured(room, make.started(room)))


def test_a_bag_with_a_printed_code_takes_strips_and_solution_with_it(room, soak):
    code = new_code(printed=True)
    made = room.do(bag, soak=soak, strips=20, gross_mg=20 * 28_600 + 11_000, tare_mg=11_000, code=code.text)
    assert made.item.code_id == code.text
    assert made.net_mg == 572_000
    edge = Edge.objects.get(parent=soak.item, child=made.item)
    assert (edge.pieces, edge.mass_mg) == (20, 20 * 15_000)
    assert ledger.on_hand(made.item) == 20
    with pytest.raises(Refused) as refused:
        room.do(bag, soak=soak, strips=20, net_mg=572_000, code=code.text)
    assert refused.value.code == "code_taken"
    assert list(differences()) == []


def test_a_net_that_does_not_fit_the_count_is_asked_about(room, soak):
    with pytest.raises(Refused) as refused:
        room.do(bag, soak=soak, strips=20, net_mg=15 * 28_600)
    assert refused.value.code == "recount"
    assert "15" in refused.value.sentence
    assert room.do(bag, soak=soak, strips=20, net_mg=15 * 28_600, confirmed=True).strips == 20


def test_more_strips_than_are_left_are_asked_about(room, soak):
    with pytest.raises(Refused) as refused:
        room.do(bag, soak=soak, strips=61, net_mg=61 * 28_600)
    assert refused.value.code == "did_you_mean"
    room.do(bag, soak=soak, strips=61, net_mg=61 * 28_600, confirmed=True)
    assert soak.item.questions.exists() or Item.objects.get(kind="bag").questions.exists()
    assert list(differences()) == []


def test_strips_are_not_bagged_before_they_are_lifted(room):
    soak = make.poured(room, make.started(room))
    with pytest.raises(Refused) as refused:
        room.do(bag, soak=soak, strips=20, net_mg=572_000)
    assert refused.value.code == "soaking"


def test_a_bag_keeps_for_the_clubs_days_but_not_longer_than_what_went_in(room):
    club(bag_days=100)
    soak = make.lifted(room, make.poured(room, make.started(room)))
    first = room.do(bag, soak=soak, strips=20, net_mg=572_000)
    lifted_on = dt.date(2026, 3, 16)
    assert first.item.best_before == lifted_on + dt.timedelta(days=100)
    Item.objects.filter(pk=room.acid.pk).update(best_before=dt.date(2026, 5, 1))
    assert room.do(bag, soak=soak, strips=20, net_mg=572_000).item.best_before == dt.date(2026, 5, 1)


def test_a_corrected_bag_carries_what_it_now_weighs(room, soak):
    made = room.do(bag, soak=soak, strips=20, net_mg=572_000)
    room.do(correct_bag, bag=made, gross_mg=589_000, tare_mg=11_000, reason="the tare was forgotten")
    made.refresh_from_db()
    assert made.net_mg == 578_000
    assert Edge.objects.get(parent=soak.item, child=made.item).mass_mg == 578_000 - 272_000
    assert list(differences()) == []


def test_a_sample_is_retained_apart(room, soak):
    sample = room.do(retain_sample, soak=soak, strips=2)
    assert sample.item.holdings.get().place.kind == "retained"
    assert Edge.objects.get(parent=soak.item, child=sample.item).mass_mg == 2 * 15_000


def test_returned_solution_has_the_strength_and_history_of_the_tub(room, soak):
    back = room.do(return_solution, soak=soak, mass_mg=3_000_000, container="can 2", clarity="clear")
    solution = Solution.objects.get(item=back.item)
    assert solution.w_ppb == Solution.objects.get(item=soak.bench.mixes.get().item).w_ppb
    assert (solution.reuse, solution.reheats, solution.u_ppb) == (0, 0, 1_500_000)
    assert tub.left_mg(soak) == 990_000


def test_one_source_of_returned_solution_is_named(room, soak):
    mix = soak.bench.mixes.get()
    for facts in ({}, {"soak": soak, "mix": mix}):
        with pytest.raises(Refused) as refused:
            room.do(return_solution, mass_mg=1000, **facts)
        assert refused.value.code == "which"


def test_more_out_of_a_tub_than_went_in_is_unexplained_with_its_sign(room, soak):
    for strips in (30, 28):
        room.do(bag, soak=soak, strips=strips, net_mg=strips * 28_600)
    room.do(retain_sample, soak=soak, strips=2, net_mg=57_200)
    room.do(return_solution, soak=soak, mass_mg=tub.left_mg(soak) + 18_000)
    room.do(close_bench, bench=soak.bench)
    assert balance.unexplained_in_book(soak) == -18_000
    assert balance.of_soak(soak).found.unexplained_mg == -18_000
    assert list(differences()) == []


def test_spoiled_strips_count_and_take_their_solution_with_them(room, soak):
    room.do(declare_loss, soak=soak, strips=3, note="fell on the floor", is_destroyed=True)
    room.do(bag, soak=soak, strips=55, net_mg=55 * 28_600)
    room.do(retain_sample, soak=soak, strips=2, net_mg=57_200)
    pieces = balance.pieces_of(soak)
    assert (pieces.bagged, pieces.retained, pieces.spoiled, pieces.off_by) == (55, 2, 3, 0)
    assert tub.left_mg(soak) == 3_990_000 - 60 * 15_000
    room.do(close_bench, bench=soak.bench)
    assert list(differences()) == []


@pytest.mark.parametrize("facts", [{}, {"mass_mg": 0, "strips": 0}])
def test_a_loss_of_nothing_is_refused(room, soak, facts):
    with pytest.raises(Refused) as refused:
        room.do(declare_loss, soak=soak, note="nothing", **facts)
    assert refused.value.code == "which"


def test_a_late_loss_on_a_closed_bench_takes_from_the_unexplained(room):
    soak = make.closed(room)
    before = balance.unexplained_in_book(soak)
    room.do(declare_loss, soak=soak, mass_mg=4_000, note="found under the tub")
    assert balance.unexplained_in_book(soak) == before - 4_000
    assert Soak.objects.get(pk=soak.pk).state == Soak.State.LIFTED
    assert list(differences()) == []


def test_strips_of_two_blank_lots_are_two_soaks(room):
    bench = make.started(room)
    other = inventory.lot(room.blanks.material, room.shed, quantity=100, dry_strip_mg=12_000)
    numbers = [room.do(lay_strips, bench=bench, strips=20, blanks=lot).number for lot in (room.blanks, other)]
    assert numbers == [1, 2]
