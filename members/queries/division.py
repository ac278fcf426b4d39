"""A division as people read it: a row for each asker, and why one got what they got."""

import dataclasses
from collections import defaultdict
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any, NamedTuple

from django.contrib.humanize.templatetags import humanize
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from coop import wording
from coop.drawing.division import share_cells
from coop.models import Person
from members.models import Round, RoundKeeper, Share, ShareOut
from members.queries import records
from members.science.shareout import Asker, Step, why

DRAWN, SHORT = "drawn number", "short last time"


@dataclasses.dataclass(frozen=True)
class Row:
    """One asker: hives, what was asked and given, the cells of the picture, strips to pack."""

    person: Person
    hives: int
    asked: int
    got: int
    strips: int
    handed: int
    state: str
    word: str
    cells: SafeString


class LevelRow(NamedTuple):
    """One who stood level: the n-th dose or "none", the quotient, what settled it, and whether it is the reader."""

    nth: str
    quotient: str
    how: str
    is_reader: bool


@dataclasses.dataclass(frozen=True)
class Reason:
    """Why somebody got so many: sentences before and after the table of those who stood level."""

    person: Person
    got: int
    before: Sequence[str]
    level_words: str
    level: Sequence[LevelRow]
    after: Sequence[str]
    short: str


def chain(runs: Sequence[ShareOut]) -> list[ShareOut]:
    """Of all runs of a round, those that count: the last one and what it goes on from, the first of them first."""
    by_id = {run.pk: run for run in runs}
    found: list[ShareOut] = []
    run = max(runs, key=lambda one: one.pk, default=None)
    while run is not None:
        found.append(run)
        run = by_id.get(run.goes_on_from_id) if run.goes_on_from_id else None
    return found[::-1]


def counting_runs(round: Round) -> list[ShareOut]:
    return chain(list(round.share_outs.all()))


def steps_of(runs: Sequence[ShareOut]) -> list[Step]:
    return [step for run in runs for step in records.division_of(run).steps]


