"""Opening, taking over, closing and abandoning a bench."""

import pytest

from batches.commands.bagging import declare_loss, return_solution
from batches.commands.bench import READY, abandon_bench, add_mix, close_bench, join_bench, start_bench, take_over
from batches.models import Bench, Soak
from batches.team import team_of
from coop.command import Refused
from coop.proof import differences
from inventory.models import Movement
from tests.makers import batches as make
from tests.makers.coop import volunteer

pytestmark = pytest.mark.django_db
FULL = ["goggles", "gloves", "mask"]


@pytest.fixture
def room():
    return make.room()


def opening(room, **facts):
    presence = [{"person": one, "gear": FULL} for one in (room.leader, room.mate)]
    return {"bench": make.planned(room), "presence": presence, "ready": list(READY), **facts}


def test_two_people_in_gear_with_everything_ready_may_start(room):
    bench = room.do(start_bench, **opening(room))
    assert bench.state == Bench.State.RUNNING
    assert bench.recorder == room.leader
    assert bench.mixes.count() == 1
    assert team_of(bench) == {room.leader.pk, room.mate.pk}


@pytest.mark.parametrize(
    ("code", "change"),
    [
        ("alone", lambda facts, room: facts["presence"].pop()),
        ("gear", lambda facts, room: facts["presence"][0].update(gear=["gloves"])),
        ("not_ready", lambda facts, room: facts["ready"].remove("eye_wash")),
    ],
)
def test_a_bench_that_is_not_safe_is_not_started(room, code, change):
    facts = opening(room)
    change(facts, room)
    with pytest.raises(Refused) as refused:
        room.do(start_bench, **facts)
    assert refused.value.code == code
    facts["bench"].refresh_from_db()
    assert facts["bench"].state == Bench.State.PLANNED


def test_the_same_person_twice_is_one_person(room):
    facts = opening(room)
    facts["presence"][1] = facts["presence"][0]
    with pytest.raises(Refused) as refused:
        room.do(start_bench, **facts)
    assert refused.value.code == "alone"


def test_a_bench_is_started_once(room):
    facts = opening(room)
    bench = room.do(start_bench, **facts)
    with pytest.raises(Refused) as refused:
        room.do(start_bench, **{**facts, "bench": bench})
    assert refused.value.code == "state"


def test_who_writes_belongs_to_the_team_and_who_takes_over_records(room):
    bench = make.started(room)
    other = volunteer("Otto")
    room.do(take_over, by=other, bench=bench)
    bench.refresh_from_db()
    assert bench.recorder == other
    assert team_of(bench) == {room.leader.pk, room.mate.pk, other.pk}


def test_somebody_who_comes_later_is_entered(room):
    bench = make.started(room)
    late = volunteer("Lilo")
    room.do(join_bench, bench=bench, person=late, gear=["goggles", "gloves"])
    assert late.pk in team_of(bench)


def test_one_more_pail_than_planned(room):
    bench = make.started(room)
    assert room.do(add_mix, bench=bench).number == 2


def test_a_bench_does_not_close_while_strips_soak_or_lie_about(room):
    bench = make.started(room)
    soak = make.poured(room, bench)
    with pytest.raises(Refused) as refused:
        room.do(close_bench, bench=bench)
    assert refused.value.code == "soaking"
    make.lifted(room, soak)
    with pytest.raises(Refused) as refused:
        room.do(close_bench, bench=bench)
    assert (refused.value.code, refused.value.facts["strips"]) == ("strips", 60)


def test_a_bench_does_not_close_over_a_full_pail(room):
    bench = make.started(room)
    mix = make.weighed(room, bench)
    with pytest.raises(Refused) as refused:
        room.do(close_bench, bench=bench)
    assert (refused.value.code, refused.value.facts["left_mg"]) == ("pail", 4_000_000)
    room.do(return_solution, mix=mix, mass_mg=3_950_000, clarity="clear")
    room.do(close_bench, bench=bench)
    assert list(differences()) == []


def test_closing_leaves_nothing_in_pails_and_tubs(room):
    soak = make.closed(room)
    assert soak.bench.state == Bench.State.CLOSED
    assert list(differences()) == []
    mix = soak.bench.mixes.get()
    assert Movement.objects.get(item=mix.item, note="left in the pail").quantity == 10_000


def test_an_abandoned_batch_ends_as_lots_in_the_book(room):
    bench = make.started(room)
    soak = make.poured(room, bench)
    room.do(abandon_bench, bench=bench, reason="smelt sharp")
    soak.refresh_from_db()
    bench.refresh_from_db()
    assert (bench.state, soak.state) == (Bench.State.ABANDONED, Soak.State.ABANDONED)
    assert bench.deviations.get().kind == "abandoned"
    room.do(
        declare_loss, soak=soak, mass_mg=3_990_000, strips=60, note="disposed of as the sheet says", is_destroyed=True
    )
    assert list(differences()) == []
