"""What the bench will take: whole plans, the rest of one under way, and the strips that are coming."""

import datetime as dt

import pytest

from batches.commands.bench import abandon_bench
from batches.commands.deciding import release_soak
from batches.commands.mixing import weigh_in
from batches.commands.soaking import lay_strips
from batches.demands import planned_benches, strips_to_come
from inventory.models import Item
from tests.makers import batches as make
from tests.makers import inventory

pytestmark = pytest.mark.django_db
UNTIL = dt.date(2026, 9, 30)


def needs(room: make.Room, day: dt.date | None = None) -> dict[str, int]:
    """What is wanted by kind of material."""
    kinds = {
        room.acid.material_id: "acid",
        room.glycerine.material_id: "glycerine",
        room.blanks.material_id: "strips",
    }
    rows = planned_benches(day or room.now.date(), UNTIL)
    found: dict[str, int] = {}
    for row in rows:
        found[kinds[row.material_id]] = found.get(kinds[row.material_id], 0) + row.quantity
    return found


def test_a_plan_takes_its_lines_and_its_blanks() -> None:
    room = make.room()
    bench = make.planned(room)
    rows = list(planned_benches(room.now.date(), UNTIL))
    assert needs(room) == {
        "acid": bench.plan["acid_mg"],
        "glycerine": bench.plan["glycerine_mg"],
        "strips": bench.plan["strips"],
    }
    assert {(row.key, row.url, row.day) for row in rows} == {(f"bench:{bench.pk}", f"/bench/{bench.pk}", bench.day)}


def test_two_lots_and_two_pails_of_a_material_are_one_draw() -> None:
    room = make.room()
    inventory.lot(room.acid.material, room.shed, quantity=10 * make.KG)
    bench = make.planned(room, target_mg=20 * make.KG, mixes=2)
    acid = [row for row in planned_benches(room.now.date(), UNTIL) if row.material_id == room.acid.material_id]
    assert [row.quantity for row in acid] == [bench.plan["acid_mg"]]


def test_a_late_bench_keeps_its_day_and_says_that_it_is_late() -> None:
    room = make.room()
    bench = make.planned(room)
    row = next(iter(planned_benches(bench.day + dt.timedelta(days=3), UNTIL)))
    assert row.day == bench.day
    assert row.what.startswith("late bench of Sat 14 Mar")


def test_a_bench_under_way_still_takes_what_was_not_weighed_in() -> None:
    room = make.room()
    bench = make.started(room)
    line = next(line for line in bench.plan["mixes"][0]["lines"] if line["role"] == "glycerine")
    glycerine = Item.objects.get(pk=line["item"])
    room.do(weigh_in, mix=bench.mixes.get(), item=glycerine, mass_mg=1_000_000, confirmed=True)
    room.do(lay_strips, bench=bench, strips=50, blanks=room.blanks)
    assert needs(room) == {
        "acid": bench.plan["acid_mg"],
        "glycerine": bench.plan["glycerine_mg"] - 1_000_000,
        "strips": bench.plan["strips"] - 50,
    }


def test_more_than_planned_is_not_taken_back() -> None:
    room = make.room()
    bench = make.started(room)
    room.do(weigh_in, mix=bench.mixes.get(), item=room.acid, mass_mg=bench.plan["acid_mg"] + 200_000, confirmed=True)
    assert "acid" not in needs(room)


def test_a_pail_that_was_poured_takes_nothing_more() -> None:
    room = make.room()
    make.poured(room, make.started(room), strips=40)
    assert needs(room) == {}


def test_an_abandoned_bench_takes_nothing() -> None:
    room = make.room()
    room.do(abandon_bench, bench=make.planned(room), reason="rain")
    assert needs(room) == {}


def test_strips_are_coming_from_the_plan_to_the_release_and_no_longer() -> None:
    room = make.room()
    bench = make.started(room)
    assert strips_to_come() == bench.plan["strips"]
    soak = make.poured(room, bench, strips=60)
    assert strips_to_come() == 60
    make.bagged(room, make.lifted(room, soak))
    assert strips_to_come() == 58  # two were retained


def test_a_soak_on_hold_covers_nobody_and_a_released_one_is_no_longer_coming() -> None:
    room = make.room()
    soak = make.closed(room)
    assert strips_to_come() == 58
    assert strips_to_come([soak.item_id, *soak.bags.values_list("item_id", flat=True)]) == 0
    room.do(release_soak, by=room.releaser, after=60, soak=soak)
    assert strips_to_come() == 0
