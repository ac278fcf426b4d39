"""A lot nears its best-before day with something of it left: told 60 and 14 days before, each once.

A lot that comes in, or of which the date is learnt, when both are past is told once: only the latest stage is wanted.
What is on hold is not told, since nobody may use it up; nor is what is past its day, which counts as low instead.
Each tick asks one question, and a second one when something is near.
"""

import datetime as dt
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from django.db.models import Sum
from django.utils.translation import gettext as _

from coop import codes, registry, wording
from coop.models import Club, Notice, Person, the_club
from coop.notices import NoticeKind, Wanted
from inventory import holds
from inventory.amounts import amount
from inventory.models import Holding, Item, Material, Place

#: days before the day; the stages are numbered from 1 on
STAGES = (60, 14)


class Near(NamedTuple):
    """So much of a lot is in sheds, and its day is near."""

    item: int
    code: str
    material: Material
    best_before: dt.date
    quantity: int


@registry.notices.register("best-before")
def best_before() -> NoticeKind:
    return NoticeKind(wanted=wanted, lines=lines, still_true=still_true, subject=subject)


def wanted(now: dt.datetime) -> Iterator[Wanted]:
    """For every coordinator each lot that is within 60 days of its day, at the stage that is reached."""
    club = the_club()
    found = near(club.day_of(now))
    if not found:
        return
    coordinators = list(Person.objects.here().filter(role="coordinator"))
    for lot in found:
        stage, due_at = reached(lot.best_before, club, now)
        name = f"best-before:{lot.item}:{lot.best_before.isoformat()}"
        for person in coordinators:
            yield Wanted(
                person=person,
                key=f"{name}:{stage}",
                group=name,
                stage=stage,
                due_at=due_at,
                facts={"item": lot.item, "best_before": lot.best_before.isoformat()},
            )


def near(day: dt.date, within: int = STAGES[0], items: Iterable[int] | None = None) -> list[Near]:
    """Lots (or these) with something in sheds, not on hold, and so many days or fewer from their day; first to expire
    first.
    """
    last = day + dt.timedelta(days=within)
    rows = Holding.objects.filter(
        item__kind=Item.Kind.LOT,
        item__best_before__gte=day,
        item__best_before__lte=last,
        place__kind=Place.Kind.SHED,
        quantity__gt=0,
    )
    if items is not None:
        rows = rows.filter(item__in=list(items))
    sums = list(
        rows.order_by("item__best_before", "item")
        .values_list("item", "item__code_id", "item__material", "item__best_before")
        .annotate(Sum("quantity"))
    )
    if not sums:
        return []
    held = holds.held_ids()
    materials = Material.objects.in_bulk({row[2] for row in sums})
    return [
        Near(item, code, materials[material], best, int(quantity))
        for item, code, material, best, quantity in sums
        if item not in held
    ]


def reached(best_before: dt.date, club: Club, now: dt.datetime) -> tuple[int, dt.datetime]:
    """The latest stage whose day has begun by the club's clock, and when it began."""
    days = (best_before - club.day_of(now)).days
    stage = max(number for number, before in enumerate(STAGES, start=1) if days <= before)
    day = best_before - dt.timedelta(days=STAGES[stage - 1])
    return stage, dt.datetime.combine(day, dt.time(0), tzinfo=club.tz)


def still_true(notice: Notice, now: dt.datetime) -> bool:
    return _near(notice, now) is not None


def lines(notice: Notice) -> str:
    found = _near(notice, None)
    if found is None:
        return ""
    today = the_club().today()
    return _("Use first: %(material)s, lot %(code)s: %(amount)s, best before %(day)s, %(away)s.") % {
        "amount": amount(found.quantity, found.material),
        "material": found.material.name,
        "code": codes.spaced(found.code),
        "day": wording.day(found.best_before, today),
        "away": wording.away(found.best_before, today),
    }


def subject(notice: Notice) -> str:
    found = _near(notice, None)
    if found is None:
        return _("A lot is near its date")
    return _("Best before %(day)s: %(material)s") % {
        "day": wording.day(found.best_before, the_club().today()),
        "material": found.material.name,
    }


def _near(notice: Notice, now: dt.datetime | None) -> Near | None:
    """The lot while its date is the one that was told of."""
    found = near(the_club().today(now), items=[notice.facts["item"]])
    return found[0] if found and found[0].best_before.isoformat() == notice.facts["best_before"] else None
