"""Release, rejection, rework, deviations: each guard lets the right one through and stops the wrong one."""

import datetime as dt

import pytest
from django.db import IntegrityError, transaction

from batches.commands.bagging import bag, correct_bag
from batches.commands.bench import close_bench, take_over
from batches.commands.deciding import decide_deviation, open_deviation, reject_soak, release_soak, send_to_rework
from batches.commands.mixing import correct_weighing, read, weigh_in
from batches.commands.soaking import lift, mark_wet
from batches.commands.splitting import split_off
from batches.models import Bag, Release, Soak
from batches.queries.release import release_table
from coop.command import Refused
from coop.proof import differences
from inventory.commands.correcting import settle_question
from inventory.commands.stock import draw
from inventory.models import Item
from tests.makers import batches as make
from tests.makers import inventory
from tests.makers.coop import coordinator

pytestmark = pytest.mark.django_db


@pytest.fixture
def room():
    return make.room()


def verdicts(soak, **facts):
    return {row.key: row.verdict for row in release_table(soak, **facts).rows}


def refusal(room, soak, by=None):
    with pytest.raises(Refused) as refused:
        room.do(release_soak, by=by or room.releaser, after=1, soak=soak)
    assert Soak.objects.get(pk=soak.pk).state == soak.state
    assert not Release.objects.filter(soak=soak, verdict="released").exists()
    return refused.value


def test_an_outsider_releases_what_passes_and_the_table_is_kept(room):
    soak = make.closed(room)
    release = room.do(release_soak, by=room.releaser, after=60, soak=soak, note="from the photographs")
    soak.refresh_from_db()
    assert soak.state == Soak.State.RELEASED
    assert {row["verdict"] for row in release.table["rows"]} == {"pass"}
    assert release.table["limits"]["ceiling_mc"] == 60_000
    assert list(differences()) == []
    assert Bag.objects.released(dt.date(2026, 4, 1)).count() == 2
    assert not Bag.objects.released(dt.date(2028, 4, 1)).exists()


def test_it_is_released_once(room):
    soak = make.released(room)
    with pytest.raises(Refused) as refused:
        room.do(release_soak, by=room.releaser, after=1, soak=soak)
    assert refused.value.code == "state"


def test_without_the_mark_nobody_releases(room):
    assert refusal(room, make.closed(room), by=coordinator()).code == "not_releaser"


def test_the_team_does_not_release_its_own(room):
    room.mate.is_releaser = True
    room.mate.save()
    assert refusal(room, make.closed(room), by=room.mate).code == "team"


def test_who_recorded_before_and_was_taken_over_does_not_release_either(room):
    bench = make.started(room)
    room.do(take_over, by=room.mate, bench=bench)
    soak = make.bagged(room, make.lifted(room, make.poured(room, bench)))
    make.check_scale(room, bench, after=1)
    room.do(close_bench, bench=bench)
    room.leader.is_releaser = True
    room.leader.save()
    assert refusal(room, Soak.objects.get(pk=soak.pk), by=room.leader).code == "team"


def test_the_database_refuses_the_recorder_too(room):
    soak = make.closed(room)
    facts = {"soak": soak, "deed": soak.deed, "decided_at": room.now, "verdict": "released"}
    with pytest.raises(IntegrityError), transaction.atomic():
        Release.objects.create(person=room.leader, **facts)
    by_other = Release.objects.create(person=room.releaser, **facts)
    with pytest.raises(IntegrityError), transaction.atomic():
        Release.objects.filter(pk=by_other.pk).update(person=room.leader)


def test_an_open_bench_is_closed_first(room):
    soak = make.bagged(room, make.lifted(room, make.poured(room, make.started(room))))
    assert refusal(room, soak).code == "state"


def test_a_hold_far_above_blocks(room):
    soak = make.closed(room)
    inventory.hold(room.acid)
    assert refusal(room, soak).code == "held"
    assert verdicts(soak)["input_hold"] == "never"


def test_a_hold_on_one_bag_blocks_until_it_is_split_off(room):
    soak = make.closed(room)
    first = make.bags(soak)[0]
    inventory.hold(first.item)
    assert refusal(room, soak).code == "held"
    room.do(split_off, bag=first, reason="wet label")
    room.do(release_soak, by=room.releaser, after=1, soak=soak)
    assert [one.pk for one in Bag.objects.released()] == [make.bags(soak)[1].pk]