def rows_of(round: Round, runs: Sequence[ShareOut]) -> list[Row]:
    """A row for each asker, most hives first; in the cells a dot marks what a drawn number settled."""
    drawn: dict[int, set[int]] = defaultdict(set)
    for step in steps_of(runs):
        if step.settled == DRAWN:
            drawn[step.key].add((step.divisor + 1) // 2)
    shares = Share.objects.filter(round=round).with_handed().select_related("person")
    hives = dict(RoundKeeper.objects.filter(round=round).values_list("person_id", "hives"))
    rows = [
        Row(
            person=share.person,
            hives=hives.get(share.person_id, 0),
            asked=share.asked,
            got=share.doses,
            strips=share.strips,
            handed=int(share.handed),  # type: ignore[attr-defined]
            state=share.state,
            word=share.get_state_display(),
            cells=share_cells(share.asked, share.doses, drawn[share.person_id]),
        )
        for share in shares
    ]
    return sorted(rows, key=lambda row: (-row.hives, row.person.name))


def reason(runs: Sequence[ShareOut], person: Person) -> Reason | None:
    """Why this person got what they got, as they read it: nobody else is named. None for who did not ask."""
    last = runs[-1]
    people = {asker.key: asker for asker in records.askers(last.frozen)}
    me = people.get(person.pk)
    if me is None:
        return None
    found = why(list(people.values()), records.division_of(last))[me.key]
    run, own = _last_own_step(runs, me.key)
    steps = records.division_of(run).steps
    level_at = _level_at(me, own, found.next_quotient, steps)
    level = _level_rows(me, people, steps, level_at) if level_at is not None else []
    missing = found.asked - found.got
    return Reason(
        person=person,
        got=found.got,
        before=[_kept_and_asked(me), _last_dose(found.got, found.asked, own, len(steps))],
        level_words=_level_words(level_at, level, steps) if level_at is not None else "",
        level=level,
        after=_next_dose(me, found.got, found.next_quotient, found.doses_until_next, people.values()),
        short=_("You fall %(n)d short.") % {"n": missing} if missing else "",
    )


def _last_own_step(runs: Sequence[ShareOut], key: int) -> tuple[ShareOut, Step | None]:
    for run in reversed(runs):
        own = [step for step in records.division_of(run).steps if step.key == key]
        if own:
            return run, own[-1]
    return runs[-1], None


def _kept_and_asked(me: Asker) -> str:
    said = sum(line.ask for line in me.lines)
    hives = wording.counted(me.hives, "hive")
    if said > me.ask:
        return _("You keep %(hives)s and asked for %(said)d; %(ask)d count, one for each hive.") % {
            "hives": hives,
            "said": said,
            "ask": me.ask,
        }
    return _("You keep %(hives)s and asked for %(ask)d.") % {"hives": hives, "ask": me.ask}


def _last_dose(got: int, asked: int, own: Step | None, total: int) -> str:
    if own is None or not got:
        return _("The doses ran out before your first one.")
    nth, dose = _nth(own.n), _nth(got)
    if own.n == total:
        words = _("Your %(dose)s dose was the very last of the %(total)d.")
    elif got == asked:
        words = _("Your ask was met: your %(dose)s dose was the %(nth)s of %(total)d.")
    else:
        words = _("Your %(dose)s dose was the %(nth)s of %(total)d.")
    return words % {"dose": dose, "nth": nth, "total": total}


def _level_at(me: Asker, own: Step | None, following: tuple[int, int] | None, steps: Sequence[Step]) -> Fraction | None:
    """The quotient at which others stood level with this one when it was settled; None if it never was."""
    if own is not None and own.phase == "rule" and len(own.level) > 1:
        return own.quotient
    at = Fraction(*following) if following else None
    if at is not None and any(step.quotient == at and me.key in step.level for step in steps):
        return at
    if own is not None and own.phase == "rule" and _same(steps, own.quotient)[1:]:
        return own.quotient
    return None


def _same(steps: Sequence[Step], at: Fraction) -> list[Step]:
    return [step for step in steps if step.phase == "rule" and step.quotient == at]


def _level_rows(me: Asker, people: Mapping[int, Asker], steps: Sequence[Step], at: Fraction) -> list[LevelRow]:
    """Those who stood level at a quotient, in the order it went, then those for whom nothing was left."""
    same = _same(steps, at)
    rows = [
        LevelRow(_nth(step.n), f"{step.hives} ÷ {step.divisor}", _how(step, people[step.key], me), step.key == me.key)
        for step in same
    ]
    served = {step.key for step in same}
    for key in sorted({key for step in same for key in step.level} - served, key=lambda one: people[one].drawn):
        asker = people[key]
        number = _("you, drawn %(n)d") if key == me.key else _("drawn number %(n)d")
        rows.append(
            LevelRow(_("none"), f"{asker.hives} ÷ {asker.hives / at}", number % {"n": asker.drawn}, key == me.key)
        )
    return rows


def _how(step: Step, asker: Asker, me: Asker) -> str:
    if step.settled == SHORT:
        return _("you, short last time") if step.key == me.key else _("short last time")
    if step.key == me.key:
        return _("you, drawn %(n)d") % {"n": asker.drawn}
    return _("drawn number %(n)d") % {"n": asker.drawn}


def _level_words(at: Fraction, level: Sequence[LevelRow], steps: Sequence[Step]) -> str:
    first = _same(steps, at)[0]
    left = len(steps) - first.n + 1
    return ngettext(
        "%(keepers)s keepers stood level at %(at)s, with %(left)d dose left:",
        "%(keepers)s keepers stood level at %(at)s, with %(left)d doses left:",
        left,
    ) % {"keepers": wording.spelled(len(level)), "at": _decimals(at), "left": left}


def _next_dose(me: Asker, got: int, following: tuple[int, int] | None, until: int | None, people: Any) -> list[str]:
    if following is None:
        return []
    words = [
        _("Your %(dose)s stands at %(hives)d ÷ %(divisor)d = %(at)s.")
        % {
            "dose": _nth(got + 1),
            "hives": following[0],
            "divisor": following[1],
            "at": _decimals(Fraction(*following)),
        }
    ]
    if until:
        words.append(
            ngettext("One hive dose more would be yours.", "It comes with %(n)d hive doses more.", until) % {"n": until}
        )
    sizes = {line.strips for asker in people for line in asker.lines}
    if len(sizes) == 1:
        words.append(_("More strips would take none from you."))
    return words


def _nth(number: int) -> str:
    """ "29th"."""
    return str(humanize.ordinal(number))


def _decimals(number: Fraction) -> str:
    return wording.figure(float(number), 2)
