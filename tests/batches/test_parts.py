"""Parts of bags, bags split off, and which bags may go out."""

import datetime as dt

import pytest

from batches.commands.splitting import split_bag, split_off
from batches.models import Bag
from batches.queries import content
from batches.queries.bags import may_go_out
from batches.queries.doses import hive_doses
from coop.command import Refused
from coop.proof import differences
from inventory import holds, ledger
from inventory.commands.stock import discard
from tests.makers import batches as make
from tests.makers import inventory

pytestmark = pytest.mark.django_db
DAY = dt.date(2026, 4, 1)


@pytest.fixture
def room():
    return make.room()


@pytest.fixture
def whole(room):
    return make.bags(make.released(room))[0]


def test_a_part_has_a_code_of_its_own_and_inherits_release_and_content(room, whole):
    part = room.do(split_bag, bag=whole, strips=9)
    assert part.item.code_id != whole.item.code_id
    assert part.item.best_before == whole.item.best_before
    assert (ledger.on_hand(part.item), ledger.on_hand(whole.item)) == (9, 20)
    assert part in Bag.objects.released(DAY)
    assert content.of_bag(part).found == content.of_bag(whole).found
    assert list(differences()) == []


def test_a_part_of_a_part_belongs_to_the_whole_bag(room, whole):
    part = room.do(split_bag, bag=whole, strips=9)
    small = room.do(split_bag, bag=part, strips=3)
    assert small.parent == whole
    inventory.hold(part.item)
    assert holds.is_held(small.item)
    assert list(differences()) == []


@pytest.mark.parametrize(("strips", "code"), [(30, "short"), (0, "short"), (29, "whole")])
def test_only_a_part_of_what_is_there_becomes_a_part(room, whole, strips, code):
    with pytest.raises(Refused) as refused:
        room.do(split_bag, bag=whole, strips=strips)
    assert refused.value.code == code


def test_a_held_bag_is_not_split(room, whole):
    inventory.hold(room.acid)
    with pytest.raises(Refused) as refused:
        room.do(split_bag, bag=whole, strips=9)
    assert refused.value.code == "held"


def test_a_bag_that_is_on_no_shelf_is_not_split_here(room, whole):
    room.do(discard, item=whole.item, place=room.shed, quantity=29)
    with pytest.raises(Refused) as refused:
        room.do(split_bag, bag=whole, strips=9)
    assert refused.value.code == "not_here"


def test_a_bag_split_off_takes_its_parts_along(room, whole):
    part = room.do(split_bag, bag=whole, strips=9)
    with pytest.raises(Refused) as refused:
        room.do(split_off, bag=part, reason="wet")
    assert refused.value.code == "part"
    room.do(split_off, bag=whole, reason="wet")
    assert [bag.pk for bag in Bag.objects.released(DAY)] == [make.bags(whole.soak)[1].pk]
    with pytest.raises(Refused) as refused:
        room.do(split_off, bag=whole, reason="wet")
    assert refused.value.code == "state"


def test_what_may_go_out_is_released_in_date_in_store_and_not_on_hold(room, whole):
    waiting = make.closed(room)
    other = make.bags(whole.soak)[1]
    assert [(bag.pk, bag.in_store) for bag in may_go_out(DAY)] == [(whole.pk, 29), (other.pk, 29)]
    assert may_go_out(whole.item.best_before + dt.timedelta(days=1)) == []
    inventory.hold(whole.item)
    assert [bag.pk for bag in may_go_out(DAY)] == [other.pk]
    room.do(discard, item=other.item, place=room.shed, quantity=29)
    assert may_go_out(DAY) == []
    assert waiting.state == "lifted"


def test_a_hive_gets_a_whole_dose_or_none(room):
    doses = hive_doses(room.instructions, 58)
    assert [(one.doses, one.loose) for one in doses] == [(19, 1)]
    assert hive_doses(None, 58) == []