def test_an_open_question_blocks_until_it_is_settled(room):
    room.acid = inventory.lot(room.acid.material, room.shed, quantity=2_000_000, assay_ppb=998_000_000)
    bench = make.started(room)
    mix = make.weighed(room, bench)
    weighing = mix.weighings.get(item=Item.objects.get(pk=bench.plan["mixes"][0]["lines"][1]["item"]))
    lot = weighing.item
    there = lot.holdings.get(place=room.shed).quantity
    room.do(draw, item=lot, place=room.shed, quantity=there)
    room.do(weigh_in, after=1, mix=mix, item=lot, mass_mg=100, target_mg=100, confirmed=True)
    soak = make.bagged(room, make.lifted(room, make.poured(room, bench, mix=mix)))
    make.check_scale(room, bench, after=1)
    room.do(close_bench, bench=bench)
    soak = Soak.objects.get(pk=soak.pk)
    assert refusal(room, soak).code == "question"
    room.do(settle_question, question=mix.item.questions.get(), answer="the sack was heavier than its label")
    room.do(release_soak, by=room.releaser, after=1, soak=soak)


def cold(room):
    """A batch whose room fell to 16 degrees: it needs a reason."""
    bench = make.started(room)
    soak = make.poured(room, bench)
    room.do(lift, after=48 * 60, soak=soak, min_mc=16_000, max_mc=22_000, clarity="clear", drain_min=10)
    room.do(mark_wet, soak=soak, masses_mg=make.WET, scale=room.scale)
    soak = make.bagged(room, Soak.objects.get(pk=soak.pk))
    make.check_scale(room, bench, after=1)
    room.do(close_bench, bench=bench)
    return Soak.objects.get(pk=soak.pk)


def test_a_reason_must_be_accepted_by_a_second_person(room):
    soak = cold(room)
    assert refusal(room, soak).facts["rows"] == ["room"]
    about = {"bench": soak.bench, "soak": soak, "kind": "room", "text": "16 degrees in the night"}
    deviation = room.do(open_deviation, reason="the content passes", **about)
    assert refusal(room, soak).code == "reason"
    with pytest.raises(Refused) as refused:
        room.do(decide_deviation, deviation=deviation, is_accepted=True)
    assert refused.value.code == "same_person"
    room.do(decide_deviation, by=room.releaser, deviation=deviation, is_accepted=True, decision="agreed")
    release = room.do(release_soak, by=room.releaser, after=1, soak=soak)
    row = next(row for row in release.table["rows"] if row["key"] == "room")
    assert (row["verdict"], row["is_accepted"], row["deviation"]) == ("reason", True, deviation.pk)
    with pytest.raises(Refused) as refused:
        room.do(decide_deviation, by=room.releaser, deviation=deviation, is_accepted=False)
    assert refused.value.code == "decided"


def test_a_reason_that_was_declined_blocks(room):
    soak = cold(room)
    about = {"bench": soak.bench, "soak": soak, "kind": "room", "text": "16 degrees", "reason": "frost"}
    deviation = room.do(open_deviation, **about)
    room.do(decide_deviation, by=room.releaser, deviation=deviation, is_accepted=False)
    assert refusal(room, soak).code == "reason"
    again = room.do(open_deviation, **{**about, "reason": "frost; the content was titrated since"})
    room.do(decide_deviation, by=room.releaser, deviation=again, is_accepted=True)
    room.do(release_soak, by=room.releaser, after=1, soak=soak)


def test_a_deviation_of_any_kind_waits_for_its_decision_before_the_release(room):
    soak = make.closed(room)
    deviation = room.do(open_deviation, bench=soak.bench, kind="other", text="the lid was off for an hour")
    assert refusal(room, soak).code == "undecided"
    with pytest.raises(Refused) as refused:
        room.do(decide_deviation, by=room.releaser, deviation=deviation, is_accepted=True)
    assert refused.value.code == "reason"
    room.do(decide_deviation, by=room.releaser, deviation=deviation, is_accepted=True, decision="harmless")
    room.do(release_soak, by=room.releaser, after=1, soak=soak)


