"""Strips into hives and out of them: facts, kept whatever the book says."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from django.utils.translation import gettext as _

from batches.models import Instructions
from coop import wording
from coop.command import Refused, command
from coop.models import Deed, the_club
from inventory import ledger
from inventory.ledger import Move
from inventory.models import Item, Movement, Place
from members.models import Apiary, Hive, Treatment, TreatmentLine
from members.queries import held
from members.science.calendar_days import local_day

Cause = Movement.Cause


class LineIn(NamedTuple):
    """Strips of one bag (its item) put in one hive."""

    hive: Hive
    item: Item
    strips: int


class LineOut(NamedTuple):
    """Of one line: strips taken out and disposed of, and strips that were chewed away or not found."""

    line: TreatmentLine
    out: int
    chewed: int = 0


@command("members.strips_in", gate=True)
def strips_in(
    deed: Deed,
    *,
    apiary: Apiary,
    in_on: dt.date | None = None,
    instructions: Instructions | None = None,
    lines: Sequence[LineIn] = (),
    hives: Sequence[Hive] = (),
) -> Treatment:
    """Strips went into hives of an apiary, on `in_on` or on the local day it happened; due out so many days later.

    Without `lines`: from the bags the keeper holds, first expiring first, a whole dose by kind into each hive (or each
    of `hives`) that has none in, as far as the strips reach. With lines it is kept as said, and what the book does not
    know becomes found stock. Refused only where nothing is said: code "none" (no strips held, or no hive that wants
    any), "instructions" (unknown which), "day" (not come yet), "hive" (of another apiary), "strips".
    """
    day = _day(deed, in_on)
    with_keeper = Place.objects.of_member(apiary.keeper)
    known = instructions or held.instructions_for(apiary.keeper, [line.item for line in lines])
    if known is None:
        raise Refused(_("Say which instructions the strips came with."), code="instructions", field="instructions")
    kept = _merged(lines) if lines else _whole_doses(apiary, known, day, hives)
    _check_lines(apiary, kept)
    treatment = Treatment.objects.create(
        apiary=apiary,
        instructions=known,
        in_on=day,
        due_on=day + dt.timedelta(days=known.days),
        is_late=the_club().day_of(deed.recorded_at) > day,
        deed=deed,
    )
    TreatmentLine.objects.bulk_create(
        [TreatmentLine(treatment=treatment, hive=one.hive, item=one.item, strips_in=one.strips) for one in kept]
    )
    sums = _sums((one.item, one.strips) for one in kept)
    moves = [Move(item, with_keeper, apiary.place, strips, Cause.STRIPS_IN) for item, strips in sums]
    ledger.post(deed, moves, fact=True)
    return treatment


@command("members.strips_out", gate=True)
def strips_out(
    deed: Deed, *, treatment: Treatment, out_on: dt.date | None = None, lines: Sequence[LineOut] = ()
) -> Treatment:
    """All strips are out and disposed of; or only those of `lines`. The treatment ends with the last strip.

    Refused: code "state" (all out already), "strips" (more than are in), "day" (not come yet, or before they went in).
    """
    treatment = Treatment.objects.select_related("apiary__place", "apiary__keeper").get(pk=treatment.pk)
    if treatment.out_on is not None:
        raise Refused(_("These strips are out since %(day)s.") % {"day": wording.day(treatment.out_on)}, code="state")
    day = _day(deed, out_on)
    if day < treatment.in_on:
        raise Refused(_("They went in later than that day."), code="day", field="out_on")
    rows = {row.pk: row for row in treatment.lines.select_related("item")}
    done = list(lines) or [LineOut(row, row.still_in) for row in rows.values() if row.still_in]
    moves = []
    for one in done:
        moves += _take_out(rows.get(one.line.pk), one, treatment.apiary.place)
    if not moves:
        raise Refused(_("Enter how many strips came out."), code="strips")
    ledger.post(deed, moves, fact=True)
    TreatmentLine.objects.bulk_update(rows.values(), ["strips_out", "strips_chewed"])
    if not any(row.still_in for row in rows.values()):
        treatment.out_on = day
        treatment.sequence += 1
        treatment.save(update_fields=["out_on", "sequence"])
    return treatment


@command("members.correct_in_date")
def correct_in_date(deed: Deed, *, treatment: Treatment, in_on: dt.date) -> Treatment:
    """They went in on another day: the due day follows by the same instructions. Refused: code "day"."""
    treatment = Treatment.objects.select_related("instructions").get(pk=treatment.pk)
    day = _day(deed, in_on)
    if treatment.out_on is not None and day > treatment.out_on:
        raise Refused(_("They came out before that day."), code="day", field="in_on")
    treatment.in_on = day
    treatment.due_on = day + dt.timedelta(days=treatment.instructions.days)
    treatment.sequence += 1
    treatment.save(update_fields=["in_on", "due_on", "sequence"])
    return treatment


def _day(deed: Deed, day: dt.date | None) -> dt.date:
    """The local day something happened, or the day said if it is not still to come."""
    club = the_club()
    if day is None:
        return local_day(deed.happened_at, club.zone)
    if day > club.day_of(deed.recorded_at):
        raise Refused(_("That day has not come yet."), code="day")
    return day


def _whole_doses(apiary: Apiary, instructions: Instructions, day: dt.date, hives: Sequence[Hive]) -> list[LineIn]:
    """A whole dose into each hive while the bags held reach: an under-dosed hive is worse than an untreated one."""
    dose = dict(instructions.doses.values_list("hive_kind_id", "strips"))
    wanted = list(hives) or held.untreated_hives(apiary, day)
    bags = dict(held.bags_of(apiary.keeper))
    found: list[LineIn] = []
    for hive in wanted:
        strips = dose.get(hive.kind_id, 0)
        if strips and strips <= sum(bags.values()):
            found += _from_bags(hive, strips, bags)
    if not found:
        raise Refused(_nothing_goes_in(bool(bags), bool(wanted)), code="none")
    return found


def _from_bags(hive: Hive, strips: int, bags: dict[Item, int]) -> list[LineIn]:
    """So many strips out of the bags in their order; what is taken is taken off `bags`."""
    lines = []
    for item in bags:
        taken = min(bags[item], strips)
        if taken:
            lines.append(LineIn(hive, item, taken))
            bags[item] -= taken
            strips -= taken
    return lines


def _nothing_goes_in(has_bags: bool, has_hives: bool) -> str:
    if not has_bags:
        return _("By the book you hold no strips. Enter which bag they came from.")
    if not has_hives:
        return _("Every hive here has strips in already, or there is no hive.")
    return _("The strips you hold do not make a whole dose for any hive here. A hive gets a whole dose or none.")


def _merged(lines: Sequence[LineIn]) -> list[LineIn]:
    sums: dict[tuple[Hive, Item], int] = defaultdict(int)
    for line in lines:
        sums[line.hive, line.item] += line.strips
    return [LineIn(hive, item, strips) for (hive, item), strips in sums.items()]


def _check_lines(apiary: Apiary, lines: Sequence[LineIn]) -> None:
    for line in lines:
        if line.hive.apiary_id != apiary.pk:
            raise Refused(_("%(hive)s stands in another apiary.") % {"hive": line.hive.label}, code="hive")
        if line.strips <= 0 or line.item.kind != Item.Kind.BAG:
            raise Refused(_("Name a bag of strips, and at least one strip."), code="strips")


def _sums(pairs: Iterable[tuple[Item, int]]) -> list[tuple[Item, int]]:
    sums: dict[Item, int] = defaultdict(int)
    for item, strips in pairs:
        sums[item] += strips
    return sorted(sums.items(), key=lambda pair: pair[0].pk)


def _take_out(row: TreatmentLine | None, one: LineOut, place: Place) -> list[Move]:
    if row is None or min(one.out, one.chewed) < 0 or one.out + one.chewed > row.still_in:
        raise Refused(
            _("More strips than are in: %(there)s are in that hive by the book.")
            % {"there": wording.counted(row.still_in if row else 0)},
            code="strips",
        )
    row.strips_out += one.out
    row.strips_chewed += one.chewed
    ends: Mapping[Place.Kind, tuple[int, str]] = {
        Place.Kind.DESTROYED: (one.out, Cause.STRIPS_OUT),
        Place.Kind.LOST: (one.chewed, Cause.MISSING),
    }
    return [
        Move(row.item, place, Place.objects.the(kind), strips, cause)
        for kind, (strips, cause) in ends.items()
        if strips
    ]
