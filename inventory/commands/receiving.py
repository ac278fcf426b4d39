"""What comes in at the door: one lot, or a delivery of several."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _

from coop import wording
from coop.command import Refused, command
from coop.models import Deed, the_club
from inventory import arriving, ledger
from inventory.arriving import Arrival
from inventory.commands import ordering, papers
from inventory.models import (
    Container,
    Delivery,
    Hold,
    HoldSeed,
    Item,
    Lot,
    Material,
    Movement,
    Order,
    Place,
    Supplier,
)

#: what a lot of a delivery does not say for itself
OF_DELIVERY = ("supplier", "delivery", "certificate")
MOST_LOTS = 50


@command("inventory.receive", gate=True)
def receive(deed: Deed, *, material: Material, supplier: Supplier, quantity: int, place: Place, **facts: Any) -> Item:
    """Put a bought or given lot on the shelf, under a code of its own. `facts` are the others of an `Arrival`.

    It is on hold from arrival with a `hold_reason`, or where its material `holds_on_arrival`. An acid lot whose form is
    unknown is kept, but no plan takes it. `certificate_content` is kept as its certificate; `delivery` is what it came
    with; `order` has arrived with it. Refused: "did_you_mean" for an amount outside the material's range, or one that
    its containers do not hold, unless `confirmed`; "place", "container", "assay", "best_before", "quantity", "price",
    "document", "delivery", "order", and a code's own.
    """
    return _receive(deed, Arrival(material, supplier, quantity, place, **facts))


@command("inventory.open_delivery")
def open_delivery(
    deed: Deed, *, supplier: Supplier, paper_number: str = "", note: str = "", confirmed: bool = False
) -> Delivery:
    """Begin a delivery: what came from one supplier at once, under one delivery note. Lots are added one by one.

    Refused: "did_you_mean" unless `confirmed` when a note of this number came from them before.
    """
    return _open(deed, supplier, paper_number, note, confirmed)


@command("inventory.receive_delivery", gate=True)
def receive_delivery(
    deed: Deed,
    *,
    supplier: Supplier,
    lots: Sequence[Mapping[str, Any]],
    paper_number: str = "",
    note: str = "",
    confirmed: bool = False,
) -> Delivery:
    """A whole delivery in one deed: all of its lots, or nothing. Each of `lots` holds the facts of an `Arrival`.

    Refused as `receive` and `open_delivery` are, with the number of the lot before the sentence; "lots" for none.
    """
    if not 0 < len(lots) <= MOST_LOTS:
        raise Refused(_("A delivery has 1 to %(most)d lots.") % {"most": MOST_LOTS}, code="lots", field="lots")
    delivery = _open(deed, supplier, paper_number, note, confirmed)
    for number, facts in enumerate(lots, start=1):
        own = {name: value for name, value in facts.items() if name not in OF_DELIVERY}
        own["confirmed"] = confirmed or bool(own.get("confirmed"))
        try:
            _receive(deed, Arrival(**own, supplier=supplier, delivery=delivery))
        except Refused as refusal:
            raise Refused(
                _("Lot %(number)d: %(sentence)s") % {"number": number, "sentence": refusal.sentence},
                code=refusal.code,
                **{**refusal.facts, "field": "lots", "lot": number},
            ) from refusal
    return delivery


@command("inventory.change_delivery")
def change_delivery(
    deed: Deed, *, delivery: Delivery, supplier: Supplier, paper_number: str = "", note: str = ""
) -> Delivery:
    """Set right what was typed about a delivery. Another supplier goes for each of its lots as well."""
    delivery.supplier, delivery.paper_number, delivery.note = supplier, _plain(paper_number, 80), _plain(note, 300)
    delivery.save(update_fields=["supplier", "paper_number", "note"])
    delivery.lots.update(supplier=supplier)
    return delivery


def _open(deed: Deed, supplier: Supplier, paper_number: str, note: str, confirmed: bool) -> Delivery:
    number = _plain(paper_number, 80)
    before = Delivery.objects.filter(supplier=supplier, paper_number__iexact=number).first() if number else None
    if before is not None and not confirmed:
        raise Refused(
            _("Note %(number)s came from %(supplier)s before, on %(day)s. Is this another delivery? Then confirm it.")
            % {"number": number, "supplier": supplier.name, "day": wording.day(before.arrived_at)},
            code="did_you_mean",
            field="paper_number",
            delivery=before.pk,
        )
    return Delivery.objects.create(
        supplier=supplier, paper_number=number, note=_plain(note, 300), arrived_at=deed.happened_at, deed=deed
    )


def _plain(text: str, most: int) -> str:
    return " ".join(text.split())[:most]


def _receive(deed: Deed, arrival: Arrival) -> Item:
    arriving.check(arrival, the_club().day_of(deed.happened_at))
    certificate = arrival.certificate
    if arrival.certificate_content:
        certificate = papers.keep(deed, arrival.certificate_name, arrival.certificate_content, field="certificate")
    item = ledger.new_item(
        deed,
        kind=Item.Kind.LOT,
        unit=arrival.material.unit,
        code=arrival.code,
        material=arrival.material,
        best_before=arrival.best_before,
        note=arrival.note,
    )
    lot = Lot.objects.create(
        item=item,
        supplier=arrival.supplier,
        delivery=arrival.delivery,
        supplier_lot=arrival.supplier_lot.strip(),
        grade=arrival.grade.strip(),
        form=arrival.known_form,
        assay_ppb=arrival.assay_ppb,
        certificate=certificate,
        certificate_names_form=arrival.names_form,
        price_cents=arrival.price_cents,
        received_quantity=arrival.quantity,
        dry_strip_mg=arrival.dry_strip_mg,
        uptake_mg=arrival.uptake_mg,
    )
    _add_containers(lot, arrival)
    door = Place.objects.the(Place.Kind.SUPPLIER)
    ledger.post(deed, [ledger.Move(item, door, arrival.place, arrival.quantity, Movement.Cause.RECEIVE)], fact=True)
    _hold(deed, item, arrival.reason_to_hold)
    if arrival.order is not None:
        _end(deed, arrival.order, arrival)
    return item


def _add_containers(lot: Lot, arrival: Arrival) -> None:
    Container.objects.bulk_create([
        Container(
            lot=lot,
            name=arriving.name_of(given, number),
            tare_mg=given.get("tare_mg"),
            gross_mg=given.get("gross_mg"),
            place=arrival.place,
        )
        for number, given in enumerate(arrival.containers, start=1)
    ])  # fmt: skip


def _hold(deed: Deed, item: Item, reason: str) -> None:
    if reason:
        hold = Hold.objects.create(reason=reason[:300], placed_by=deed, placed_at=deed.happened_at)
        HoldSeed.objects.create(hold=hold, item=item)


def _end(deed: Deed, order: Order, arrival: Arrival) -> None:
    """The order has arrived, with one lot or two of a delivery; what is still to come is an order of its own."""
    is_other = order.material_id != arrival.material.pk or order.supplier_id not in (None, arrival.supplier.pk)
    if is_other:
        raise Refused(_("That order is for something else, or from somebody else."), code="order", field="order")
    if not ordering.arrived(deed, order, arrival.quantity):
        raise Refused(
            _("That order arrived already, or was cancelled. Receive the lot without it."), code="order", field="order"
        )
