"""What the shelf puts on somebody's Today page."""

import dataclasses
import datetime as dt
from collections.abc import Iterator

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from coop import codes, registry, wording
from coop.models import Person, the_club
from coop.today import Task, Urgency
from inventory import outlook, shelf
from inventory import outlook_words as say
from inventory.amounts import amount
from inventory.models import Material, Question
from inventory.notices import best_before, order_by, stock_low
from inventory.notices.best_before import Near
from inventory.outlook import Outlook

#: a lot that is so many days from its best-before day is worth a hand
EXPIRES_DAYS = 14
SHOWN = 3


@dataclasses.dataclass(frozen=True)
class Matter:
    """All there is to say about one material: one task, whatever came together."""

    found: Outlook
    stock: shelf.Stock
    expiring: list[Near]

    @property
    def material(self) -> Material:
        return self.found.material

    @property
    def is_to_order(self) -> bool:
        return self.found.is_due_soon(self.found.today)


@registry.today.register("inventory.materials")
def materials(person: Person, now: dt.datetime) -> list[Task]:
    """For coordinators: one task for each material that is to be ordered, is low, awaited too long, or expiring."""
    if not person.is_coordinator:
        return []
    return [task for matter in _matters(the_club().day_of(now)) if (task := _task(matter)) is not None]


def _matters(day: dt.date) -> Iterator[Matter]:
    rows = list(Material.objects.select_related("supplier"))
    stock = {row.material.pk: row for row in shelf.stock(day, rows)}
    expiring = best_before.near(day, EXPIRES_DAYS)
    for found in outlook.for_materials(day, rows):
        pk = found.material.pk
        yield Matter(found, stock[pk], [lot for lot in expiring if lot.material.pk == pk])


def _task(matter: Matter) -> Task | None:
    """The most pressing of what there is gives the title and the button; the rest stands in rows below it."""
    if matter.is_to_order:
        return _to_order(matter)
    if matter.stock.is_low:
        return _low(matter)
    if matter.found.overdue:
        return _late(matter)
    return _expiring(matter) if matter.expiring else None


def _to_order(matter: Matter) -> Task:
    found, stock = matter.found, matter.stock
    rows = [_("%(answer)s.") % {"answer": say.answer(found)}]
    if stock.is_low:
        rows.append(_low_words(matter))
    rows += _left_out(matter) + _late_words(matter) + _expiring_words(matter) + _supplier_words(matter)
    by = found.order_by
    is_late = by is not None and by < found.today
    urgency = Urgency.OVERDUE if is_late or (stock.is_low and stock.usable <= 0) else Urgency.SOON
    return Task(
        urgency=Urgency.NOW if urgency is Urgency.SOON and by == found.today else urgency,
        title=order_by.headline(found),
        when=wording.away(by, found.today) if by is not None and by > found.today else "",
        rows=rows,
        label=_("Note the order"),
        url=reverse("inventory:order_new", args=[matter.material.pk]),
        order=30,
        picture=say.spark(found),
    )


def _low(matter: Matter) -> Task:
    """Under its level, and nothing to order within a week: no supplier is known, or enough is on its way."""
    stock, coming = matter.stock, [one for one in matter.found.orders if one.expected_on >= matter.found.today]
    rows = _left_out(matter) + _late_words(matter) + _expiring_words(matter)
    for one in coming:
        facts = {"amount": amount(one.quantity, matter.material), "day": wording.day(one.expected_on)}
        rows.append(_("%(amount)s on order, expected %(day)s") % facts)
    return Task(
        urgency=Urgency.OVERDUE if stock.usable <= 0 else Urgency.SOON,
        title=_low_words(matter),
        rows=rows + ([] if coming else _supplier_words(matter)),
        label=_("Look at the lots"),
        url=reverse("inventory:material", args=[matter.material.pk]),
        order=30,
    )


def _late(matter: Matter) -> Task:
    first = matter.found.overdue[0]
    facts = {"amount": amount(first.quantity, matter.material), "material": matter.material.name}
    return Task(
        urgency=Urgency.OVERDUE,
        title=_("Ask after an order: %(material)s, %(amount)s") % facts,
        when=wording.away(first.expected_on, matter.found.today),
        rows=_late_words(matter) + _expiring_words(matter),
        label=_("See the order"),
        url=reverse("inventory:order", args=[first.pk]),
        order=31,
    )


def _expiring(matter: Matter) -> Task:
    first, today = matter.expiring[0], matter.found.today
    facts = {"amount": amount(first.quantity, first.material), "material": first.material.name}
    return Task(
        urgency=Urgency.SOON,
        title=_("Use first: %(material)s, %(amount)s") % facts,
        when=wording.away(first.best_before, today),
        rows=_expiring_words(matter),
        label=_("Look at the lots"),
        url=reverse("inventory:material", args=[matter.material.pk]),
        order=32,
    )


def _low_words(matter: Matter) -> str:
    stock, material = matter.stock, matter.material
    return _("Low: %(material)s, %(usable)s of %(level)s") % {
        "material": material.name,
        "usable": wording.mass_g(stock.usable) if material.unit == "mass" else wording.figure(stock.usable),
        "level": amount(material.low_level or 0, material),
    }


def _left_out(matter: Matter) -> list[str]:
    return [_("Not counted: %(what)s") % {"what": words} for words in stock_low.not_counted(matter.stock)]


def _late_words(matter: Matter) -> list[str]:
    return order_by.late_words(matter.found)


def _expiring_words(matter: Matter) -> list[str]:
    return [
        _("Lot %(code)s: %(amount)s, best before %(day)s")
        % {
            "code": codes.spaced(lot.code),
            "amount": amount(lot.quantity, lot.material),
            "day": wording.day(lot.best_before, matter.found.today),
        }
        for lot in matter.expiring[:SHOWN]
    ]


def _supplier_words(matter: Matter) -> list[str]:
    supplier = matter.material.supplier
    if supplier is None:
        return []
    days = wording.counted(supplier.lead_days, "day")
    return [_("%(supplier)s needs %(days)s") % {"supplier": supplier.name, "days": days}]


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
