"""A material has to be ordered within a week, or should have been: told once in each supply cycle.

A cycle begins with an order that is noted or a lot that comes in: its key is that deed. An order that is on its way in
time leaves the outlook without a breach, and so without this; once it is overdue it no longer counts.

The outlook of everything is worked out once a club day, from three in the morning on, since its letters go once a day
at eight: a Pulse row keeps the other ticks of the day from doing it again. The row is finished before the notices are
written, so a crash just between costs a day: tomorrow the same keys are wanted again.
"""

import datetime as dt
from collections.abc import Iterator

from django.db.models import Max
from django.utils.translation import gettext as _

from coop import pulse, registry, wording
from coop.models import Notice, Person, the_club
from coop.notices import NoticeKind, Wanted
from inventory import outlook
from inventory import outlook_words as say
from inventory.amounts import amount
from inventory.models import Material, Movement, Order
from inventory.outlook import Outlook

PULSE = "outlook"
ARRIVALS = (Movement.Cause.RECEIVE, Movement.Cause.OPENING)


@registry.notices.register("order-by")
def order_by() -> NoticeKind:
    return NoticeKind(wanted=wanted, lines=lines, still_true=still_true, subject=subject)


def wanted(now: dt.datetime) -> Iterator[Wanted]:
    """What the outlook finds due within a week, once a club day; nothing at the other ticks."""
    with pulse.nightly(PULSE, now) as claim:
        if claim.is_mine:
            yield from due(now)


def due(now: dt.datetime) -> Iterator[Wanted]:
    """For every coordinator: each material to order within seven days, under the key of its supply cycle."""
    day = the_club().day_of(now)
    found = [one for one in outlook.for_materials(day) if one.is_due_soon(day)]
    if not found:
        return
    cycles = cycles_of([one.material.pk for one in found])
    coordinators = list(Person.objects.here().filter(role="coordinator"))
    for one in found:
        material = one.material.pk
        for person in coordinators:
            yield Wanted(
                person=person,
                key=f"order-by:{material}:{cycles.get(material, 0)}",
                due_at=now,
                facts={"material": material, "cycle": cycles.get(material, 0)},
            )


def cycles_of(materials: list[int]) -> dict[int, int]:
    """For each material the newest deed that noted an order of it or brought some of it in; two queries."""
    orders = Order.objects.filter(material__in=materials).order_by()
    found: dict[int, int] = dict(orders.values_list("material").annotate(Max("deed")))
    arrived = Movement.objects.filter(item__kind="lot", item__material__in=materials, cause__in=ARRIVALS).order_by()
    for material, deed in arrived.values_list("item__material").annotate(Max("deed")):
        found[material] = max(found.get(material, 0), deed)
    return found


def still_true(notice: Notice, now: dt.datetime) -> bool:
    """The same cycle, and still to be ordered. Each tick asks for those who are told by phone: the cycle is enough."""
    material = notice.facts["material"]
    if cycles_of([material]).get(material, 0) != notice.facts["cycle"]:
        return False
    if notice.state == Notice.State.PHONE:
        return True
    found = _outlook(notice, now)
    return found is not None and found.is_due_soon(found.today)


def lines(notice: Notice) -> str:
    found = _outlook(notice, None)
    if found is None or not found.projection.buy:
        return ""
    text = f"{headline(found)}. {say.answer(found)}."
    supplier = found.material.supplier
    if supplier is not None:
        text += "\n" + _("%(supplier)s needs %(days)s%(phone)s.") % {
            "supplier": supplier.name,
            "days": wording.counted(supplier.lead_days, "day"),
            "phone": f", {supplier.phone}" if supplier.phone else "",
        }
    for words in late_words(found):
        text += "\n" + words
    return text


def subject(notice: Notice) -> str:
    found = _outlook(notice, None)
    return headline(found) if found is not None and found.projection.buy else _("Something to order")


def headline(found: Outlook) -> str:
    """ "Order Glycerine by Fri 26 Mar: 3 packs of 1 000 g", or "now"."""
    facts = {"much": say.to_buy(found), "material": found.material.name}
    if found.order_by is None:
        return _("Order %(material)s: %(much)s") % facts
    if found.is_order_now:
        return _("Order %(material)s now: %(much)s") % facts
    facts["day"] = wording.day(found.order_by, found.today)
    return _("Order %(material)s by %(day)s: %(much)s") % facts


def late_words(found: Outlook) -> list[str]:
    """Orders that should have come and are not counted."""
    return [
        _("%(amount)s ordered for %(day)s have not come, and are not counted.")
        % {
            "amount": amount(order.quantity, found.material),
            "day": wording.day(order.expected_on, found.today),
        }
        for order in found.overdue
    ]


def _outlook(notice: Notice, now: dt.datetime | None) -> Outlook | None:
    material = Material.objects.select_related("supplier").filter(pk=notice.facts["material"]).first()
    return outlook.for_materials(the_club().today(now), [material])[0] if material else None
