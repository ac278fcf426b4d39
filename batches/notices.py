"""What the bench has to tell: a look that is due, a soak that is due to be lifted, and who must act today."""

import datetime as dt
from collections.abc import Iterator
from typing import Any

from django.urls import NoReverseMatch, reverse
from django.utils.translation import gettext as _

from batches.models import Bench, Deviation, Soak
from coop import registry, wording
from coop.models import Notice, Person
from coop.notices import SOON, NoticeKind, Wanted
from coop.today import Task, Urgency

#: the look is for 12 to 24 hours after the pour (bench judgement: common practice, no published source)
LOOK_AFTER = dt.timedelta(hours=12)


def _listeners(soak: Soak) -> list[Person]:
    """Who was at the bench and is still of the club."""
    return [one.person for one in soak.bench.presences.all() if one.person.left_at is None and one.person.is_volunteer]


def _in_the_tub() -> list[Soak]:
    return list(
        Soak.objects.in_the_tub()
        .filter(poured_at__isnull=False)
        .select_related("item", "bench__recipe", "bench__place")
        .prefetch_related("bench__presences__person", "looks")
        .order_by("id")
    )


def look_due_at(soak: Soak) -> dt.datetime | None:
    """When somebody should look into the tub; None once somebody did, or before the pour."""
    if soak.poured_at is None or soak.looks.all():
        return None
    return soak.poured_at + LOOK_AFTER


def _look_wanted(now: dt.datetime) -> Iterator[Wanted]:
    for soak in _in_the_tub():
        due = look_due_at(soak)
        if due is not None and due <= now:
            yield from _wanted(soak, "look-due", due)


def _soak_wanted(now: dt.datetime) -> Iterator[Wanted]:
    for soak in _in_the_tub():
        due = soak.lift_due_at()
        if due is not None and due <= now:
            yield from _wanted(soak, "soak-due", due)


def _wanted(soak: Soak, name: str, due: dt.datetime) -> Iterator[Wanted]:
    key = f"{name}:{soak.pk}:{due:%Y%m%dT%H%MZ}"
    facts = {"soak": soak.pk, "code": soak.item.code_id, "place": soak.bench.place.name, "due": due.isoformat()}
    for person in _listeners(soak):
        yield Wanted(person=person, key=key, due_at=due, group=key, facts=facts, urgency=SOON)


def _is_soaking(notice: Notice, now: dt.datetime) -> bool:
    return Soak.objects.in_the_tub().filter(pk=notice.facts["soak"]).exists()


def _needs_a_look(notice: Notice, now: dt.datetime) -> bool:
    return Soak.objects.in_the_tub().filter(pk=notice.facts["soak"], looks=None).exists()


def _look_lines(notice: Notice) -> str:
    return _(
        "Look into the tub %(code)s in %(place)s: are all strips covered, are there crystals?\nGoggles and gloves."
    ) % {
        "code": wording.code(notice.facts["code"]),
        "place": notice.facts["place"],
    }


def _soak_lines(notice: Notice) -> str:
    due = dt.datetime.fromisoformat(notice.facts["due"])
    return _(
        "The strips %(code)s in %(place)s are due to be lifted since %(due)s.\nGoggles and gloves; two people."
    ) % {
        "code": wording.code(notice.facts["code"]),
        "place": notice.facts["place"],
        "due": wording.moment(due),
    }


def _look_subject(notice: Notice) -> str:
    return _("Look into the tub %(code)s") % {"code": wording.code(notice.facts["code"])}


def _soak_subject(notice: Notice) -> str:
    return _("Lift the strips %(code)s") % {"code": wording.code(notice.facts["code"])}


@registry.notices.register("look-due")
def look_due() -> NoticeKind:
    return NoticeKind(_look_wanted, _look_lines, _needs_a_look, _look_subject)


@registry.notices.register("soak-due")
def soak_due() -> NoticeKind:
    return NoticeKind(_soak_wanted, _soak_lines, _is_soaking, _soak_subject)


@registry.today.register("batches")
def today(person: Person, now: dt.datetime) -> Iterator[Task]:
    """What the bench asks of this person now."""
    if person.is_releaser or person.is_coordinator:
        yield from _releases(person)
    if person.is_volunteer:
        yield from _tubs(now)
        yield from _deviations(person)
        yield from _benches(now)


def _releases(person: Person) -> Iterator[Task]:
    waiting = Soak.objects.waiting_for_release().for_list().prefetch_related("bench__presences").order_by("lifted_at")
    for soak in waiting:
        was_there = person.pk in {one.person_id for one in soak.bench.presences.all()}
        may = person.is_releaser and not was_there
        yield Task(
            Urgency.NOW if may else Urgency.INFO,
            _("Decide on %(strips)s of %(code)s")
            % {"strips": wording.counted(soak.strips), "code": soak.item.spaced_code},
            when=_("lifted %(moment)s") % {"moment": wording.moment(soak.lifted_at)},
            text="" if may else _("It waits for a releaser who was not at the bench."),
            label=_("Look at the table") if may else _("Open"),
            url=_url("batches:release" if may else "batches:soak", soak.item.code_id),
        )


def _tubs(now: dt.datetime) -> Iterator[Task]:
    for soak in _in_the_tub():
        lift, look = soak.lift_due_at(), look_due_at(soak)
        assert lift is not None
        if lift <= now:
            yield _tub_task(
                soak, Urgency.OVERDUE, _("Lift %(code)s") % {"code": soak.item.spaced_code}, lift, _("Lift")
            )
        elif look is not None and look <= now:
            title = _("Look into the tub %(code)s") % {"code": soak.item.spaced_code}
            yield _tub_task(soak, Urgency.NOW, title, look, _("Enter the look"))
        else:
            title = _("%(code)s is in the tub") % {"code": soak.item.spaced_code}
            yield _tub_task(soak, Urgency.SOON, title, lift, _("Open"), _("to be lifted %(moment)s"))


def _tub_task(soak: Soak, urgency: Urgency, title: str, when: dt.datetime, label: str, words: str = "") -> Task:
    template = words or _("since %(moment)s")
    return Task(
        urgency,
        title,
        when=template % {"moment": wording.moment(when)},
        text=_("%(strips)s in %(place)s. Goggles and gloves.")
        % {"strips": wording.counted(soak.strips), "place": soak.bench.place.name},
        label=label,
        url=_url("batches:soak", soak.item.code_id),
    )


def _deviations(person: Person) -> Iterator[Task]:
    waiting = Deviation.objects.undecided().exclude(opened__actor=person).exclude(reasoned__actor=person)
    for deviation in waiting.select_related("bench").order_by("id"):
        yield Task(
            Urgency.SOON,
            _("A deviation waits for a second person"),
            when=wording.day(deviation.bench.day),
            text=deviation.text,
            label=_("Decide"),
            url=_url("batches:bench", deviation.bench_id),
        )


def _benches(now: dt.datetime) -> Iterator[Task]:
    for bench in Bench.objects.open().select_related("recipe").order_by("day", "id"):
        is_running = bench.state == Bench.State.RUNNING
        yield Task(
            Urgency.NOW if is_running else Urgency.SOON,
            _("The bench is open") if is_running else _("A bench is planned"),
            when=wording.day(bench.day),
            text=bench.recipe.name,
            label=_("Go on") if is_running else _("Open"),
            url=_url("batches:bench", bench.pk),
            order=1,
        )


def _url(name: str, *args: Any) -> str:
    try:
        return reverse(name, args=args)
    except NoReverseMatch:
        return ""
