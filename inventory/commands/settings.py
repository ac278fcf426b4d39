"""What the shelf is set up with: materials, suppliers and sheds."""

from typing import Any

from django.utils.translation import gettext as _

from coop.command import Refused, command
from coop.models import Deed
from inventory.models import Material, Place, Stocktake, Supplier
from inventory.models.materials import Unit

MATERIAL_FIELDS = (
    "name", "low_level", "pack_size", "least_at_once", "most_at_once", "per_dose", "holds_on_arrival", "supplier",
)  # fmt: skip
SUPPLIER_FIELDS = ("name", "address", "phone", "email", "lead_days", "order_weekdays")
WEEKDAYS = "1234567"


@command("inventory.add_material")
def add_material(
    deed: Deed,
    *,
    name: str,
    kind: str,
    unit: str = "",
    low_level: int | None = None,
    pack_size: int | None = None,
    least_at_once: int | None = None,
    most_at_once: int | None = None,
    per_dose: int | None = None,
    holds_on_arrival: bool = False,
    supplier: Supplier | None = None,
) -> Material:
    """A new material. Amounts are milligrams or pieces, as `unit` says; the unit follows from most kinds.

    `low_level` is the safety stock; `per_dose` is the club's own figure of what one hive dose takes. Refused:
    "name_taken", "unit" where the kind is counted in the other unit, "range" where the least is above the most.
    """
    _check_range(least_at_once, most_at_once)
    fixed = {Material.Kind.ACID: Unit.MASS, Material.Kind.GLYCERINE: Unit.MASS, Material.Kind.STRIP: Unit.PIECES}
    right = fixed.get(Material.Kind(kind), unit or Unit.MASS)
    if unit and unit != right:
        raise Refused(
            _("Strips are counted in pieces; oxalic acid dihydrate and glycerine are weighed in grams."),
            code="unit",
            field="unit",
        )
    return Material.objects.create(
        name=_free_name(Material, name),
        kind=kind,
        unit=right,
        low_level=low_level,
        pack_size=pack_size,
        least_at_once=least_at_once,
        most_at_once=most_at_once,
        per_dose=per_dose,
        holds_on_arrival=holds_on_arrival,
        supplier=supplier,
    )


@command("inventory.change_material")
def change_material(deed: Deed, *, material: Material, **changes: Any) -> Material:
    """Change the name, levels, pack or usual supplier of a material. Kind and unit stay: movements speak in it.

    Refused: "name_taken", "fixed", "range" where the least that is likely at once is above the most.
    """
    _check_range(
        changes.get("least_at_once", material.least_at_once), changes.get("most_at_once", material.most_at_once)
    )
    changed: Material = _change(material, changes, MATERIAL_FIELDS)
    return changed


@command("inventory.add_supplier")
def add_supplier(
    deed: Deed,
    *,
    name: str,
    address: str = "",
    phone: str = "",
    email: str = "",
    lead_days: int = 14,
    order_weekdays: str = "12345",
) -> Supplier:
    """Somebody to buy from, with the days from order to delivery, and the weekdays on which they take orders.

    `order_weekdays` are ISO weekdays, 1 for Monday. Refused: "name_taken", "weekdays".
    """
    return Supplier.objects.create(
        name=_free_name(Supplier, name),
        address=address,
        phone=phone,
        email=email,
        lead_days=lead_days,
        order_weekdays=_weekdays(order_weekdays),
    )


@command("inventory.change_supplier")
def change_supplier(deed: Deed, *, supplier: Supplier, **changes: Any) -> Supplier:
    """Change what is known of a supplier. Refused: "name_taken", "fixed", "weekdays"."""
    if "order_weekdays" in changes:
        changes["order_weekdays"] = _weekdays(changes["order_weekdays"])
    changed: Supplier = _change(supplier, changes, SUPPLIER_FIELDS)
    return changed


@command("inventory.add_shed")
def add_shed(deed: Deed, *, name: str) -> Place:
    """A shed or shelf to keep things in. Refused: "name_taken"."""
    name = _plain(name)
    if Place.objects.filter(kind=Place.Kind.SHED, name__iexact=name).exists():
        raise _taken(name)
    return Place.objects.create(kind=Place.Kind.SHED, name=name)


@command("inventory.change_shed")
def change_shed(deed: Deed, *, shed: Place, name: str | None = None, is_closed: bool | None = None) -> Place:
    """Rename a shed, close it or open it again. Refused: "not_empty" while something is in it, "name_taken"."""
    if shed.kind != Place.Kind.SHED:
        raise Refused(_("Only sheds are named and closed by hand."), code="place")
    if name is not None and _plain(name) != shed.name:
        others = Place.objects.filter(kind=Place.Kind.SHED, name__iexact=_plain(name)).exclude(pk=shed.pk)
        if others.exists():
            raise _taken(name)
        shed.name = _plain(name)
    if is_closed and shed.holdings.filter(quantity__gt=0).exists():
        raise Refused(
            _("There is still something in %(shed)s. Move it out or count it away first.") % {"shed": shed.name},
            code="not_empty",
            field="is_closed",
        )
    if is_closed and shed.stocktakes.filter(state=Stocktake.State.OPEN).exists():
        raise Refused(
            _("A stocktake of %(shed)s is open. End it or give it up first.") % {"shed": shed.name},
            code="stocktake",
            field="is_closed",
        )
    if is_closed is not None:
        shed.is_closed = is_closed
    shed.save(update_fields=["name", "is_closed"])
    return shed


def _check_range(least: int | None, most: int | None) -> None:
    if least is not None and most is not None and least > most:
        raise Refused(
            _("The least that is likely at once is above the most. Are the two swapped?"),
            code="range",
            field="least_at_once",
        )


def _weekdays(given: str) -> str:
    """Each day once, in order."""
    if not given or set(given) - set(WEEKDAYS):
        raise Refused(_("Say on which weekdays they take orders: at least one."), "weekdays", field="order_weekdays")
    return "".join(sorted(set(given)))


def _change(row: Any, changes: dict[str, Any], fields: tuple[str, ...]) -> Any:
    unknown = sorted(set(changes) - set(fields))
    if unknown:
        raise Refused(_("%(fields)s cannot be changed.") % {"fields": ", ".join(unknown)}, code="fixed")
    if "name" in changes and changes["name"] != row.name:
        changes["name"] = _free_name(type(row), changes["name"], but=row.pk)
    for name, value in changes.items():
        setattr(row, name, value)
    if changes:
        row.save(update_fields=list(changes))
    return row


def _plain(name: str) -> str:
    plain = " ".join(name.split())
    if not plain:
        raise Refused(_("It needs a name."), code="name", field="name")
    return plain


def _free_name(model: Any, name: str, but: int | None = None) -> str:
    plain = _plain(name)
    if model.objects.filter(name__iexact=plain).exclude(pk=but).exists():
        raise _taken(plain)
    return plain


def _taken(name: str) -> Refused:
    return Refused(_("There is a “%(name)s” already.") % {"name": name}, code="name_taken", field="name")
