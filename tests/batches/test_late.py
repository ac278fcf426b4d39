"""Evidence that comes in after a release: kept, with a deviation and a hold."""

import pytest

from batches.commands.bagging import bag, correct_bag, declare_loss
from batches.commands.bench import join_bench
from batches.commands.mixing import correct_weighing, pail_check, read, titrate
from batches.commands.soaking import correct_strips, look, mark_dry, mark_wet
from batches.models import Deviation, Reading, Soak
from coop.proof import differences
from inventory import holds
from tests.makers import batches as make
from tests.makers.coop import club

pytestmark = pytest.mark.django_db


@pytest.fixture
def room():
    return make.room()


LATE = {
    "reading": lambda room, soak: (read, {"mix": soak.bench.mixes.get(), "solution_mc": 54_000}),
    "tub reading": lambda room, soak: (read, {"soak": soak, "solution_mc": 21_000}),
    "pail": lambda room, soak: (pail_check, {"mix": soak.bench.mixes.get(), "total_mg": 4_000_000}),
    "look": lambda room, soak: (look, {"soak": soak, "has_crystals": True}),
    "dry": lambda room, soak: (mark_dry, {"soak": soak, "masses_mg": make.DRY}),
    "bag": lambda room, soak: (bag, {"soak": soak, "strips": 1, "net_mg": 28_600, "confirmed": True}),
    "bag again": lambda room, soak: (
        correct_bag,
        {"bag": make.bags(soak)[0], "net_mg": 29 * 28_500, "reason": "another scale"},
    ),
    "loss": lambda room, soak: (declare_loss, {"soak": soak, "mass_mg": 2_000, "note": "under the tub"}),
    "count": lambda room, soak: (correct_strips, {"soak": soak, "strips": 61, "reason": "one more"}),
    "weighing": lambda room, soak: (
        correct_weighing,
        {"weighing": soak.bench.mixes.get().weighings.first(), "mass_mg": 1, "reason": "x", "confirmed": True},
    ),
    "titration": lambda room, soak: (
        titrate,
        {"item": soak.bench.mixes.get().item, "w_ppb": 340_000_000, "u_ppb": 1, "method": "NaOH"},
    ),
}


@pytest.mark.parametrize("what", LATE)
def test_it_is_kept_and_what_was_released_goes_on_hold(room, what):
    club(can_titrate=True)
    soak = make.released(room)
    command, facts = LATE[what](room, soak)
    room.do(command, after=60, **facts)
    deviation = Deviation.objects.get(soak=soak)
    assert (deviation.kind, deviation.decided) == ("late", None)
    assert holds.is_held(soak.item)
    assert all(holds.is_held(one.item) for one in make.bags(soak)[:2])
    assert soak.item.questions.filter(kind="late").exists()
    wrong = [one for one in differences() if "batches.pieces" not in one or what != "bag"]
    assert wrong == []


def test_before_the_release_the_same_is_no_deviation(room):
    soak = make.closed(room)
    room.do(look, soak=soak)
    room.do(mark_wet, soak=soak, masses_mg=make.WET, scale=room.scale)
    assert not Deviation.objects.exists()
    assert not holds.is_held(soak.item)


def test_a_late_entry_that_names_the_releaser_is_kept_and_prove_says_so(room):
    soak = make.released(room)
    room.do(join_bench, bench=soak.bench, person=room.releaser, gear=["goggles"])
    assert Deviation.objects.get().kind == "team"
    assert holds.is_held(soak.item)
    assert [one for one in differences() if room.releaser.name in one]


def test_a_titration_of_what_a_released_batch_drew_reaches_it(room):
    club(can_titrate=True)
    first = make.released(room)
    back = first.returned.get()
    second = make.released(room, returned=[{"item": back.item, "mass_mg": 2_000_000}])
    assert Reading.objects.count() == 8
    room.do(titrate, after=1, item=back.item, w_ppb=340_000_000, u_ppb=1_000_000, method="NaOH")
    late = set(Deviation.objects.filter(kind="late").values_list("soak", flat=True))
    assert late == {second.pk}
    assert Soak.objects.get(pk=second.pk).state == Soak.State.RELEASED
    assert holds.is_held(second.item)
    assert not holds.is_held(first.item)
    assert list(differences()) == []
