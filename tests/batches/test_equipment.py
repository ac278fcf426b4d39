"""Instruments: their checks, and a doubt that begins with one."""

import pytest

from batches.commands.equipment import add_equipment, check_equipment, hold_from_instrument, retire_equipment
from coop.command import Refused
from inventory import holds
from tests.makers import batches as make

pytestmark = pytest.mark.django_db


@pytest.fixture
def room():
    return make.room()


@pytest.mark.parametrize(
    ("reading", "verdict", "ppm"), [(2_000_000, "fine", 0), (2_008_000, "warn", 4000), (1_988_000, "bad", -6000)]
)
def test_a_scale_is_judged_against_its_check_mass(room, reading, verdict, ppm):
    check = room.do(check_equipment, equipment=room.scale, reference=2_000_000, reading=reading)
    assert (check.verdict, check.deviation) == (verdict, ppm)


@pytest.mark.parametrize(("reading", "verdict"), [(18_900, "fine"), (19_500, "warn"), (15_500, "bad")])
def test_a_thermometer_is_judged_against_another(room, reading, verdict):
    check = room.do(check_equipment, equipment=room.thermometer, reference=18_000, reading=reading)
    assert (check.verdict, check.deviation) == (verdict, reading - 18_000)


def test_a_check_mass_has_a_mass(room):
    with pytest.raises(Refused) as refused:
        room.do(check_equipment, equipment=room.scale, reference=0, reading=5)
    assert refused.value.code == "reference"


def test_names_are_taken_once_and_steps_make_sense(room):
    facts = {"kind": "scale", "resolution": 100, "capacity": 1000}
    with pytest.raises(Refused) as refused:
        room.do(add_equipment, name=room.scale.name, **facts)
    assert refused.value.code == "taken"
    with pytest.raises(Refused) as refused:
        room.do(add_equipment, name="odd", **{**facts, "capacity": 50})
    assert refused.value.code == "resolution"


def test_a_doubted_scale_holds_what_it_weighed_since_its_last_good_check(room):
    before = make.closed(room)
    make.check_scale(room, before.bench, after=5)
    after = make.closed(room)
    make.check_scale(room, after.bench, reading=1_980_000, after=5)
    # the check that closed `after` was good, so the doubt has to say since when
    with pytest.raises(Refused) as refused:
        room.do(hold_from_instrument, equipment=room.scale, reason="dropped")
    assert refused.value.code == "nothing"
    hold = room.do(hold_from_instrument, equipment=room.scale, reason="dropped", since=after.bench.started_at)
    assert hold.began_with == room.scale.name
    assert holds.is_held(after.item)
    assert holds.is_held(make.bags(after)[0].item)
    assert not holds.is_held(before.item)


def test_a_doubted_thermometer_holds_the_pails_it_read(room):
    soak = make.closed(room)
    hold = room.do(hold_from_instrument, equipment=room.thermometer, reason="in boiling water it showed 96")
    assert list(hold.items.all()) == [soak.bench.mixes.get().item]
    assert holds.is_held(soak.item)


def test_a_retired_one_is_no_default_any_more(room):
    room.do(retire_equipment, equipment=room.scale)
    soak = make.poured(room, make.started(room), mix=None)
    assert soak.pours.get().scale is None
