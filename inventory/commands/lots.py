"""What was typed about a lot is set right, with a reason; what stood there before stays on record."""

import datetime as dt
from typing import Any

from django.utils.translation import gettext as _

from coop import registry
from coop.command import Refused, command
from coop.models import Deed, the_club
from inventory import arriving
from inventory.models import Amendment, Edge, Item, Lot, Material, Question, Supplier

LOT_FIELDS = ("supplier", "supplier_lot", "grade", "form", "assay_ppb", "price_cents")
ITEM_FIELDS = ("best_before", "note")
RECEIVED_ON = "received_on"
#: a lot of which only the day is known came in at noon
NOON = dt.time(12)
Form = Lot.Form


@command("inventory.change_lot", gate=True)
def change_lot(deed: Deed, *, item: Item, reason: str, **changes: Any) -> Amendment:
    """Set right what was typed about a lot: supplier, supplier_lot, grade, form, assay_ppb, price_cents, best_before.

    A fact: acid that turns out not to be the dihydrate, or of another assay, is kept so, with a question on what was
    made of it, and strengths are computed again. The cost of what it went into follows by itself. Refused: "reason"
    without one, "same" where nothing changes, "fixed", "form", "assay", "price", "best_before"; "delivery" for
    another supplier while it belongs to a delivery.
    """
    if not reason.strip():
        raise Refused(_("Write how it is known, so that others can follow it."), code="reason", field="reason")
    lot = (
        Lot.objects.select_related("item__material", "delivery__supplier")
        .select_for_update(of=("self",))
        .get(pk=item.pk)
    )
    _check(lot, changes)
    changed = {name: value for name, value in changes.items() if _now(lot, name) != value}
    if not changed:
        raise Refused(_("That is what the book says already."), code="same")
    return amend(deed, lot, changed, reason.strip())


def amend(deed: Deed, lot: Lot, changes: dict[str, Any], reason: str) -> Amendment:
    """Write what was set right, with what stood there before, and ask about what was made of it. Needs the gate.

    The one road for a lot's facts, from its page and from a file; nothing is checked here. `received_on` is a local
    day, never later than the deed.
    """
    before = {name: _plain(_now(lot, name)) for name in changes}
    was = (lot.form, lot.assay_ppb)
    for name, value in changes.items():
        if name == RECEIVED_ON:
            lot.item.made_at = min(dt.datetime.combine(value, NOON, the_club().tz), deed.happened_at)
        else:
            setattr(lot.item if name in ITEM_FIELDS else lot, name, value)
    if lot.form != Form.DIHYDRATE:
        lot.certificate_names_form = False
    lot.save(update_fields=[*(set(changes) - {*ITEM_FIELDS, RECEIVED_ON}), "certificate_names_form"])
    lot.item.save(update_fields=[*ITEM_FIELDS, "made_at"])
    if _is_acid(lot) and was != (lot.form, lot.assay_ppb):
        ask_about_what_was_made(deed, lot, was, reason)
    return Amendment.objects.create(
        lot=lot,
        before=before,
        after={name: _plain(value) for name, value in changes.items()},
        reason=reason[:300],
        deed=deed,
        happened_at=deed.happened_at,
    )


def _check(lot: Lot, changes: dict[str, Any]) -> None:
    unknown = sorted(set(changes) - {*LOT_FIELDS, "best_before"})
    if unknown:
        raise Refused(_("%(fields)s cannot be changed.") % {"fields": ", ".join(unknown)}, code="fixed")
    for name in ("supplier_lot", "grade"):
        if name in changes:
            changes[name] = " ".join(changes[name].split())[:80]
    arriving.check_price(changes.get("price_cents", 0))
    arriving.check_assay(changes.get("assay_ppb"))
    arriving.check_best_before(changes.get("best_before"))
    if "form" in changes and (changes["form"] == Form.NONE) == _is_acid(lot):
        raise Refused(_("Oxalic acid has a form, known or unknown; nothing else has one."), code="form", field="form")
    supplier = changes.get("supplier", lot.supplier)
    if lot.delivery is not None and supplier.pk != lot.delivery.supplier_id:
        raise Refused(
            _("It came in a delivery from %(supplier)s. Set the delivery right, and its lots follow.")
            % {"supplier": lot.delivery.supplier.name},
            code="delivery",
            field="supplier",
        )


def _is_acid(lot: Lot) -> bool:
    return lot.item.material is not None and lot.item.material.kind == Material.Kind.ACID


def _now(lot: Lot, name: str) -> Any:
    if name == RECEIVED_ON:
        return the_club().day_of(lot.item.made_at)
    return getattr(lot.item if name in ITEM_FIELDS else lot, name)


def _plain(value: Any) -> Any:
    """As JSON keeps it."""
    if isinstance(value, Supplier):
        return value.pk
    return value.isoformat() if isinstance(value, dt.date) else value


def ask_about_what_was_made(deed: Deed, lot: Lot, was: tuple[str, int | None], reason: str) -> None:
    """A question on each thing that this lot went into directly: what it is made from is not what it was taken for.

    The rooms above follow up, as the bench does with strengths. Needs the gate.
    """
    if was[0] != lot.form and lot.form != Form.DIHYDRATE:
        text = _("%(code)s, which went in, is not known as the dihydrate any more: %(reason)s")
    elif was[1] != lot.assay_ppb:
        text = _("The assay of %(code)s, which went in, was set right afterwards: %(reason)s")
    else:
        return
    children = Edge.objects.filter(parent=lot.item).order_by("child_id").values_list("child_id", flat=True)
    said = (text % {"code": lot.item.spaced_code, "reason": reason})[:300]
    Question.objects.bulk_create([
        Question(item_id=child, kind=Question.Kind.PAPERS, text=said, deed=deed) for child in children
    ])  # fmt: skip
    for _name, follow in registry.lot_changes.items():
        follow(deed, lot.item)
