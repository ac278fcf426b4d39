"""The bench looked at by somebody who wants it to fail: stale reads, late inputs, wrong codes, missing ancestors."""

import datetime as dt

import pytest

from batches.commands.bagging import bag, return_solution
from batches.commands.bench import close_bench
from batches.commands.deciding import decide_deviation, open_deviation, release_soak, send_to_rework
from batches.commands.mixing import titrate, weigh_in
from batches.commands.soaking import lay_strips, lift, look, mark_dry
from batches.models import Deviation, Soak
from batches.queries.release import release_table
from coop.command import Refused
from coop.proof import differences
from inventory import ancestry, holds
from tests.makers import batches as make
from tests.makers import inventory
from tests.makers.coop import club

pytestmark = pytest.mark.django_db


@pytest.fixture
def room():
    return make.room()


def refused(code, room, command, **arguments):
    with pytest.raises(Refused) as refusal:
        room.do(command, **arguments)
    assert refusal.value.code == code


def test_evidence_from_somebody_who_looked_before_the_release_is_late_all_the_same(room):
    seen_before = make.closed(room)
    room.do(release_soak, by=room.releaser, after=60, soak=Soak.objects.get(pk=seen_before.pk))
    room.do(look, soak=seen_before, has_crystals=True)
    assert holds.is_held(seen_before.item)


def test_a_lift_from_a_page_drawn_before_the_release_does_not_undo_it(room):
    soak = make.closed(room)
    room.do(send_to_rework, by=room.releaser, soak=soak, note="soak on")
    seen_before = Soak.objects.get(pk=soak.pk)
    room.do(release_soak, by=room.releaser, after=60, soak=soak)
    refused("already", room, lift, soak=seen_before, clarity="clear", confirmed=True)
    assert Soak.objects.get(pk=soak.pk).state == Soak.State.RELEASED


def test_solution_that_comes_out_of_a_tub_whose_bench_was_just_closed_leaves_nothing_on_it(room):
    bench = make.started(room)
    soak = make.bagged(room, make.lifted(room, make.poured(room, bench)))
    seen_before = Soak.objects.select_related("bench").get(pk=soak.pk)
    make.check_scale(room, bench, after=1)
    room.do(close_bench, after=1, bench=bench)
    found = room.do(bag, soak=seen_before, strips=1, net_mg=28_600, scale=room.scale, confirmed=True)
    assert found.strips == 1
    assert [line for line in differences() if "closed bench" in str(line)] == []


def test_what_went_in_late_shortens_the_date_of_bags_made_before(room):
    bench = make.started(room)
    soak = make.bagged(room, make.lifted(room, make.poured(room, bench)))
    soon = (room.now + dt.timedelta(days=20)).date()
    acid = inventory.lot(room.acid.material, room.shed, quantity=make.KG, best_before=soon)
    room.do(weigh_in, mix=bench.mixes.get(), item=acid, mass_mg=30_000, confirmed=True)
    dates = {one.item.best_before for one in [*make.bags(soak), *soak.samples.all(), *soak.returned.all()]}
    assert dates == {soon}


def test_returned_solution_from_a_tub_without_a_pour_on_record_knows_its_acid(room):
    bench = make.started(room)
    make.weighed(room, bench)
    soak = room.do(lay_strips, bench=bench, strips=60, blanks=room.blanks)
    back = room.do(return_solution, soak=soak, mass_mg=500_000)
    assert {room.acid.pk, room.glycerine.pk} <= ancestry.up([back.item_id])
    assert list(differences()) == []


def test_the_marked_strips_dry_once_more_keep_what_they_weighed_wet(room):
    soak = make.lifted(room, make.poured(room, make.started(room)))
    room.do(mark_dry, soak=soak, masses_mg=[mass + 100 for mass in make.DRY], scale=room.scale)
    assert list(soak.marked.order_by("n").values_list("wet_mg", flat=True)) == make.WET
    assert soak.marked.get(n=1).dry_mg == make.DRY[0] + 100


def test_strips_are_not_weighed_into_a_pail_nor_a_pail_into_itself(room):
    mix = make.started(room).mixes.get()
    refused("kind", room, weigh_in, mix=mix, item=room.blanks, mass_mg=100_000, confirmed=True)
    refused("kind", room, weigh_in, mix=mix, item=mix.item, mass_mg=100_000, confirmed=True)


def test_only_blanks_are_laid_into_a_tub(room):
    made = make.bags(make.closed(room))[0]
    refused("blanks", room, lay_strips, bench=make.started(room), strips=10, blanks=made.item)


def test_whoever_found_the_strength_does_not_release_on_it(room):
    club(can_titrate=True)
    soak = make.closed(room)
    mix = soak.bench.mixes.get()
    room.do(titrate, by=room.releaser, item=mix.item, w_ppb=360_000_000, u_ppb=1_000_000, method="NaOH")
    with pytest.raises(Refused) as refusal:
        room.do(release_soak, by=room.releaser, after=60, soak=soak)
    assert refusal.value.code == "team"


def test_what_was_accepted_before_a_rework_says_nothing_of_the_figures_after_it(room):
    bench = make.started(room)
    soak = make.bagged(room, make.lifted(room, make.poured(room, bench), hours=75))
    make.check_scale(room, bench, after=1)
    room.do(close_bench, after=1, bench=bench)
    facts = {"bench": bench, "soak": soak, "kind": "soak_hours", "text": "long", "reason": "the content passes"}
    deviation = room.do(open_deviation, **facts)
    room.do(decide_deviation, by=room.mate, deviation=deviation, is_accepted=True)
    assert all(row.is_accepted for row in release_table(Soak.objects.get(pk=soak.pk)).reasons)
    room.do(send_to_rework, by=room.releaser, soak=soak, note="soak on")
    again = Soak.objects.get(pk=soak.pk)
    room.do(lift, after=200 * 60, soak=again, min_mc=20_000, max_mc=23_000, clarity="clear", drain_min=10)
    assert not all(row.is_accepted for row in release_table(Soak.objects.get(pk=soak.pk)).reasons)
    with pytest.raises(Refused) as refusal:
        room.do(release_soak, by=room.releaser, after=60, soak=again)
    assert refusal.value.code == "reason"


def test_of_two_who_decide_a_deviation_from_the_same_page_the_first_decides(room):
    bench = make.started(room)
    seen = room.do(open_deviation, bench=bench, kind="other", text="a knock", reason="nothing spilt")
    room.do(decide_deviation, by=room.mate, deviation=Deviation.objects.get(pk=seen.pk), is_accepted=False)
    refused("decided", room, decide_deviation, by=room.releaser, deviation=seen, is_accepted=True)
    assert Deviation.objects.get(pk=seen.pk).is_accepted is False
