"""What the shelf itself expects to be drawn: what was drawn on the same weekday a year ago."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator

from django.utils.translation import gettext as _

from coop import registry
from coop.models import Club, the_club
from inventory.models import Item, Movement
from inventory.outlook import SEASON, Demand

#: 52 weeks: the same weekday
A_YEAR = dt.timedelta(days=364)
USES = (Movement.Cause.WEIGH_IN, Movement.Cause.SOAK, Movement.Cause.DRAW)


@registry.demands.register("season")
def last_season(day: dt.date, until: dt.date) -> Iterator[Demand]:
    """What was weighed in, laid and drawn of each material 52 weeks before each day after this one, net of corrections.

    The outlook counts it only in months in which nothing of the material is planned or asked for.
    """
    club = the_club()
    sums: dict[tuple[dt.date, int], int] = defaultdict(int)
    for material, quantity, happened_at in _used(club, day - A_YEAR, until - A_YEAR):
        then = club.day_of(happened_at) + A_YEAR
        if day < then <= until:
            sums[then, material] += quantity
    words = _("last season's use")
    for (then, material), quantity in sorted(sums.items()):
        yield Demand(material, then, quantity, words, SEASON)


def _used(club: Club, first: dt.date, last: dt.date) -> Iterator[tuple[int, int, dt.datetime]]:
    """Material, amount and moment of each use that stands; one that was corrected keeps the moment first told."""
    start = dt.datetime.combine(first, dt.time(0), tzinfo=club.tz)
    end = dt.datetime.combine(last + dt.timedelta(days=1), dt.time(0), tzinfo=club.tz)
    # "not above nothing" says that there is none: SQLite would go through all that have none by the index, year by year
    stand = (
        Movement.objects.filter(cause__in=USES, item__material__isnull=False, reversed_by=None, happened_at__gte=start)
        .exclude(reverses__gt=0)
        .order_by()
        .values_list("item__material_id", "quantity", "happened_at", "replaces_id", "item__kind")
    )
    told = stand.filter(happened_at__lt=end).exclude(replaces__gt=0)
    rows = [row for row in (*told, *stand.filter(replaces__gt=0)) if row[4] == Item.Kind.LOT]
    found = [
        (material, quantity, at, replaces) for material, quantity, at, replaces, _kind in rows if material is not None
    ]
    first_told = _first_told({row[3] for row in found if row[3] is not None})
    for material, quantity, at, replaces in found:
        yield material, quantity, at if replaces is None else first_told[replaces]


def _first_told(movements: set[int]) -> dict[int, dt.datetime]:
    """For each movement that was replaced, when the first of its chain happened."""
    roots = {pk: pk for pk in movements}
    known: dict[int, tuple[dt.datetime, int | None]] = {}
    wanted = movements
    while wanted:
        rows = Movement.objects.filter(pk__in=wanted).values_list("pk", "happened_at", "replaces_id")
        known |= {pk: (at, replaces) for pk, at, replaces in rows}
        wanted = {replaces for pk in wanted if (replaces := known[pk][1]) is not None and replaces not in known}
    for pk in roots:
        root = pk
        while (above := known[root][1]) is not None:
            root = above
        roots[pk] = root
    return {pk: known[root][0] for pk, root in roots.items()}
