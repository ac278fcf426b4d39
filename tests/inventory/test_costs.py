"""What things cost, from the book: parts of a bag, an abandoned pail, more out than was in, and few queries."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from batches.commands.bagging import bag, declare_loss, return_solution
from batches.commands.bench import abandon_bench
from batches.commands.mixing import weigh_in
from batches.commands.soaking import lay_strips, lift, pour
from batches.commands.splitting import split_bag
from coop.proof import differences
from inventory import costs
from inventory.models import Lot
from tests.makers import batches as make
from tests.makers.coop import member, releaser, sign_in, volunteer
from tests.makers.inventory import KG

pytestmark = pytest.mark.django_db

ONE = 10**8


@pytest.fixture
def room():
    """Acid at 6.00 and glycerine at 3.00 a kilogram, strips at 0.20."""
    room = make.room()
    for item, cents in ((room.acid, 6_000), (room.glycerine, 6_000), (room.blanks, 10_000)):
        Lot.objects.filter(item=item).update(price_cents=cents)
    return room


def mixed(room, bench, acid_g=1000, glycerine_g=1000):
    mix = bench.mixes.get()
    for item, mass in ((room.acid, acid_g), (room.glycerine, glycerine_g)):
        room.do(weigh_in, mix=mix, item=item, mass_mg=mass * 1000, confirmed=True)
    return mix


def soaked(room, bench, mix, poured_g=1900, strips=60):
    soak = room.do(lay_strips, bench=bench, strips=strips, blanks=room.blanks, confirmed=True)
    room.do(pour, after=5, mix=mix, soak=soak, mass_mg=poured_g * 1000, confirmed=True)
    room.do(lift, after=48 * 60, soak=soak, confirmed=True)
    soak.refresh_from_db()
    return soak


def bagged(room, soak, strips=30):
    return room.do(bag, soak=soak, strips=strips, net_mg=strips * 28_000, confirmed=True)


def test_a_part_of_a_bag_costs_by_its_pieces_and_a_part_of_a_part_too(room):
    bench = make.started(room)
    soak = soaked(room, bench, mixed(room, bench))
    whole, _rest = bagged(room, soak), bagged(room, soak)
    part = room.do(split_bag, bag=whole, strips=10)
    small = room.do(split_bag, bag=part, strips=4)
    found = costs.of([whole.item_id, part.item_id, small.item_id])
    assert found[whole.item_id].total == 3 * found[part.item_id].total
    assert found[small.item_id].each == found[whole.item_id].each
    assert sum(one.kept for one in found.values()) == found[whole.item_id].total


def test_while_the_bench_runs_the_tub_and_the_pail_keep_their_own(room):
    bench = make.started(room)
    mix = mixed(room, bench)
    soak = soaked(room, bench, mix)
    first = bagged(room, soak)
    found = costs.of_ancestry([first.item_id])
    # 9.00 for 2000 g; 100 g wait in the pail; of the tub's 1900 g those beside the strips are worth theirs
    assert found[mix.item_id].waiting == 9 * ONE * 100 // 2000
    assert found[soak.item_id].in_tub > 0
    assert found[first.item_id].total == found[soak.item_id].strips // 2


def test_more_returned_than_was_poured_is_capped_and_said(room):
    bench = make.started(room)
    mix = mixed(room, bench)
    soak = soaked(room, bench, mix)
    last = bagged(room, soak, 60)
    back = room.do(return_solution, soak=soak, mass_mg=5 * KG)
    found = costs.of_ancestry([back.item_id, last.item_id])
    assert found[soak.item_id].is_capped
    assert found[back.item_id].total == found[soak.item_id].by_parent[mix.item_id]
    assert found[last.item_id].total == found[soak.item_id].by_parent[room.blanks.pk] == 12 * ONE
    reader = sign_in(Client(), volunteer())
    for name, code in (("soak", soak.item.code_id), ("mix", mix.item.code_id)):
        text = reader.get(reverse(f"batches:{name}", args=[code])).content.decode()
        assert ("More solution came back" in text) == (name == "soak")


def test_an_abandoned_pail_is_written_off(room):
    bench = make.started(room)
    mix = mixed(room, bench)
    assert costs.of_item(mix.item).waiting == 9 * ONE
    room.do(abandon_bench, bench=bench, reason="the mixture browned")
    reader, url = sign_in(Client(), volunteer()), reverse("batches:mix", args=[mix.item.code_id])
    assert "Written off, unless it is put back" in reader.get(url).content.decode()
    room.do(return_solution, mix=mix, mass_mg=500_000)
    room.do(declare_loss, mix=mix, mass_mg=1_500_000, note="neutralised", is_destroyed=True)
    cost = costs.of_item(mix.item)
    assert (cost.returned, cost.waiting, cost.written_off) == (2.25 * ONE, 0, 6.75 * ONE)
    assert "Written off, nothing bears it" in reader.get(url).content.decode()
    assert list(differences()) == []


def test_more_weighed_in_than_the_book_held_costs_as_the_lot_does(room):
    bench = make.started(room)
    mix = mixed(room, bench, acid_g=12_000)
    assert costs.of_item(mix.item).by_parent[room.acid.pk] == 72 * ONE


def test_a_long_ancestry_asks_no_more_often_than_a_short_one(room):
    bench = make.started(room)
    mix = mixed(room, bench)
    back = room.do(return_solution, mix=mix, mass_mg=500_000)
    with CaptureQueriesContext(connection) as short:
        costs.of([mix.item_id])
    again = make.started(room)
    later = again.mixes.get()
    room.do(weigh_in, mix=later, item=back.item, mass_mg=250_000, confirmed=True)
    soak = soaked(room, again, mixed(room, again))
    bags = [bagged(room, soak, 20) for _ in range(3)]
    with CaptureQueriesContext(connection) as long:
        found = costs.of([one.item_id for one in bags])
    assert len(found) == 3
    assert len(long) <= len(short) + 1
    assert len(long) <= 7


def test_cost_opens_to_volunteers_only(room):
    url = f"/api/v1/items/{room.acid.code_id}/cost"
    assert sign_in(Client(), volunteer()).get(url).json()["each"] == "0.006"
    assert sign_in(Client(), volunteer()).get(url.replace(room.acid.code_id, "33333333")).status_code == 404
    for person in (member(), releaser()):
        assert sign_in(Client(), person).get(url).status_code == 403
