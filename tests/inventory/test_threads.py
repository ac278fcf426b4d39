"""The thread: what it came from, itself, what became of it; held from where the hold begins; few queries."""

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from coop.thread import ThreadStop, drawn
from inventory import ledger
from inventory.models import Item, Place
from inventory.threads import thread_of, words_of
from tests.makers import brew
from tests.makers import inventory as make
from tests.makers.coop import member

pytestmark = pytest.mark.django_db


@pytest.fixture
def shed() -> Place:
    return make.shed()


def make_road(shed: Place) -> dict[str, Item]:
    """A lot, its mix, tub, two bags and returned solution, a second mix from that; one bag with a member."""
    material = make.acid()
    lot, other = (
        make.lot(material, shed, supplier=make.supplier(name="Calder"), supplier_lot="OX-K"),
        make.lot(material, shed),
    )
    mix = brew.mix((lot, shed, 400_000))
    tub = brew.soak((mix, 400_000), blanks=(make.lot(make.strips(), shed), shed, 40))
    bags = [brew.bag(tub, shed, 20, 60_000) for _bag in range(2)]
    back = brew.give_back(tub, shed, 200_000)
    second = brew.mix((back, shed, 200_000), (other, shed, 300_000))
    person = Place.objects.of_member(member())
    brew.go(ledger.Move(bags[0], shed, person, 20, "hand_over"))
    return {"lot": lot, "other": other, "mix": mix, "tub": tub, "bag": bags[0], "back": back, "second": second}


def labels(stops: list[ThreadStop]) -> list[str]:
    return [stop.label for stop in stops]


def test_a_lot_shows_the_whole_road_from_its_supplier(shed: Place) -> None:
    lot = make_road(shed)["lot"]
    stops = thread_of(lot)
    assert labels(stops)[0] == "Calder"
    assert stops[0].begins
    assert labels(stops)[2:] == ["mix", "mix", "soak", "returned solution", "2 bags", "1 member"]
    assert [stop.code for stop in stops if stop.is_self] == [lot.code_id]
    assert stops[2].lines[0] == "direct"
    assert stops[3].lines[0] == "by returned solution"
    assert stops[6].lines == ["40 strips"]
    assert stops[7].lines == ["20 strips"]
    assert not any(stop.held for stop in stops)


def test_a_bag_shows_what_it_came_from(shed: Place) -> None:
    road = make_road(shed)
    stops = thread_of(road["bag"])
    assert labels(stops) == ["2 lots", "mix", "soak", "bag", "1 member"]


def test_a_hold_colours_the_line_from_where_it_begins(shed: Place) -> None:
    road = make_road(shed)
    make.hold(road["mix"])
    assert [stop.held for stop in thread_of(road["bag"])] == [False, True, True, True, True]
    assert [one.mark for one in drawn(thread_of(road["bag"]))] == ["ring", "hold", "ring", "self", "ring"]
    from_lot = thread_of(road["lot"])
    assert [stop.held for stop in from_lot] == [False, False, True, True, True, True, True, True]
    assert [stop.held for stop in thread_of(road["other"])][2:] == [True]


def test_a_lot_that_was_never_used_is_short(shed: Place) -> None:
    stops = thread_of(make.lot(place=shed))
    assert len(stops) == 2
    assert stops[1].lines == ["5\u202f000\u202fg on hand"]


def test_words_fall_back_to_the_kind(shed: Place) -> None:
    road = make_road(shed)
    words = words_of(road.values())
    assert words[road["lot"].pk].endswith("Calder OX-K")
    assert words[road["mix"].pk]


def test_a_longer_road_asks_no_more_queries(shed: Place) -> None:
    road = make_road(shed)

    def queries(item: Item) -> int:
        fresh: Any = Item.objects.select_related("lot__supplier", "material").get(pk=item.pk)
        with CaptureQueriesContext(connection) as seen:
            thread_of(fresh)
        return len(seen)

    before = queries(road["lot"])
    for _more in range(3):
        mix = brew.mix((road["lot"], shed, 1_000))
        tub = brew.soak((mix, 1_000), blanks=(make.lot(make.strips(), shed), shed, 4))
        brew.bag(tub, shed, 4, 100)
    assert queries(road["lot"]) == before
    assert before < 20


def test_a_members_place_bears_no_name_of_its_own() -> None:
    place = Place.objects.of_member(member("Nell Marsh"))
    assert place.words == "with Nell Marsh"
    assert "Nell" not in place.name