def test_a_reading_above_the_ceiling_gets_its_reason_in_the_deviation_it_opened(room):
    bench = make.started(room)
    mix = bench.mixes.get()
    room.do(read, mix=mix, solution_mc=62_000)
    opened = bench.deviations.get()
    about = {"bench": bench, "kind": "peak", "text": "hot", "reason": "the bath ran on for four minutes"}
    assert room.do(open_deviation, by=room.mate, **about) == opened
    opened.refresh_from_db()
    assert opened.reason == about["reason"]
    for person in (room.leader, room.mate):
        with pytest.raises(Refused):
            room.do(decide_deviation, by=person, deviation=opened, is_accepted=True)


def test_what_never_passes_is_reworked_and_decided_anew(room):
    soak = make.closed(room)
    first = make.bags(soak)[0]
    too_much = (first.net_mg or 0) + 120_000
    room.do(correct_bag, bag=first, net_mg=too_much, reason="other scale", confirmed=True)
    make.check_scale(room, soak.bench, after=1)
    refused = refusal(room, soak)
    assert refused.code == "never"
    assert "bag" in refused.facts["rows"]
    room.do(send_to_rework, by=room.releaser, soak=soak, note="weigh the first bag again")
    room.do(correct_bag, bag=first, net_mg=first.strips * 28_600, reason="the lid was on the scale")
    room.do(release_soak, by=room.releaser, after=1, soak=soak)
    soak.refresh_from_db()
    assert [one.verdict for one in soak.releases.all()] == ["released", "rework"]
    assert list(differences()) == []


def test_a_rejected_soak_stays_rejected_and_even_a_released_one_may_be_rejected(room):
    soak = make.released(room)
    with pytest.raises(Refused) as refused:
        room.do(reject_soak, by=room.releaser, soak=soak, note=" ")
    assert refused.value.code == "why"
    room.do(reject_soak, by=room.releaser, soak=soak, note="a member found crystals")
    assert not Bag.objects.released().exists()
    for command in (reject_soak, send_to_rework):
        with pytest.raises(Refused) as refused:
            room.do(command, by=room.releaser, soak=soak, note="again")
        assert refused.value.code == "state"
    assert list(differences()) == []


def test_unverified_acid_and_a_missing_scale_check_show_in_the_table(room):
    bench = make.started(room)
    unknown = inventory.lot(room.acid.material, room.shed, form="unknown", certificate_names_form=False)
    mix = bench.mixes.get()
    room.do(weigh_in, mix=mix, item=unknown, mass_mg=1_440_000, confirmed=True)
    room.do(weigh_in, mix=mix, item=room.glycerine, mass_mg=2_560_000, confirmed=True)
    soak = make.bagged(room, make.lifted(room, make.poured(room, bench, mix=mix)))
    room.do(close_bench, bench=bench)
    found = verdicts(Soak.objects.get(pk=soak.pk))
    assert (found["input_form"], found["instruments"], found["peak"]) == ("never", "reason", "never")


def test_the_releaser_row_speaks_of_who_looks(room):
    soak = make.closed(room)
    assert verdicts(soak, releaser=room.leader)["releaser"] == "never"
    assert verdicts(soak, releaser=room.releaser)["releaser"] == "pass"
    assert verdicts(soak)["releaser"] == "pass"


def test_a_weighing_three_per_cent_off_is_never(room):
    soak = make.closed(room)
    weighing = soak.bench.mixes.get().weighings.get(item=room.acid)
    room.do(correct_weighing, weighing=weighing, mass_mg=weighing.mass_mg + 80_000, reason="misread")
    assert verdicts(Soak.objects.get(pk=soak.pk))["strength"] == "never"


def test_a_bag_after_the_lift_but_before_the_close_belongs_to_the_release(room):
    soak = make.lifted(room, make.poured(room, make.started(room)))
    room.do(bag, soak=soak, strips=60, net_mg=60 * 28_600)
    assert verdicts(soak)["counts"] == "pass"
    assert verdicts(soak)["sample"] == "reason"
