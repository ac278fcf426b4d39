"""Being told things: rooms say what should be told as of now; here it becomes one letter a day.

The database is the queue. A room registers, in coop.registry.notices, a module-level function without arguments that
gives a NoticeKind. Every tick asks each kind what is wanted on or before now and inserts it under its unique key, so a
thing is wanted once however often the tick runs. Bundling then asks whether it is still true, keeps only the latest
stage of a group, and writes one Letter a day and person at eight o'clock club time. Quiet is from 21 to 7. "soon" goes
at any time outside the quiet hours, "now" at any hour. Somebody without e-mail comes to the coordinator's Today.

Claims are conditional updates inside one short transaction with the letter: a crash leaves either the notice wanted or
the notice in a queued letter, and a rival tick makes nothing twice.
"""

import dataclasses
import datetime as dt
import logging
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from django.db import transaction
from django.db.models import Q
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.translation import ngettext

from coop import letters, registry
from coop.models import Club, Letter, Notice, Person

log = logging.getLogger("coop.notices")
State = Notice.State
DAILY, SOON, NOW = "daily", "soon", "now"
QUIET_FROM, QUIET_UNTIL, DAILY_AT = letters.QUIET_FROM, letters.QUIET_UNTIL, 8
PEOPLE_A_TICK = 60
EXPIRES = {DAILY: dt.timedelta(days=3), SOON: dt.timedelta(hours=12), NOW: dt.timedelta(days=14)}


@dataclasses.dataclass(frozen=True)
class Wanted:
    """One thing that one person should hear.

    `key` names the new thing and never comes back for an old one. Notices of one `group` replace each other: only the
    latest `stage` is told, so a group too must name the new thing (its due date, the movement that crossed). `facts`
    are JSON for the letter. `due_at`: not before this moment.
    """

    person: Person
    key: str
    due_at: dt.datetime
    group: str = ""
    stage: int = 0
    facts: dict[str, Any] = dataclasses.field(default_factory=dict)
    urgency: str = DAILY


def _always(notice: Notice, now: dt.datetime) -> bool:
    return True


@dataclasses.dataclass(frozen=True)
class NoticeKind:
    """What a room answers for one kind of notice.

    `wanted(now)`: everything due on or before now. `lines(notice)`: the text for the letter, plain, a few lines.
    `still_true(notice, now)`: asked when a letter is made, and again while it waits on the telephone list.
    `subject(notice)`: the letter's subject when it holds only this. `can_unsubscribe`: false for recalls.
    """

    wanted: Callable[[dt.datetime], Iterable[Wanted]]
    lines: Callable[[Notice], str]
    still_true: Callable[[Notice, dt.datetime], bool] = _always
    subject: Callable[[Notice], str] | None = None
    can_unsubscribe: bool = True


def kinds() -> dict[str, NoticeKind]:
    return {key: provider() for key, provider in registry.notices.items()}


def lines_of(notice: Notice) -> str:
    """The text of one notice; of a kind that is no longer known, its key."""
    provider = registry.notices.get(notice.kind)
    return str(provider().lines(notice)).strip() if provider else notice.key


def tick(now: dt.datetime) -> int:
    """Want what is due, then make letters of it. Returns how many letters were written."""
    club = Club.objects.filter(pk=1).first()
    if club is None:
        return 0
    with timezone.override(club.tz):
        known = kinds()
        want(known, now)
        return bundle(known, club, now)


def want(known: dict[str, NoticeKind], now: dt.datetime) -> None:
    """Insert what is wanted and not known yet."""
    for name, kind in known.items():
        found = _asked(name, kind, now)
        keys = {one.key for one in found}
        there = set(Notice.objects.filter(kind=name, key__in=keys).values_list("key", "person_id")) if keys else set()
        Notice.objects.bulk_create(
            [
                Notice(
                    key=one.key,
                    person=one.person,
                    kind=name,
                    group=one.group or one.key,
                    stage=one.stage,
                    facts=one.facts,
                    urgency=one.urgency,
                    due_at=one.due_at,
                )
                for one in found
                if (one.key, one.person.pk) not in there
            ],
            ignore_conflicts=True,
            batch_size=200,
        )


def _asked(name: str, kind: NoticeKind, now: dt.datetime) -> list[Wanted]:
    """What a room wants told. A room that fails must not keep another room's recall from being told."""
    try:
        return [one for one in kind.wanted(now) if one.due_at <= now and one.person.left_at is None]
    except Exception:
        log.exception("notices of the kind %s cannot be asked for", name)
        return []


def open_urgencies(club: Club, now: dt.datetime) -> set[str]:
    """What may be told at this local hour."""
    hour = now.astimezone(club.tz).hour
    found = {NOW}
    if QUIET_UNTIL <= hour < QUIET_FROM:
        found.add(SOON)
    if DAILY_AT <= hour < QUIET_FROM:
        found.add(DAILY)
    return found


def bundle(known: dict[str, NoticeKind], club: Club, now: dt.datetime) -> int:
    """Make letters of what is wanted; at most so many people a tick, so that three days' worth does not burst."""
    may = open_urgencies(club, now)
    due = Notice.objects.filter(due_at__lte=now).filter(Q(state=State.WANTED, urgency__in=may) | Q(state=State.PHONE))
    waiting: dict[Person, list[Notice]] = defaultdict(list)
    for notice in due.select_related("person").order_by("person_id", "id"):
        waiting[notice.person].append(notice)
    written = 0
    for person, found in waiting.items():
        if written >= PEOPLE_A_TICK:
            break
        written += _told(known, club, person, found, now)
    return written


