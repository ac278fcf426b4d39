"""Every command of the bench, failing at each of its statements in turn: nothing is half written."""

from collections.abc import Callable
from typing import Any

import pytest

from batches.commands import bagging, bench, deciding, equipment, mixing, planning, recipes, soaking, splitting
from batches.models import Bench, Deviation, Mix, Soak
from coop.command import COMMANDS
from tests.makers import batches as make
from tests.makers.coop import club
from tests.makers.failing import survives
from tests.makers.inventory import KG

pytestmark = pytest.mark.django_db(transaction=True)
Room = make.Room
Facts = dict[str, Any]
HOT = {"temp_mc": 52_000, "clarity": "clear", "covered_mm": 12}
RECIPE = {
    "name": "spring",
    "w_ppb": 350_000_000,
    "uptake_mg": 15_000,
    "content_low_mg": 4_000,
    "content_high_mg": 6_000,
    "tub_mg": 4 * KG,
    "tub_strips": 80,
}


def lifted(room: Room) -> Soak:
    return make.lifted(room, make.poured(room, make.started(room)))


def bagged(room: Room) -> Soak:
    return make.bagged(room, lifted(room))


def a_pail(room: Room) -> Mix:
    return make.started(room).mixes.get()


def a_full_pail(room: Room) -> Mix:
    """Weighed in and hot, with strips laid in the tub."""
    mix = make.weighed(room, make.started(room))
    room.do(soaking.lay_strips, bench=mix.bench, strips=60)
    return mix


def a_weighing(room: Room) -> Facts:
    mix = make.weighed(room, make.started(room))
    weighing = mix.weighings.get(item=room.acid)
    return {"weighing": weighing, "mass_mg": weighing.mass_mg + 1_000, "reason": "misread"}


def a_start(room: Room) -> Facts:
    presence = [{"person": one, "gear": ["goggles", "gloves"]} for one in (room.leader, room.mate)]
    return {"bench": make.planned(room), "presence": presence, "ready": list(bench.READY)}


def to_close(room: Room) -> Bench:
    return bagged(room).bench


def a_titration(room: Room) -> Facts:
    club(can_titrate=True)
    return {"item": bagged(room).bench.mixes.get().item, "w_ppb": 350_000_000, "u_ppb": 1_000, "method": "NaOH"}


def a_deviation(room: Room) -> Deviation:
    about = {"bench": make.started(room), "kind": "other", "text": "the lid was off", "reason": "for a minute"}
    deviation: Deviation = room.do(deciding.open_deviation, **about)
    return deviation


def a_poured(room: Room) -> Soak:
    return make.poured(room, make.started(room))


CASES: dict[Callable[..., Any], Callable[[Room], Facts]] = {
    recipes.write_recipe: lambda room: RECIPE,
    recipes.write_instructions: lambda room: {
        "name": "spring", "days": 40, "doses": {make.hive_kind().pk: 3}, "source": "a leaflet",
    },
    equipment.add_equipment: lambda room: {"name": "new", "kind": "scale", "resolution": 1, "capacity": 9},
    equipment.retire_equipment: lambda room: {"equipment": room.scale},
    equipment.check_equipment: lambda room: {"equipment": room.scale, "reference": 1000, "reading": 1000},
    equipment.hold_from_instrument: lambda room: {
        "equipment": room.scale, "reason": "dropped", "since": a_poured(room).bench.started_at,
    },
    planning.plan_bench: lambda room: {
        "recipe": room.recipe, "day": room.now.date(), "target_mg": 4 * KG, "instructions": room.instructions,
    },
    bench.start_bench: a_start,
    bench.join_bench: lambda room: {"bench": make.started(room), "person": room.releaser},
    bench.take_over: lambda room: {"bench": make.started(room)},
    bench.add_mix: lambda room: {"bench": make.started(room)},
    bench.close_bench: lambda room: {"bench": to_close(room)},
    bench.abandon_bench: lambda room: {"bench": a_poured(room).bench, "reason": "smelt sharp"},
    mixing.weigh_in: lambda room: {"mix": a_pail(room), "item": room.acid, "mass_mg": 1_440_000},
    mixing.correct_weighing: a_weighing,
    mixing.pail_check: lambda room: {"mix": a_full_pail(room), "total_mg": 4 * KG},
    mixing.read: lambda room: {"mix": a_full_pail(room), "solution_mc": 62_000},
    mixing.titrate: a_titration,
    soaking.lay_strips: lambda room: {"bench": make.started(room), "strips": 60},
    soaking.correct_strips: lambda room: {"soak": a_poured(room), "strips": 58, "reason": "counted again"},
    soaking.mark_dry: lambda room: {"soak": bagged(room), "masses_mg": [one - 100 for one in make.DRY]},
    soaking.mark_wet: lambda room: {"soak": lifted(room), "masses_mg": make.WET},
    soaking.pour: lambda room: {"mix": a_full_pail(room), "mass_mg": 3_990_000, **HOT},
    soaking.look: lambda room: {"soak": a_poured(room), "min_mc": 20_000},
    soaking.lift: lambda room: {"soak": a_poured(room), "clarity": "clear"},
    bagging.bag: lambda room: {"soak": lifted(room), "strips": 20, "net_mg": 572_000},
    bagging.correct_bag: lambda room: {"bag": make.bags(bagged(room))[0], "net_mg": 29 * 28_500, "reason": "tare"},
    bagging.retain_sample: lambda room: {"soak": lifted(room), "strips": 2, "net_mg": 57_200},
    bagging.return_solution: lambda room: {"soak": lifted(room), "mass_mg": 3 * KG, "clarity": "clear"},
    bagging.enter_solution: lambda room: {"mass_mg": KG, "place": room.shed, "w_ppb": 350_000_000},
    bagging.declare_loss: lambda room: {"soak": lifted(room), "strips": 2, "note": "fell"},
    deciding.open_deviation: lambda room: {"bench": make.started(room), "kind": "other", "text": "the lid was off"},
    deciding.decide_deviation: lambda room: {"deviation": a_deviation(room), "is_accepted": True},
    deciding.release_soak: lambda room: {"soak": make.closed(room)},
    deciding.reject_soak: lambda room: {"soak": make.closed(room), "note": "crystals"},
    deciding.send_to_rework: lambda room: {"soak": make.closed(room), "note": "weigh again"},
    splitting.split_bag: lambda room: {"bag": make.bags(make.released(room))[0], "strips": 9},
    splitting.split_off: lambda room: {"bag": make.bags(make.released(room))[0], "reason": "wet"},
}  # fmt: skip
BY_RELEASER = (
    deciding.release_soak,
    deciding.reject_soak,
    deciding.send_to_rework,
    deciding.decide_deviation,
)


@pytest.mark.slow
@pytest.mark.parametrize("command", list(CASES), ids=lambda one: one.__name__)
def test_it_leaves_nothing_behind_wherever_it_fails(command):
    room = make.room()
    facts = CASES[command](room)
    survives(command, room.releaser if command in BY_RELEASER else room.mate, **facts)


def test_every_command_of_the_bench_is_tried():
    own = {name for name in COMMANDS if name.startswith("batches.")}
    assert {command.verb for command in CASES} == own
