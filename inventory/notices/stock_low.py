"""A material fell below its level: told once for each crossing, armed again above 1.2 times the level."""

import datetime as dt
from collections.abc import Iterator

from django.utils.translation import gettext as _

from coop import registry, wording
from coop.models import Notice, Person, the_club
from coop.notices import NoticeKind, Wanted
from inventory import shelf
from inventory.amounts import amount
from inventory.crossing import crossing
from inventory.models import Material


@registry.notices.register("stock-low")
def stock_low() -> NoticeKind:
    return NoticeKind(wanted=wanted, lines=lines, still_true=still_true, subject=subject)


def wanted(now: dt.datetime) -> Iterator[Wanted]:
    """Every coordinator hears of every material below its level, under a key that names what crossed.

    That is a movement, or a hold or an expiry: they leave less to use as well. Each tick reads what lies in sheds, and
    goes back in time only for what is low.
    """
    day = the_club().day_of(now)
    low = [row for row in shelf.stock(day) if row.is_low]
    if not low:
        return
    coordinators = list(Person.objects.here().filter(role="coordinator"))
    for row in low:
        crossed = crossing(row, day)
        if crossed is None:
            continue
        for person in coordinators:
            yield Wanted(
                person=person,
                key=f"stock-low:{row.material.pk}:{crossed.key}",
                due_at=crossed.at,
                facts={"material": row.material.pk},
            )


def still_true(notice: Notice, now: dt.datetime) -> bool:
    found = _stock(notice, now)
    return found is not None and found.is_low


def lines(notice: Notice) -> str:
    row = _stock(notice, None)
    if row is None:
        return ""
    material = row.material
    text = _("Low: %(material)s. %(usable)s can be used, the level is %(level)s.") % {
        "material": material.name,
        "usable": amount(row.usable, material),
        "level": amount(material.low_level or 0, material),
    }
    left_out = not_counted(row)
    if left_out:
        text += "\n" + _("Not counted: %(what)s.") % {"what": wording.listed(left_out)}
    if material.supplier:
        text += "\n" + _("%(supplier)s needs %(days)s to deliver.") % {
            "supplier": material.supplier.name,
            "days": wording.counted(material.supplier.lead_days, "day"),
        }
    return text


def not_counted(row: shelf.Stock) -> list[str]:
    """What lies in sheds and cannot be used, with why."""
    said = []
    if row.held:
        said.append(_("%(amount)s on hold") % {"amount": amount(row.held, row.material)})
    if row.expired:
        said.append(_("%(amount)s past its date") % {"amount": amount(row.expired, row.material)})
    if row.unusable:
        said.append(_("%(amount)s not known as the dihydrate") % {"amount": amount(row.unusable, row.material)})
    return said


def subject(notice: Notice) -> str:
    row = _stock(notice, None)
    return _("Low: %(material)s") % {"material": row.material.name if row else ""}


def _stock(notice: Notice, now: dt.datetime | None) -> shelf.Stock | None:
    material = Material.objects.select_related("supplier").filter(pk=notice.facts["material"]).first()
    club = the_club()
    return shelf.stock(club.today(now), [material])[0] if material else None
