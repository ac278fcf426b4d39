"""A stocktake that somebody began and nobody ended, on Today."""

import datetime as dt

from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from coop import registry, wording
from coop.models import Person
from coop.today import Task, Urgency
from inventory import stocktakes
from inventory.models import Stocktake

WAITS = dt.timedelta(days=1)


@registry.today.register("inventory.stocktakes")
def open_stocktakes(person: Person, now: dt.datetime) -> list[Task]:
    """For coordinators, and for volunteers who began it or counted in it: one that stands open for more than a day."""
    if not person.is_volunteer:
        return []
    rows = Stocktake.objects.filter(state=Stocktake.State.OPEN, begun_at__lte=now - WAITS).select_related(
        "place", "begun_by__actor"
    )
    if not person.is_coordinator:
        rows = rows.filter(Q(begun_by__actor=person) | Q(counts__deed__actor=person)).distinct()
    return [_task(take, now) for take in rows]


def _task(take: Stocktake, now: dt.datetime) -> Task:
    left = len(stocktakes.read(take).left)
    text = ngettext("One thing is left to count.", "%(count)s things are left to count.", left) if left else ""
    return Task(
        urgency=Urgency.SOON,
        title=_("Go on with the stocktake of %(shed)s") % {"shed": take.place.words},
        when=_("open for %(span)s") % {"span": wording.span(now - take.begun_at)},
        text=text % {"count": left} if text else _("All is counted; it waits for its second look, or its end."),
        label=_("Go on counting"),
        url=reverse("inventory:stocktake", args=[take.pk]),
        order=45,
    )