def _told(known: dict[str, NoticeKind], club: Club, person: Person, found: Sequence[Notice], now: dt.datetime) -> int:
    """What cannot be said to one person must not keep a recall from the next; it waits, and is tried again."""
    try:
        return _tell(known, club, person, found, now)
    except Exception:
        log.exception("the notices of person %s cannot be written", person.pk)
        return 0


def _tell(known: dict[str, NoticeKind], club: Club, person: Person, found: Sequence[Notice], now: dt.datetime) -> int:
    """All letters of one person that may go now: the urgent one at once, and today's if it has not been written."""
    day = club.day_of(now).isoformat()
    daily_key = f"daily:{person.pk}:{day}"
    fresh = [one for one in found if one.state == State.WANTED]
    if any(one.urgency == DAILY for one in fresh) and Letter.objects.filter(key=daily_key).exists():
        fresh = [one for one in fresh if one.urgency != DAILY]
    on_the_phone = [one for one in found if one.state == State.PHONE]
    true = _still_wanted(known, person, [*fresh, *on_the_phone], now)
    to_tell = [one for one in true if one.state == State.WANTED]
    if not to_tell:
        return 0
    if not person.email:
        _settle(to_tell, State.PHONE, now)
        return 0
    urgent = [one for one in to_tell if one.urgency == NOW]
    rest = [one for one in to_tell if one.urgency != NOW]
    written = 0
    if urgent:
        written += _write(known, club, person, urgent, f"now:{urgent[-1].pk}", NOW, now)
    if any(one.urgency == DAILY for one in rest):
        written += _write(known, club, person, rest, daily_key, DAILY, now)
    elif rest:
        written += _write(known, club, person, rest, f"soon:{rest[-1].pk}", SOON, now)
    return written


def _still_wanted(
    known: dict[str, NoticeKind], person: Person, found: Sequence[Notice], now: dt.datetime
) -> list[Notice]:
    """What is still true, wanted by the person, and the latest stage of its group; the rest is dropped."""
    latest = _latest_stages(person, found)
    kept: list[Notice] = []
    gone: list[Notice] = []
    for notice in found:
        kind = known.get(notice.kind)
        is_wanted = (
            kind is not None
            and person.left_at is None
            and (person.wants_reminders or not kind.can_unsubscribe)
            and (notice.stage, notice.pk) >= latest[notice.kind, notice.group]
            and kind.still_true(notice, now)
        )
        (kept if is_wanted else gone).append(notice)
    _settle(gone, State.DROPPED, now)
    return kept


def _latest_stages(person: Person, found: Sequence[Notice]) -> dict[tuple[str, str], tuple[int, int]]:
    """For each group the latest stage among what waits; a later stage that was told already outranks all of them."""
    latest: dict[tuple[str, str], tuple[int, int]] = {}
    for notice in found:
        place = (notice.kind, notice.group)
        latest[place] = max(latest.get(place, (notice.stage, notice.pk)), (notice.stage, notice.pk))
    groups = {notice.group for notice in found}
    told = Notice.objects.filter(person=person, group__in=groups, state__in=[State.BUNDLED, State.TOLD])
    for kind, group, stage in told.values_list("kind", "group", "stage"):
        if (kind, group) in latest and stage > latest[kind, group][0]:
            latest[kind, group] = (stage, 0)
    return latest


def _settle(found: Sequence[Notice], state: str, now: dt.datetime) -> None:
    for notice in found:
        Notice.objects.filter(pk=notice.pk, state=notice.state).update(state=state, settled_at=now)


def _write(
    known: dict[str, NoticeKind],
    club: Club,
    person: Person,
    found: Sequence[Notice],
    key: str,
    urgency: str,
    now: dt.datetime,
) -> int:
    """One letter with these notices, or nothing when a rival wrote it. Letter and notices in one transaction."""
    can_unsubscribe = any(known[one.kind].can_unsubscribe for one in found)
    body = render_to_string(
        "coop/letters/notices.txt",
        {
            "person": person,
            "club": club,
            "texts": [str(known[one.kind].lines(one)).strip() for one in found],
            "unsubscribe": letters.unsubscribe_link(person) if can_unsubscribe else "",
        },
    )
    with transaction.atomic():
        letter = letters.queue(
            key=key,
            person=person,
            to=str(person.email),
            subject=_subject(known, club, found),
            body=body,
            kind=letters.REMINDER if can_unsubscribe else "notice",
            now=now,
            expires_at=now + EXPIRES[urgency],
        )
        if letter is None:
            return 0
        mine = Notice.objects.filter(pk__in=[one.pk for one in found], state=State.WANTED)
        if mine.update(state=State.BUNDLED, letter=letter, settled_at=now) != len(found):
            transaction.set_rollback(True)
            return 0
    return 1


def _subject(known: dict[str, NoticeKind], club: Club, found: Sequence[Notice]) -> str:
    first = known[found[0].kind].subject
    if len(found) == 1 and first is not None:
        return str(first(found[0]))
    count = len(found)
    return ngettext("%(club)s: one thing to know", "%(club)s: %(count)d things to know", count) % {
        "club": club.name,
        "count": count,
    }


def for_the_phone(person: Person | None = None) -> dict[Person, list[Notice]]:
    """Who is to be told by phone, and what, for the coordinator; or only what one person is to be told."""
    found: dict[Person, list[Notice]] = defaultdict(list)
    waiting = Notice.objects.filter(state=State.PHONE).select_related("person")
    if person is not None:
        waiting = waiting.filter(person=person)
    for notice in waiting.order_by("person__name", "person_id", "due_at", "id"):
        found[notice.person].append(notice)
    return dict(found)
