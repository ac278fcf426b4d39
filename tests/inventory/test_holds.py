"""A hold reaches what was made from where it begins, and nothing else; a signed decision stops it at one thing."""

import dataclasses

import pytest

from coop.command import Refused
from inventory import holds
from inventory.commands.holding import free_from_hold, lift_hold, place_hold
from inventory.models import Freed, Item, Place
from tests.makers import brew
from tests.makers import inventory as make
from tests.makers.coop import do

pytestmark = pytest.mark.django_db


@dataclasses.dataclass
class Road:
    shed: Place
    acid: Item
    other: Item
    first: Item
    tub: Item
    bag: Item
    back: Item
    second: Item


@pytest.fixture
def road() -> Road:
    """Acid into a first mix, its tub's bag and returned solution, and that with other acid into a second mix."""
    shed, material = make.shed(), make.acid()
    acid, other = make.lot(material, shed), make.lot(material, shed)
    first = brew.mix((acid, shed, 400))
    tub = brew.soak((first, 400), blanks=(make.lot(make.strips(), shed), shed, 10))
    bag = brew.bag(tub, shed, 10, 150)
    back = brew.give_back(tub, shed, 200)
    second = brew.mix((back, shed, 200), (other, shed, 300))
    return Road(shed, acid, other, first, tub, bag, back, second)


def held() -> set[Item]:
    return set(Item.objects.filter(pk__in=holds.held_ids()))


def test_a_hold_reaches_everything_made_from_it_and_nothing_else(road: Road) -> None:
    hold = make.hold(road.acid)
    assert held() == {road.acid, road.first, road.tub, road.bag, road.back, road.second}
    assert holds.holds_of(road.bag) == [hold]
    assert holds.on_hold([road.second.pk, road.other.pk]) == {road.second.pk: [hold]}
    assert not holds.is_held(road.other)


def test_a_lifted_hold_reaches_nothing_and_is_lifted_once(road: Road) -> None:
    hold = make.hold(road.acid)
    lifted = do(lift_hold, hold=hold, reason="the supplier sent the certificate")
    assert lifted.lifted_by is not None
    assert held() == set()
    with pytest.raises(Refused) as refusal:
        do(lift_hold, hold=hold, reason="again")
    assert refusal.value.code == "lifted_already"


def test_a_signed_decision_stops_the_hold_at_one_thing(road: Road) -> None:
    hold = make.hold(road.acid)
    do(free_from_hold, hold=hold, item=road.back, reason="titrated")
    assert held() == {road.acid, road.first, road.tub, road.bag}
    assert not holds.is_held(road.second)
    assert holds.is_held(road.tub)


def test_another_hold_and_another_path_still_reach_what_was_freed(road: Road) -> None:
    hold = make.hold(road.acid)
    do(free_from_hold, hold=hold, item=road.back, reason="titrated")
    brew.add(road.second, road.acid, road.shed, 5)
    assert holds.holds_of(road.second) == [hold]
    other = make.hold(road.first, reason="the thermometer was off")
    assert holds.holds_of(road.back) == [other]
    assert holds.holds_of(road.bag) == [other, hold]


def test_a_later_input_voids_a_signed_decision_wherever_it_comes_in(road: Road) -> None:
    hold = make.hold(road.acid)
    do(free_from_hold, hold=hold, item=road.second, reason="titrated")
    do(free_from_hold, hold=hold, item=road.bag, reason="tested")
    brew.add(road.second, road.other, road.shed, 5)
    assert holds.is_held(road.second)
    assert not holds.is_held(road.bag)
    brew.add(road.first, road.other, road.shed, 5)
    assert holds.is_held(road.bag)
    assert not Freed.objects.filter(voided_by=None).exists()


def test_a_thing_taken_out_again_is_reached_no_more(road: Road) -> None:
    make.hold(road.acid)
    brew.set_right(road.acid.movements.get(cause="weigh_in"), 0)
    assert held() == {road.acid}


def test_a_hold_may_begin_at_several_things_and_at_what_is_no_item(road: Road) -> None:
    hold = make.hold(road.back, road.bag, began_with="scale A")
    assert held() == {road.back, road.bag, road.second}
    assert hold.began_with == "scale A"


def test_a_hold_needs_a_reason_and_something_to_hold(road: Road) -> None:
    for facts in ({"items": [road.bag], "reason": " "}, {"items": [], "reason": "doubt"}):
        with pytest.raises(Refused):
            do(place_hold, **facts)


def test_only_what_a_hold_reaches_can_be_freed_and_once(road: Road) -> None:
    hold = make.hold(road.acid)
    with pytest.raises(Refused) as refusal:
        do(free_from_hold, hold=hold, item=road.other, reason="fine")
    assert refusal.value.code == "not_reached"
    do(free_from_hold, hold=hold, item=road.bag, reason="fine")
    with pytest.raises(Refused) as refusal:
        do(free_from_hold, hold=hold, item=road.bag, reason="fine")
    assert refusal.value.code == "freed_already"
    do(lift_hold, hold=hold, reason="done")
    with pytest.raises(Refused) as refusal:
        do(free_from_hold, hold=hold, item=road.tub, reason="fine")
    assert refusal.value.code == "lifted_already"


def test_a_request_for_what_is_held_is_refused_with_the_reason(road: Road) -> None:
    make.hold(road.acid, reason="torn sack")
    with pytest.raises(Refused, match="torn sack"):
        holds.refuse_if_held(road.other, road.bag)
    holds.refuse_if_held(road.other)


def test_a_thing_cannot_be_made_from_itself(road: Road) -> None:
    brew.add(road.first, road.back, road.shed, 10)
    assert road.first.questions.get().kind == "circle"
    assert road.back.movements.filter(target__kind="used", target__item=None).exists()
