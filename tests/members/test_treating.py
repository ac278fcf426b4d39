"""Strips in hives and out of them: whole doses, facts that the book did not know, days of the calendar."""

import datetime as dt
from typing import Any

import pytest

from batches.models import Bag, Instructions
from coop.command import Refused
from coop.proof import differences
from inventory.models import Holding, Question
from members.commands import treating
from members.commands.treating import LineIn, LineOut
from members.models import Apiary, Treatment
from members.queries import held
from tests.makers import batches as bench
from tests.makers import members as make
from tests.makers.coop import club, coordinator, do

pytestmark = pytest.mark.django_db
IN = dt.datetime(2026, 9, 19, 15, 40, tzinfo=dt.UTC)


class Stand:
    """A keeper with three hives and two bags, 3 strips a hive, 40 days."""

    def __init__(self, strips=(4, 6)) -> None:
        club()
        coordinator()
        self.doc: Instructions = bench.instructions()
        self.apiary: Apiary = make.apiary(hives=3)
        self.keeper = self.apiary.keeper
        make.basis()
        self.bags: list[Bag] = make.shelf_bags(strips, self.doc) if strips else []
        for bag in self.bags:
            make.handed(bag, self.keeper)

    def put_in(self, **facts: Any) -> Treatment:
        facts.setdefault("happened_at", IN)
        treatment: Treatment = do(treating.strips_in, self.keeper, apiary=self.apiary, **facts)
        return treatment

    def refused(self, command: Any, code: str, **facts: Any) -> None:
        with pytest.raises(Refused) as refusal:
            do(command, self.keeper, **facts)
        assert refusal.value.code == code, refusal.value

    def in_hives(self) -> int:
        return sum(Holding.objects.filter(place=self.apiary.place).values_list("quantity", flat=True))


@pytest.fixture
def stand() -> Stand:
    return Stand()


def test_one_tap_puts_a_whole_dose_into_each_hive_across_bags(stand):
    treatment = stand.put_in()
    lines = [(line.hive.label, line.item_id, line.strips_in) for line in treatment.lines.order_by("hive", "id")]
    one, two = (bag.item_id for bag in stand.bags)
    assert lines == [("1", one, 3), ("2", one, 1), ("2", two, 2), ("3", two, 3)]
    assert (treatment.in_on, treatment.due_on) == (dt.date(2026, 9, 19), dt.date(2026, 10, 29))
    assert stand.in_hives() == 9
    assert held.strips_of(stand.keeper) == 1


def test_a_hive_gets_a_whole_dose_or_none():
    stand = Stand(strips=(8,))
    treatment = stand.put_in()
    assert sorted(line.strips_in for line in treatment.lines.all()) == [3, 3]
    stand.refused(treating.strips_in, "none", apiary=stand.apiary)


def test_hives_that_have_strips_in_are_left_out_the_next_time(stand):
    first = make.hives(stand.apiary)[0]
    stand.put_in(hives=[first])
    treatment = stand.put_in()
    assert first not in {line.hive for line in treatment.lines.all()}


def test_nothing_held_is_said_before_anything_is_written():
    stand = Stand(strips=())
    stand.refused(treating.strips_in, "none", apiary=stand.apiary)
    assert not Treatment.objects.exists()


def test_what_is_said_hive_by_hive_is_kept_whatever_the_book_says(stand):
    first, second, _third = make.hives(stand.apiary)
    item = stand.bags[0].item
    treatment = stand.put_in(lines=[LineIn(first, item, 5), LineIn(second, item, 2)])
    assert sum(line.strips_in for line in treatment.lines.all()) == 7
    assert stand.in_hives() == 7
    assert Question.objects.get().kind == Question.Kind.FOUND


def test_a_hive_elsewhere_or_no_strips_are_a_slip(stand):
    other = make.hives(make.apiary(name="Hill", hives=1))[0]
    item = stand.bags[0].item
    stand.refused(treating.strips_in, "hive", apiary=stand.apiary, lines=[LineIn(other, item, 1)])
    mine = make.hives(stand.apiary)[0]
    stand.refused(treating.strips_in, "strips", apiary=stand.apiary, lines=[LineIn(mine, item, 0)])
    stand.refused(treating.strips_in, "day", apiary=stand.apiary, in_on=dt.date(2999, 1, 1))


