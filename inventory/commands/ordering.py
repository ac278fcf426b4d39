"""What is ordered from a supplier, and how an order ends. An order moves nothing: the lots do when they come in."""

import datetime as dt

from django.utils.translation import gettext as _

from coop import wording
from coop.command import Refused, command
from coop.models import Deed, the_club
from inventory.amounts import amount
from inventory.models import Material, Order, Supplier
from inventory.science import arrivals

NOTE_LENGTH = 300
#: so much of an order may be missing and it has arrived all the same
REST_PERCENT = 5
FIRST_YEAR, LAST_YEAR = 2000, 2100


@command("inventory.order")
def order(
    deed: Deed,
    *,
    material: Material,
    quantity: int,
    supplier: Supplier | None = None,
    ordered_on: dt.date | None = None,
    expected_on: dt.date | None = None,
    note: str = "",
    confirmed: bool = False,
) -> Order:
    """Note that so much of a material (milligrams or pieces, as it is counted) was ordered.

    Without more it is from the material's usual supplier, today, and expected after the supplier's days; where nobody
    delivers, `expected_on` has to be said. Refused: "quantity", "ordered_on" for a day to come, "expected_on" for one
    before it was ordered, and "did_you_mean", once, for what is not a whole number of packs, or, where there are no
    packs, outside what comes in at once.
    """
    supplier = supplier or material.supplier
    ordered_on = ordered_on or the_club().day_of(deed.happened_at)
    _check_amount(material, quantity, confirmed)
    return Order.objects.create(
        material=material,
        supplier=supplier,
        quantity=quantity,
        ordered_on=_ordered(ordered_on),
        expected_on=_expected(ordered_on, expected_on, supplier),
        note=note.strip(),
        deed=deed,
    )


@command("inventory.expect_order")
def expect_order(deed: Deed, *, order: Order, expected_on: dt.date) -> Order:
    """The supplier says another day. Refused: "ended_already", and "expected_on" for a day that is past."""
    if expected_on < the_club().day_of(deed.recorded_at):
        raise Refused(
            _("That day is past. Say when it is to come, or that it came."), code="expected_on", field="expected_on"
        )
    _within_reason(expected_on, "expected_on")
    if not Order.objects.open().filter(pk=order.pk).update(expected_on=expected_on):
        raise _ended_already(order)
    return Order.objects.get(pk=order.pk)


@command("inventory.end_order")
def end_order(deed: Deed, *, order: Order, outcome: str, note: str = "") -> Order:
    """An order came in without a delivery noted here ("arrived"), or was called off ("cancelled"); once.

    Refused: "ended_already", "outcome", and "note" for one that is too long beside the order's own.
    """
    if outcome not in Order.Outcome.values:
        raise Refused(_("Say whether it arrived or was cancelled."), code="outcome", field="outcome")
    return close(deed, order, outcome, note)


def close(deed: Deed, order: Order, outcome: str, note: str = "") -> Order:
    """End an order within a deed of another command, such as a delivery. Refused: "ended_already".

    A conditional update: of two who end it at once, one is refused.
    """
    changes: dict[str, object] = {"outcome": outcome, "ended_by": deed}
    note = note.strip()
    if note:
        joined = f"{order.note} · {note}" if order.note else note
        if len(joined) > NOTE_LENGTH:
            raise Refused(
                _("With what is noted already that is %(count)s letters too long.")
                % {"count": wording.figure(len(joined) - NOTE_LENGTH)},
                code="note",
                field="note",
            )
        changes["note"] = joined
    if not Order.objects.open().filter(pk=order.pk).update(**changes):
        raise _ended_already(order)
    return Order.objects.get(pk=order.pk)


