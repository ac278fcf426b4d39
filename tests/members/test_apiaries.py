"""Apiaries and hives: what is refused, and what a hive leaves behind."""

import datetime as dt

import pytest

from coop.command import Refused
from members.commands import apiaries
from members.models import Apiary, Hive
from tests.makers import members as make
from tests.makers.batches import hive_kind
from tests.makers.coop import club, coordinator, do, member

pytestmark = pytest.mark.django_db
TODAY = dt.date(2026, 6, 6)


def test_hives_are_numbered_on_and_never_twice():
    place = make.apiary(hives=2)
    do(apiaries.end_hives, place.keeper, hives=make.hives(place)[:1], ending="lost", until_on=TODAY)
    do(apiaries.add_hives, place.keeper, apiary=place, kind=hive_kind(), count=2)
    assert [hive.label for hive in make.hives(place)] == ["1", "2", "3", "4"]


def test_marks_of_ones_own_are_kept_and_one_that_is_there_is_refused():
    place = make.apiary(hives=0)
    do(apiaries.add_hives, place.keeper, apiary=place, kind=hive_kind(), labels=["blue", "red"])
    assert [hive.label for hive in make.hives(place)] == ["blue", "red"]
    with pytest.raises(Refused) as refusal:
        do(apiaries.add_hives, place.keeper, apiary=place, kind=hive_kind(), labels=["red"])
    assert refusal.value.code == "label"


def test_a_name_is_free_once_for_each_keeper():
    place = make.apiary()
    with pytest.raises(Refused) as refusal:
        do(apiaries.add_apiary, place.keeper, name="Long  Field")
    assert refusal.value.code == "name"
    assert do(apiaries.add_apiary, member(), name="Long Field").name == "Long Field"


def test_a_name_that_is_changed_changes_the_place_of_its_strips():
    place = make.apiary()
    do(apiaries.change_apiary, place.keeper, apiary=place, name="Short Field", where="near the mill")
    place.refresh_from_db()
    assert (place.name, place.where, place.place.name) == ("Short Field", "near the mill", "Short Field")


def test_a_moved_hive_goes_on_where_it_went():
    place = make.apiary(hives=1)
    other = make.apiary(place.keeper, hives=0, name="Hill")
    do(
        apiaries.end_hives,
        place.keeper,
        hives=make.hives(place),
        ending="moved",
        to_apiary=other,
        until_on=TODAY,
    )
    old, new = make.hives(place)[0], make.hives(other)[0]
    assert (old.ending, old.until_on, new.came_from, new.from_on) == ("moved", TODAY, old, TODAY)


def test_a_merged_hive_names_the_one_that_took_it_in():
    place = make.apiary(hives=2)
    first, second = make.hives(place)
    do(apiaries.end_hives, place.keeper, hives=[first], ending="merged", into=second)
    first.refresh_from_db()
    assert first.merged_into == second
    with pytest.raises(Refused) as refusal:
        do(apiaries.end_hives, place.keeper, hives=[second], ending="merged", into=first)
    assert refusal.value.code == "into"


def test_a_split_hive_stays_and_the_new_one_names_it():
    place = make.apiary(hives=1)
    mother = make.hives(place)[0]
    new = do(apiaries.split_hive, place.keeper, hive=mother, from_on=TODAY)
    assert (new.came_from, new.kind, new.label) == (mother, mother.kind, "2")
    assert list(Hive.objects.standing(TODAY)) == [mother, new]


@pytest.mark.parametrize(("ending", "code"), [("flown", "ending"), ("moved", "to_apiary"), ("merged", "into")])
def test_an_ending_must_say_where_to(ending: str, code: str):
    place = make.apiary(hives=1)
    with pytest.raises(Refused) as refusal:
        do(apiaries.end_hives, place.keeper, hives=make.hives(place), ending=ending)
    assert refusal.value.code == code


def test_a_day_to_come_is_refused_and_so_is_an_end_before_the_start():
    place = make.apiary(hives=1)
    for day in (dt.date(2999, 1, 1), dt.date(2000, 1, 1)):
        with pytest.raises(Refused) as refusal:
            do(apiaries.end_hives, place.keeper, hives=make.hives(place), ending="lost", until_on=day)
        assert refusal.value.code == "day"


def test_one_sees_ones_own_and_a_coordinator_all():
    club()
    one, other = make.apiary(), make.apiary()
    assert list(Apiary.objects.visible_to(one.keeper)) == [one]
    assert set(Apiary.objects.visible_to(coordinator())) == {one, other}
    assert set(Hive.objects.visible_to(other.keeper)) == set(make.hives(other))


def test_standing_hives_are_counted_by_day():
    place = make.apiary(hives=3)
    do(apiaries.end_hives, place.keeper, hives=make.hives(place)[:1], ending="sold", until_on=TODAY)
    counts = {
        day: Apiary.objects.with_hives(day).get(pk=place.pk).hives_now for day in (TODAY - dt.timedelta(days=1), TODAY)
    }
    assert list(counts.values()) == [3, 2]
