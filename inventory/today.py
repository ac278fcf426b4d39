"""What the shelf puts on somebody's Today page."""

import datetime as dt

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from coop import registry, wording
from coop.models import Person, the_club
from coop.today import Task, Urgency
from inventory import shelf
from inventory.models import Question
from inventory.notices import amount


@registry.today.register("inventory.low")
def low_stock(person: Person, now: dt.datetime) -> list[Task]:
    """For coordinators: what is below its level."""
    if not person.is_coordinator:
        return []
    return [_low(row) for row in shelf.stock(the_club().day_of(now)) if row.is_low]


def _low(row: shelf.Stock) -> Task:
    material = row.material
    rows = []
    if row.held:
        rows.append(_("%(amount)s more on hold") % {"amount": amount(row.held, material)})
    if row.expired:
        rows.append(_("%(amount)s more past its date") % {"amount": amount(row.expired, material)})
    if material.supplier:
        rows.append(
            _("%(supplier)s needs %(days)s")
            % {"supplier": material.supplier.name, "days": wording.counted(material.supplier.lead_days, "day")}
        )
    return Task(
        urgency=Urgency.OVERDUE if row.usable <= 0 else Urgency.SOON,
        title=_("Low: %(material)s, %(usable)s of %(level)s")
        % {
            "material": material.name,
            "usable": wording.mass_g(row.usable) if material.unit == "mass" else wording.figure(row.usable),
            "level": amount(material.low_level or 0, material),
        },
        rows=rows,
        label=_("Look at the lots"),
        url=reverse("inventory:material", args=[material.pk]),
        order=30,
    )


@registry.today.register("inventory.questions")
def open_questions(person: Person, now: dt.datetime) -> list[Task]:
    """For coordinators: what was kept though the book disagreed."""
    if not person.is_coordinator:
        return []
    count = Question.objects.filter(settled_by=None).count()
    if not count:
        return []
    title = ngettext("%(count)s open question about the book", "%(count)s open questions about the book", count)
    return [
        Task(
            urgency=Urgency.SOON,
            title=title % {"count": count},
            text=_("More went out than the book held, or something was used that it says could not be."),
            label=_("Settle them"),
            url=reverse("inventory:questions"),
            order=40,
        )
    ]
