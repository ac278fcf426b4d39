"""A lot comes in at the door."""

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _

from coop import wording
from coop.command import Refused, command
from coop.models import Deed, Document
from inventory import ledger
from inventory.models import Container, Hold, HoldSeed, Item, Lot, Material, Movement, Place, Supplier

MOST_ASSAY_PPB = 1_500_000_000  # anhydrous oxalic acid is 1.40 as dihydrate; the rest leaves room for the assay's error


@command("inventory.receive", gate=True)
def receive(
    deed: Deed,
    *,
    material: Material,
    supplier: Supplier,
    quantity: int,
    place: Place,
    supplier_lot: str = "",
    grade: str = "",
    form: str = "none",
    assay_ppb: int | None = None,
    best_before: dt.date | None = None,
    containers: Sequence[Mapping[str, Any]] = (),
    price_cents: int = 0,
    certificate: Document | None = None,
    certificate_names_form: bool = False,
    dry_strip_mg: int | None = None,
    uptake_mg: int | None = None,
    hold_reason: str = "",
    code: str | None = None,
    note: str = "",
    confirmed: bool = False,
) -> Item:
    """Put a bought or given lot on the shelf, under a code of its own; on hold from arrival with a `hold_reason`.

    `quantity` is milligrams or pieces, as the material is counted; `containers` are {"name", "tare_mg", "gross_mg"}.
    An acid lot whose form is unknown is kept, but cannot be weighed in later. Refused: "did_you_mean" for more than
    the material's `most_at_once` unless `confirmed`; "place", "container", "assay", "quantity", and a code's own.
    """
    _check(material, quantity, place, assay_ppb, price_cents, confirmed)
    item = ledger.new_item(
        deed,
        kind=Item.Kind.LOT,
        unit=material.unit,
        code=code,
        material=material,
        best_before=best_before,
        note=note,
    )
    lot = Lot.objects.create(
        item=item,
        supplier=supplier,
        supplier_lot=supplier_lot.strip(),
        grade=grade.strip(),
        form=form_of(material, form),
        assay_ppb=assay_ppb,
        certificate=certificate,
        certificate_names_form=certificate_names_form and material.kind == Material.Kind.ACID,
        price_cents=price_cents,
        received_quantity=quantity,
        dry_strip_mg=dry_strip_mg,
        uptake_mg=uptake_mg,
    )
    _add_containers(lot, containers, place)
    door = Place.objects.the(Place.Kind.SUPPLIER)
    ledger.post(deed, [ledger.Move(item, door, place, quantity, Movement.Cause.RECEIVE)], fact=True)
    if hold_reason.strip():
        hold = Hold.objects.create(reason=hold_reason.strip(), placed_by=deed, placed_at=deed.happened_at)
        HoldSeed.objects.create(hold=hold, item=item)
    return item


def form_of(material: Material, form: str) -> str:
    """An acid lot has a form, known or unknown; nothing else has one."""
    if material.kind != Material.Kind.ACID:
        return Lot.Form.NONE
    return Lot.Form.UNKNOWN if form == Lot.Form.NONE else form


def _check(
    material: Material, quantity: int, place: Place, assay_ppb: int | None, price_cents: int, confirmed: bool
) -> None:
    if place.kind not in Place.IN_STORE or place.is_closed:
        raise Refused(_("A lot is received into a shed. Choose one that is in use."), code="place", field="place")
    if quantity <= 0:
        raise Refused(_("Say how much came in: more than nothing."), code="quantity", field="quantity")
    if price_cents < 0:
        raise Refused(_("A price is zero, for a gift, or more."), code="price", field="price_cents")
    if assay_ppb is not None and not 0 < assay_ppb <= MOST_ASSAY_PPB:
        raise Refused(
            _("An assay is a mass fraction as dihydrate, such as 0.996 or 99.6 %."), code="assay", field="assay_ppb"
        )
    most = material.most_at_once
    if most is not None and quantity > most and not confirmed:
        raise Refused(
            _("%(quantity)s of %(material)s is more than usual (up to %(most)s). Is the unit right? Then confirm it.")
            % {
                "quantity": _amount(quantity, material),
                "material": material.name,
                "most": _amount(most, material),
            },
            code="did_you_mean",
            field="quantity",
        )


def _amount(quantity: int, material: Material) -> str:
    return wording.mass_g(quantity) if material.unit == "mass" else wording.counted(quantity, "thing")


def _add_containers(lot: Lot, containers: Sequence[Mapping[str, Any]], place: Place) -> None:
    rows: list[Container] = []
    for number, given in enumerate(containers, start=1):
        name = str(given.get("name") or number).strip()
        tare, gross = given.get("tare_mg"), given.get("gross_mg")
        if name in {row.name for row in rows}:
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
        rows.append(Container(lot=lot, name=name, tare_mg=tare, gross_mg=gross, place=place))
    Container.objects.bulk_create(rows)
