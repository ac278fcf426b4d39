"""What the shelf is set up with: materials, suppliers and sheds."""

from typing import Any

from django.utils.translation import gettext as _

from coop.command import Refused, command
from coop.models import Deed
from inventory.models import Material, Place, Supplier
from inventory.models.materials import Unit

MATERIAL_FIELDS = ("name", "low_level", "pack_size", "most_at_once", "supplier")
SUPPLIER_FIELDS = ("name", "address", "phone", "email", "lead_days")


@command("inventory.add_material")
def add_material(
    deed: Deed,
    *,
    name: str,
    kind: str,
    unit: str = "",
    low_level: int | None = None,
    pack_size: int | None = None,
    most_at_once: int | None = None,
    supplier: Supplier | None = None,
) -> Material:
    """A new material. Amounts are milligrams or pieces, as `unit` says; the unit follows from most kinds.

    Refused: "name_taken", "unit" where the kind is counted in the other unit.
    """
    fixed = {Material.Kind.ACID: Unit.MASS, Material.Kind.GLYCERINE: Unit.MASS, Material.Kind.STRIP: Unit.PIECES}
    right = fixed.get(Material.Kind(kind), unit or Unit.MASS)
    if unit and unit != right:
        raise Refused(
            _("Strips are counted in pieces, acid and glycerine are weighed in grams."), code="unit", field="unit"
        )
    return Material.objects.create(
        name=_free_name(Material, name),
        kind=kind,
        unit=right,
        low_level=low_level,
        pack_size=pack_size,
        most_at_once=most_at_once,
        supplier=supplier,
    )


@command("inventory.change_material")
def change_material(deed: Deed, *, material: Material, **changes: Any) -> Material:
    """Change the name, levels, pack or usual supplier of a material. Kind and unit stay: movements speak in it."""
    changed: Material = _change(material, changes, MATERIAL_FIELDS)
    return changed


@command("inventory.add_supplier")
def add_supplier(
    deed: Deed, *, name: str, address: str = "", phone: str = "", email: str = "", lead_days: int = 14
) -> Supplier:
    """Somebody to buy from, with the days from order to delivery. Refused: "name_taken"."""
    return Supplier.objects.create(
        name=_free_name(Supplier, name), address=address, phone=phone, email=email, lead_days=lead_days
    )


@command("inventory.change_supplier")
def change_supplier(deed: Deed, *, supplier: Supplier, **changes: Any) -> Supplier:
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
    if is_closed is not None:
        shed.is_closed = is_closed
    shed.save(update_fields=["name", "is_closed"])
    return shed


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