def test_which_instructions_is_asked_when_nothing_tells():
    stand = Stand(strips=())
    bench.instructions()
    first = make.hives(stand.apiary)[0]
    bag = make.shelf_bags([5])[0]
    lines = [LineIn(first, bag.item, 3)]
    stand.refused(treating.strips_in, "instructions", apiary=stand.apiary, lines=lines)
    assert stand.put_in(lines=lines, instructions=stand.doc).instructions == stand.doc


def test_all_out_by_one_tap_and_disposed_of(stand):
    treatment = stand.put_in()
    out = do(treating.strips_out, stand.keeper, treatment=treatment, out_on=dt.date(2026, 10, 29))
    assert (out.out_on, stand.in_hives()) == (dt.date(2026, 10, 29), 0)
    gone = Holding.objects.filter(place__kind="destroyed").values_list("quantity", flat=True)
    assert sum(gone) == 9
    stand.refused(treating.strips_out, "state", treatment=treatment)


def test_some_out_some_chewed_some_still_in(stand):
    treatment = stand.put_in()
    first, *rest = treatment.lines.order_by("hive", "id")
    do(treating.strips_out, stand.keeper, treatment=treatment, lines=[LineOut(first, 2, 1)])
    treatment.refresh_from_db()
    assert treatment.out_on is None
    assert sum(Holding.objects.filter(place__kind="lost").values_list("quantity", flat=True)) == 1
    stand.refused(treating.strips_out, "strips", treatment=treatment, lines=[LineOut(first, 1)])
    do(treating.strips_out, stand.keeper, treatment=treatment, lines=[LineOut(one, one.strips_in) for one in rest])
    treatment.refresh_from_db()
    assert treatment.out_on is not None


def test_a_line_of_another_treatment_is_nothing_here(stand):
    first, second, _third = make.hives(stand.apiary)
    one, other = stand.put_in(hives=[first]), stand.put_in(hives=[second])
    line = other.lines.first()
    stand.refused(treating.strips_out, "strips", treatment=one, lines=[LineOut(line, 1)])


def test_out_before_in_is_refused(stand):
    treatment = stand.put_in()
    stand.refused(treating.strips_out, "day", treatment=treatment, out_on=dt.date(2026, 9, 18))


def test_the_local_day_counts_not_the_day_in_utc(stand):
    just_after_midnight = dt.datetime(2026, 9, 19, 22, 20, tzinfo=dt.UTC)
    assert stand.put_in(happened_at=just_after_midnight).in_on == dt.date(2026, 9, 20)


def test_a_date_put_right_moves_the_due_day(stand):
    treatment = stand.put_in()
    right = do(treating.correct_in_date, stand.keeper, treatment=treatment, in_on=dt.date(2026, 9, 12))
    assert (right.due_on, right.sequence) == (dt.date(2026, 10, 22), 1)
    do(treating.strips_out, stand.keeper, treatment=treatment, out_on=dt.date(2026, 10, 20))
    stand.refused(treating.correct_in_date, "day", treatment=treatment, in_on=dt.date(2026, 10, 21))


def test_left_in_too_long_is_overdue_the_day_after(stand):
    treatment = stand.put_in()
    assert not Treatment.objects.overdue(treatment.due_on).exists()
    assert list(Treatment.objects.overdue(treatment.due_on + dt.timedelta(days=1))) == [treatment]


def test_the_books_prove_with_strips_in_and_out():
    club()
    apiary = make.apiary(hives=3)
    bag = make.released_bags([10])[0]
    make.basis()
    make.handed(bag, apiary.keeper)
    treatment = do(treating.strips_in, apiary.keeper, apiary=apiary)
    line = treatment.lines.order_by("id")[0]
    do(treating.strips_out, apiary.keeper, treatment=treatment, lines=[LineOut(line, 1, 1)])
    assert list(differences()) == []
