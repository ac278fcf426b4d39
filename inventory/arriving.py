"""One lot as it is told of at the door, and what may be asked or refused about it before it is written."""

import dataclasses
import datetime as dt
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from coop import wording
from coop.command import Refused
from coop.models import Document
from inventory.amounts import amount
from inventory.models import Delivery, Lot, Material, Order, Place, Supplier
from inventory.science import arrivals

MOST_ASSAY_PPB = 1_500_000_000  # anhydrous oxalic acid is 1.40 as dihydrate; the rest leaves room for the assay's error
#: years that a best-before date may be in; outside them it is a slip
FIRST_YEAR, LAST_YEAR = 2000, 2100
G, KG = 1_000, 1_000_000


@dataclasses.dataclass(frozen=True)
class Arrival:
    """The facts of one lot. Amounts are milligrams or pieces, as the material is counted.

    `containers` are {"name", "tare_mg", "gross_mg"}; `certificate_content` is a file to keep, `certificate` one that is
    kept already.
    """

    material: Material
    supplier: Supplier
    quantity: int
    place: Place
    supplier_lot: str = ""
    grade: str = ""
    form: str = "none"
    assay_ppb: int | None = None
    best_before: dt.date | None = None
    containers: Sequence[Mapping[str, Any]] = ()
    price_cents: int = 0
    certificate: Document | None = None
    certificate_name: str = ""
    certificate_content: bytes = b""
    certificate_names_form: bool = False
    dry_strip_mg: int | None = None
    uptake_mg: int | None = None
    hold_reason: str = ""
    code: str | None = None
    note: str = ""
    delivery: Delivery | None = None
    order: Order | None = None
    confirmed: bool = False

    @property
    def is_acid(self) -> bool:
        return self.material.kind == Material.Kind.ACID

    @property
    def names_form(self) -> bool:
        return self.certificate_names_form and self.is_acid

    @property
    def known_form(self) -> str:
        """An acid lot has a form, known or unknown; nothing else has one. A certificate that came along may name it."""
        if not self.is_acid:
            return Lot.Form.NONE
        form = Lot.Form.UNKNOWN if self.form == Lot.Form.NONE else self.form
        return Lot.Form.DIHYDRATE if form == Lot.Form.UNKNOWN and self.names_form and self.certificate_content else form

    @property
    def reason_to_hold(self) -> str:
        """Why it is on hold from the start; empty when it is not."""
        if self.hold_reason.strip() or not self.material.holds_on_arrival:
            return self.hold_reason.strip()
        return _("Each new lot of %(material)s waits until somebody has looked at it and its papers.") % {
            "material": self.material.name
        }


def check(arrival: Arrival, day: dt.date) -> None:
    """Refused for what cannot be, and once, unless confirmed, for what is unlikely ("did_you_mean").

    `day` is the local day on which it came.
    """
    place, delivery = arrival.place, arrival.delivery
    if place.kind not in Place.IN_STORE or place.is_closed:
        raise Refused(_("A lot is received into a shed. Choose one that is in use."), code="place", field="place")
    if arrival.quantity <= 0:
        raise Refused(_("Say how much came in: more than nothing."), code="quantity", field="quantity")
    check_price(arrival.price_cents)
    check_assay(arrival.assay_ppb)
    check_best_before(arrival.best_before)
    if delivery is not None and delivery.supplier_id != arrival.supplier.pk:
        raise Refused(
            _("This delivery is from %(supplier)s. Begin another for what came from somebody else.")
            % {"supplier": delivery.supplier.name},
            code="delivery",
            field="supplier",
        )
    _check_containers(arrival.containers)
    doubts = [] if arrival.confirmed else _doubts(arrival, day)
    if doubts:
        facts = {name: value for _sentence, more in doubts for name, value in more.items()}
        raise Refused(" ".join(sentence for sentence, _more in doubts), code="did_you_mean", field="quantity", **facts)


def check_price(price_cents: int) -> None:
    if price_cents < 0:
        raise Refused(_("A price is zero, for a gift, or more."), code="price", field="price_cents")


def check_best_before(day: dt.date | None) -> None:
    if day is not None and not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise Refused(
            _("The year of the best-before date is not likely. Look at it again."),
            code="best_before",
            field="best_before",
        )


def check_assay(assay_ppb: int | None) -> None:
    if assay_ppb is not None and not 0 < assay_ppb <= MOST_ASSAY_PPB:
        raise Refused(
            _("An assay is a mass fraction as dihydrate, such as 0.996 or 99.6 %."), code="assay", field="assay_ppb"
        )


def _check_containers(containers: Sequence[Mapping[str, Any]]) -> None:
    names: set[str] = set()
    for number, given in enumerate(containers, start=1):
        name = name_of(given, number)
        tare, gross = given.get("tare_mg"), given.get("gross_mg")
        if name in names:
            raise Refused(
                _("Two containers are called “%(name)s”. Give each a name of its own.") % {"name": name},
                code="container",
                field="containers",
            )
        if tare is not None and gross is not None and tare > gross:
            raise Refused(
                _("Container “%(name)s” weighs less full than empty. Are tare and gross swapped?") % {"name": name},
                code="container",
                field="containers",
            )
        names.add(name)


def name_of(container: Mapping[str, Any], number: int) -> str:
    return str(container.get("name") or number).strip()


def _doubts(arrival: Arrival, day: dt.date) -> list[tuple[str, dict[str, int]]]:
    """Sentences, each with figures for programs."""
    material, is_mass = arrival.material, arrival.material.unit == "mass"
    found: list[tuple[str, dict[str, int]]] = []
    doubt = arrivals.doubt(arrival.quantity, material.least_at_once, material.most_at_once, is_mass=is_mass)
    if doubt is not None:
        found.append((_unusual(arrival, doubt), {} if doubt.meant is None else {"meant": doubt.meant}))
    if is_mass:
        total = arrivals.nets_apart(arrival.quantity, [_net(one) for one in arrival.containers])
        if total is not None:
            sentence = _("The containers hold %(total)s net, gross less tare, but %(quantity)s is written.") % {
                "total": wording.mass_g(total),
                "quantity": wording.mass_g(arrival.quantity),
            }
            found.append((sentence, {"net_mg": total}))
    if arrival.best_before is not None and arrival.best_before < day:
        sentence = _("Its best-before date, %(day)s, was past when it came: nothing of it would count.") % {
            "day": wording.day(arrival.best_before, day)
        }
        found.append((sentence, {}))
    return found


def _net(container: Mapping[str, Any]) -> int | None:
    tare, gross = container.get("tare_mg"), container.get("gross_mg")
    return None if tare is None or gross is None else int(gross) - int(tare)


def _unusual(arrival: Arrival, doubt: arrivals.Doubt) -> str:
    """ "Acid: 25 g is less than usual (from 1 000 g). Did you mean 25 kg?" """
    material = arrival.material
    words = {
        "quantity": amount(arrival.quantity, material),
        "material": material.name,
        "limit": amount(doubt.limit, material),
    }
    if doubt.is_too_much:
        said = _("%(material)s: %(quantity)s is more than usual (up to %(limit)s).") % words
    else:
        said = _("%(material)s: %(quantity)s is less than usual (from %(limit)s).") % words
    if doubt.meant is None:
        return f"{said} " + _("Is the unit right? Then confirm it.")
    unit, name = (G, "g") if doubt.is_too_much else (KG, "kg")
    meant = wording.with_unit(Decimal(doubt.meant) / unit, name)
    return f"{said} " + _("Did you mean %(meant)s? If not, confirm it.") % {"meant": meant}