def arrived(deed: Deed, order: Order, quantity: int) -> bool:
    """So much of an order came, within a deed of another command; False when another deed ended it before.

    What has not come yet becomes an order of its own, made by this deed: two lots of a delivery may be of one order.
    A rest within a container's give and take is none.
    """
    is_ended = Order.objects.open().filter(pk=order.pk).update(outcome=Order.Outcome.ARRIVED, ended_by=deed) == 1
    if not is_ended and not Order.objects.filter(pk=order.pk, ended_by=deed).exists():
        return False
    same = {"material": order.material, "supplier": order.supplier, "ordered_on": order.ordered_on}
    rest = Order.objects.filter(deed=deed, **same).first()
    left = (rest.quantity if rest else order.quantity) - quantity
    if left * 100 <= order.quantity * REST_PERCENT:
        if rest is not None:
            rest.delete()
        return True
    if rest is None:
        day = the_club().day_of(deed.happened_at)
        note = _("the rest of what was ordered on %(day)s") % {"day": wording.day(order.ordered_on, day)}
        rest = Order(**same, expected_on=max(order.expected_on, day), note=note[:NOTE_LENGTH], deed=deed)
    rest.quantity = left
    rest.save()
    return True


def _check_amount(material: Material, quantity: int, confirmed: bool) -> None:
    if quantity <= 0:
        raise Refused(_("Say how much was ordered: more than nothing."), code="quantity", field="quantity")
    pack = material.pack_size
    if confirmed:
        return
    if pack is None:
        _check_range(material, quantity)
    elif quantity % pack:
        raise _no_packs(material, quantity, pack)


def _no_packs(material: Material, quantity: int, pack: int) -> Refused:
    return Refused(
        _("%(quantity)s is not a whole number of packs of %(pack)s. Is the unit right? Then confirm it.")
        % {"quantity": amount(quantity, material), "pack": amount(pack, material)},
        code="did_you_mean",
        field="quantity",
    )


def _check_range(material: Material, quantity: int) -> None:
    """A slip of the unit shows only in the range where nobody knows a pack."""
    least, most = material.least_at_once, material.most_at_once
    doubt = arrivals.doubt(quantity, least, most, is_mass=material.unit == "mass")
    if doubt is None:
        return
    said = _("%(quantity)s is more than usual (up to %(limit)s). Is the unit right? Then confirm it.")
    if not doubt.is_too_much:
        said = _("%(quantity)s is less than usual (from %(limit)s). Is the unit right? Then confirm it.")
    raise Refused(
        said % {"quantity": amount(quantity, material), "limit": amount(doubt.limit, material)},
        code="did_you_mean",
        field="quantity",
    )


def _ordered(day: dt.date) -> dt.date:
    if day > the_club().today():
        raise Refused(_("That day is still to come. Note an order once it is made."), code="ordered_on",
                      field="ordered_on")  # fmt: skip
    return _within_reason(day, "ordered_on")


def _expected(ordered_on: dt.date, expected_on: dt.date | None, supplier: Supplier | None) -> dt.date:
    if expected_on is None:
        if supplier is None:
            raise Refused(
                _("No supplier is known for it. Say when it is expected."), code="expected_on", field="expected_on"
            )
        return ordered_on + dt.timedelta(days=supplier.lead_days)
    if expected_on < ordered_on:
        raise Refused(
            _("It cannot be expected before it was ordered, on %(day)s.") % {"day": wording.day(ordered_on)},
            code="expected_on",
            field="expected_on",
        )
    return _within_reason(expected_on, "expected_on")


def _within_reason(day: dt.date, field: str) -> dt.date:
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise Refused(_("That year does not fit here. Look at the day again."), code=field, field=field)
    return day


def _ended_already(order: Order) -> Refused:
    now = Order.objects.select_related("ended_by").get(pk=order.pk)
    day = wording.day(the_club().day_of(now.ended_by.recorded_at)) if now.ended_by else wording.NOTHING
    return Refused(
        _("That order ended already, on %(day)s: %(outcome)s. Nothing was changed.")
        % {"day": day, "outcome": now.get_outcome_display()},
        code="ended_already",
    )
