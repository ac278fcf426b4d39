"""Open asks net of the strips there are and will be: worked figures, each strip covering once."""

import datetime as dt

import pytest
from django.utils import timezone

from coop.models import HiveKind, the_club
from inventory.models import Material
from members.commands.rounds import ask
from members.commands.sharing import share_out
from members.demands import not_covered, open_asks
from members.models import Round
from tests.makers import batches as bench
from tests.makers import inventory as shelf
from tests.makers import members as make
from tests.makers.coop import club, do, member

pytestmark = pytest.mark.django_db
DAY = dt.timedelta(days=1)


def round_of(*doses: int, strips: int = 4, closes_in: int = 10, kind: HiveKind | None = None) -> Round:
    """A round of which so many hive doses are asked for, and closed."""
    kind = kind or bench.hive_kind()
    keepers = [make.apiary(member(), hives=count, kind=kind).keeper for count in doses]
    opened = make.opened(
        bench.instructions(doses={kind.pk: strips}), closes_at=timezone.now() + closes_in * DAY, name=f"in {closes_in}"
    )
    return make.asked(opened, *zip(keepers, doses, strict=True), kind=kind)


def takes(material: Material, per_dose: int) -> Material:
    """A material of which somebody entered what a hive dose takes."""
    material.per_dose = per_dose
    material.save(update_fields=["per_dose"])
    return material


def today() -> dt.date:
    return the_club().today()


def short() -> list[tuple[str, int, int]]:
    return [(row.round.name, row.strips, row.doses) for row in not_covered(today())]


def wanted(material: Material) -> list[tuple[dt.date, int]]:
    rows = open_asks(today(), today() + 200 * DAY)
    return [(row.day, row.quantity) for row in rows if row.material_id == material.pk]


def test_190_hive_doses_asked_and_168_covered_take_22_times_a_dose() -> None:
    """190 x 4 = 760 strips asked, 672 planned cover 168 doses; 22 x 22.8 g = 501.6 g, not 190 x 22.8 g = 4332 g."""
    room = bench.room(now=timezone.now())
    shelf.lot(room.blanks.material, room.shed, quantity=672)
    shelf.lot(room.acid.material, room.shed, quantity=10 * shelf.KG)
    shelf.lot(room.glycerine.material, room.shed, quantity=20 * shelf.KG)
    bench.planned(room, target_mg=None, strips=672)
    acid = takes(shelf.acid(), 22_800)
    asked = round_of(100, 90)
    assert short() == [("in 10", 88, 22)]
    assert wanted(acid) == [(the_club().day_of(asked.closes_at), 501_600)]
    assert 190 * 22_800 == 4_332_000


def test_a_part_of_a_dose_takes_a_whole_one() -> None:
    make.shelf_bags([37])
    round_of(10)
    assert short() == [("in 10", 3, 1)]


def test_each_strip_covers_once_and_the_round_that_closes_first_has_it() -> None:
    make.shelf_bags([50])
    round_of(10, closes_in=20)
    round_of(10, closes_in=5)
    assert short() == [("in 20", 30, 8)]


def test_promised_strips_cover_nobody_else() -> None:
    club()
    make.basis()
    first = round_of(10)
    make.shelf_bags([60], first.instructions)
    do(share_out, round=first)
    round_of(10, closes_in=20)
    assert short() == [("in 20", 20, 5)]


def test_what_waits_for_its_release_covers_and_what_was_rejected_does_not() -> None:
    round_of(10)
    make.shelf_bags([30], state="lifted")
    assert short() == [("in 10", 10, 3)]
    make.shelf_bags([30], state="rejected")
    assert short() == [("in 10", 10, 3)]


def test_what_is_on_hold_does_not_cover() -> None:
    round_of(10)
    bags = make.shelf_bags([40], state="lifted")
    assert short() == []
    shelf.hold(bags[0].item)
    assert short() == [("in 10", 40, 10)]


def test_a_mean_dose_is_that_of_the_asks() -> None:
    """Two kinds of hive in one round: 10 doses of 4 strips and 10 of 2 are 60 strips; 50 there, 10 strips are 3.3."""
    full, nucleus = bench.hive_kind(), bench.hive_kind("nucleus")
    keeper, other = make.apiary(member(), hives=10).keeper, make.apiary(member(), hives=10, kind=nucleus).keeper
    opened = make.opened(bench.instructions(doses={full.pk: 4, nucleus.pk: 2}), name="mixed")
    do(ask, keeper, round=opened, doses={full.pk: 10})
    do(ask, other, round=opened, doses={nucleus.pk: 10})
    make.shelf_bags([50])
    assert short() == [("mixed", 10, 4)]


def test_strips_take_the_strips_themselves_and_acid_without_a_figure_is_said() -> None:
    acid, blanks, other = shelf.acid(), shelf.strips(), shelf.material("other", unit="mass")
    round_of(10)
    assert [quantity for _day, quantity in wanted(blanks)] == [40]
    assert [quantity for _day, quantity in wanted(acid)] == [0]
    assert wanted(other) == []


def test_two_kinds_of_blanks_cannot_be_told_apart() -> None:
    first, second = shelf.strips(), shelf.strips()
    round_of(10)
    assert [quantity for _day, quantity in wanted(first) + wanted(second)] == [0, 0]


def test_a_round_whose_closing_day_is_past_counts_today() -> None:
    acid = takes(shelf.acid(), 1000)
    asked = round_of(10)
    Round.objects.filter(pk=asked.pk).update(opens_at=timezone.now() - 9 * DAY, closes_at=timezone.now() - 2 * DAY)
    assert wanted(acid) == [(today(), 10_000)]
