"""Today: what needs doing now, for whoever is signed in. Every room adds its rows; nothing else is on the page."""

import datetime as dt

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_safe

from coop import pulse, registry, wording
from coop.access import MEMBER, opens_to
from coop.models import Person, the_club
from coop.parts import QuietLine
from coop.today import Task, Urgency
from inventory.models import Hold, Item

URGENT = (Urgency.STOP, Urgency.OVERDUE)


def tasks_for(person: Person, now: dt.datetime) -> list[Task]:
    """Every room's rows for one person, the most urgent first."""
    rows = [task for _name, ask in registry.today.items() for task in ask(person, now)]
    if person.is_coordinator and not Item.objects.exists():
        rows.append(_begin())
    return sorted(rows, key=lambda task: task.sort_key)


def _begin() -> Task:
    """What an empty book is for, and the one thing to do first."""
    return Task(
        urgency=Urgency.NOW,
        title=_("Receive the first lot"),
        text=_("The book is empty. It begins with the first sack that comes in at the door."),
        label=_("Receive a lot"),
        url=reverse("inventory:receive_choose"),
    )


@opens_to(MEMBER)
@require_safe
def today_page(request: HttpRequest) -> HttpResponse:
    person, now = request.user, timezone.now()
    assert isinstance(person, Person)
    tasks = tasks_for(person, now)
    known = {
        "title": wording.long_day(the_club().day_of(now)),
        "lead": headline(tasks),
        "deeds": [task.margin for task in tasks],
        "quiet": quiet_lines(person, now),
        "place": "today",
    }
    return render(request, "site/today.html", known)


def headline(tasks: list[Task]) -> str:
    """ "Five things need a hand. The first cannot wait." """
    count = len(tasks)
    if not count:
        return _("Nothing needs a hand today.")
    text = ngettext("%(count)s thing needs a hand.", "%(count)s things need a hand.", count)
    said = text % {"count": wording.spelled(count)}
    return f"{said} {_('The first cannot wait.')}" if tasks[0].urgency in URGENT else said


def quiet_lines(person: Person, now: dt.datetime) -> list[QuietLine]:
    """What is in order, or at least known, for those who look after it."""
    if not person.is_volunteer:
        return []
    lines = []
    if person.is_coordinator:
        last = pulse.last_ran()
        if last is None:
            lines.append(QuietLine("soon", _("The sender of letters has not run yet")))
        else:
            words = wording.span(max(now - last, dt.timedelta()))
            shape = "fine" if pulse.is_sender_alive(now) else "overdue"
            lines.append(QuietLine(shape, _("The sender ran %(span)s ago") % {"span": words}))
    return [*lines, _holds_line()]


def _holds_line() -> QuietLine:
    active = Hold.objects.active()
    count = active.count()
    if not count:
        return QuietLine("fine", _("Nothing is on hold"))
    first = active[0]
    text = ngettext(
        "%(count)s hold stands, the last since %(since)s:", "%(count)s holds stand, the last since %(since)s:", count
    )
    return QuietLine(
        "hold",
        text % {"count": count, "since": wording.moment(first.placed_at)},
        first.reason,
        reverse("trace:hold", args=[first.pk]),
    )
