"""What the shelf has to tell: a material fell below its level. Once per crossing, armed again above 1.2 times it."""

import datetime as dt
from collections.abc import Iterator

from django.utils.translation import gettext as _

from coop import registry, wording
from coop.models import Notice, Person, the_club
from coop.notices import NoticeKind, Wanted
from inventory import shelf
from inventory.models import Material


@registry.notices.register("stock-low")
def stock_low() -> NoticeKind:
    return NoticeKind(wanted=wanted, lines=lines, still_true=still_true, subject=subject)


def wanted(now: dt.datetime) -> Iterator[Wanted]:
    """Every coordinator hears of every material below its level, under a key that names the movement that crossed."""
    day = the_club().day_of(now)
    low = [row for row in shelf.stock(day) if row.is_low]
    if not low:
        return
    coordinators = list(Person.objects.here().filter(role="coordinator"))
    for row in low:
        crossed = shelf.crossing(row, day)
        if crossed is None:
            continue
        for person in coordinators:
            yield Wanted(
                person=person,
                key=f"stock-low:{row.material.pk}:{crossed.pk}",
                due_at=crossed.recorded_at,
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
    if row.held or row.expired:
        text += "\n" + _("Not counted: %(held)s on hold, %(expired)s past its date.") % {
            "held": amount(row.held, material),
            "expired": amount(row.expired, material),
        }
    if material.supplier:
        text += "\n" + _("%(supplier)s needs %(days)s to deliver.") % {
            "supplier": material.supplier.name,
            "days": wording.counted(material.supplier.lead_days, "day"),
        }
    return text


def subject(notice: Notice) -> str:
    row = _stock(notice, None)
    return _("Low: %(material)s") % {"material": row.material.name if row else ""}


def amount(quantity: int, material: Material) -> str:
    if material.unit == "mass":
        return wording.mass_g(quantity)
    return wording.counted(quantity, "strip" if material.kind == "strip" else "piece")


def _stock(notice: Notice, now: dt.datetime | None) -> shelf.Stock | None:
    material = Material.objects.select_related("supplier").filter(pk=notice.facts["material"]).first()
    club = the_club()
    return shelf.stock(club.today(now), [material])[0] if material else None
