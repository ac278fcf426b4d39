"""Materials, suppliers and sheds: what the shelf is set up with."""

from typing import Any

from django import forms
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from coop import wording
from coop.access import COORDINATOR, VOLUNTEER, opens_to
from coop.pages.base import DeedForm
from coop.pages.form_page import filled, form_page
from coop.parts import Crumb
from coop.tables import Column, Table
from inventory.commands import settings as setting
from inventory.models import Item, Material, Place, Supplier
from inventory.models.materials import Unit
from inventory.pages.common import amount_field, crumbs

AMOUNTS = ("low_level", "pack_size", "least_at_once", "most_at_once", "per_dose")
WEEKDAYS = [
    ("1", gettext_lazy("Monday")),
    ("2", gettext_lazy("Tuesday")),
    ("3", gettext_lazy("Wednesday")),
    ("4", gettext_lazy("Thursday")),
    ("5", gettext_lazy("Friday")),
    ("6", gettext_lazy("Saturday")),
    ("7", gettext_lazy("Sunday")),
]


class NewMaterialForm(DeedForm):
    name = forms.CharField(label=gettext_lazy("Name"), max_length=120)
    kind = forms.ChoiceField(label=gettext_lazy("Kind"), choices=Material.Kind.choices)
    unit = forms.ChoiceField(
        label=gettext_lazy("Counted in"),
        choices=[("", gettext_lazy("as its kind is")), *Unit.choices],
        required=False,
        help_text=gettext_lazy("Only a material of another kind leaves a choice."),
    )
    supplier = forms.ModelChoiceField(
        Supplier.objects.all(), label=gettext_lazy("Usual supplier"), required=False, empty_label=gettext_lazy("none")
    )


class MaterialForm(DeedForm):
    name = forms.CharField(label=gettext_lazy("Name"), max_length=120)
    supplier = forms.ModelChoiceField(
        Supplier.objects.all(), label=gettext_lazy("Usual supplier"), required=False, empty_label=gettext_lazy("none")
    )

    def __init__(self, *args: Any, material: Material, **kwargs: Any) -> None:
        shown = {name: _plain(getattr(material, name), material) for name in AMOUNTS}
        known = {name: getattr(material, name) for name in ("name", "supplier", "holds_on_arrival")}
        kwargs["initial"] = {**known, **shown}
        super().__init__(*args, **kwargs)
        self._ask_amount(
            material,
            "low_level",
            _("Safety stock"),
            _("Under this the coordinators are told. What is on hold or past its date does not count."),
            least=0,
        )
        self._ask_amount(material, "pack_size", _("Pack size"), _("What one pack of the usual supplier holds."))
        self._ask_amount(material, "least_at_once", _("Less than this at once is questioned"), "")
        self._ask_amount(
            material,
            "most_at_once",
            _("More than this at once is questioned"),
            _("Against a slip of the unit at the door: what comes in at once is between the two, or is asked about."),
        )
        self._ask_amount(
            material,
            "per_dose",
            _("What one hive dose takes of it"),
            _("The club's own figure, for the outlook where nothing is planned yet. None is built in."),
        )
        self.fields["holds_on_arrival"] = forms.BooleanField(
            label=_("Every new lot is put on hold on arrival"),
            required=False,
            help_text=_("It waits until somebody has looked at it and its papers, and lifts the hold."),
        )

    def _ask_amount(self, material: Material, name: str, label: str, help_text: str, least: int = 1) -> None:
        self.fields[name] = amount_field(material.unit, label=label, required=False, least=least, help_text=help_text)


def _plain(quantity: int | None, material: Material) -> str:
    """An amount as somebody would type it."""
    if quantity is None:
        return ""
    return f"{quantity / 1000:.10g}" if material.unit == "mass" else str(quantity)


class SupplierForm(DeedForm):
    name = forms.CharField(label=gettext_lazy("Name"), max_length=120)
    address = forms.CharField(label=gettext_lazy("Address"), max_length=200, required=False)
    phone = forms.CharField(label=gettext_lazy("Phone"), max_length=40, required=False)
    email = forms.EmailField(label=gettext_lazy("E-mail"), required=False)
    lead_days = forms.IntegerField(
        label=gettext_lazy("Days from order to delivery"), min_value=0, max_value=365, initial=14
    )
    order_weekdays = forms.MultipleChoiceField(
        label=gettext_lazy("Takes orders on"),
        choices=WEEKDAYS,
        initial=list("12345"),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": gettext_lazy("Tick at least one day.")},
    )

    def clean_order_weekdays(self) -> str:
        return "".join(sorted(self.cleaned_data["order_weekdays"]))


class NewShedForm(DeedForm):
    name = forms.CharField(label=gettext_lazy("Name of the shed or shelf"), max_length=120)


class ShedForm(NewShedForm):
    is_closed = forms.BooleanField(label=gettext_lazy("It is no longer used"), required=False)


SUPPLIERS = Table(
    "suppliers",
    columns=(
        Column(
            "name",
            gettext_lazy("Supplier"),
            "name",
            sort="name",
            link=lambda row: reverse("inventory:supplier", args=[row.pk]),
            strong=True,
        ),
        Column("phone", gettext_lazy("Phone"), "phone"),
        Column("email", gettext_lazy("E-mail"), "email", sort="email"),
        Column("lead", gettext_lazy("Days to deliver"), "lead_days", "number", sort="lead_days"),
        Column("lots", gettext_lazy("Lots"), "lot_count", "number", sort="lot_count"),
    ),
    search=("name", "email", "address"),
    order="name",
    caption=gettext_lazy("Suppliers"),
)
SHEDS = Table(
    "sheds",
    columns=(
        Column(
            "name",
            gettext_lazy("Shed"),
            "words",
            sort="name",
            link=lambda row: reverse("inventory:shed", args=[row.pk]),
            strong=True,
        ),
        Column("things", gettext_lazy("Things in it"), "thing_count", "number", sort="thing_count"),
        Column(
            "state",
            gettext_lazy("State"),
            lambda row: ("waits", _("closed")) if row.is_closed else ("fine", _("in use")),
            "state",
        ),
    ),
    order="name",
    caption=gettext_lazy("Sheds"),
)
THEIR_LOTS = Table(
    "their-lots",
    columns=(
        Column(
            "code",
            gettext_lazy("Lot"),
            "code_id",
            "code",
            sort="code",
            link=lambda row: reverse("inventory:lot", args=[row.code_id]),
        ),
        Column("material", gettext_lazy("Material"), "material.name", sort="material__name"),
        Column("their", gettext_lazy("Their lot"), "lot.supplier_lot", sort="lot__supplier_lot"),
        Column("came", gettext_lazy("Received"), "made_at", "date", sort="made_at"),
        Column("best", gettext_lazy("Best before"), "best_before", "date", sort="best_before"),
        Column("price", gettext_lazy("Price"), "lot.price_cents", "money", sort="lot__price_cents"),
    ),
    search=("code__text", "material__name", "lot__supplier_lot"),
    order="-came",
    caption=gettext_lazy("Lots from this supplier"),
    nothing=gettext_lazy("Nothing came from them yet."),
)


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def add_material(request: HttpRequest) -> HttpResponse:
    return form_page(
        request,
        filled(request, NewMaterialForm),
        setting.add_material,
        title=_("Add a material"),
        lead=_("Oxalic acid dihydrate, glycerine and strip blanks; and whatever else the club keeps by lots."),
        word=_("Add the material"),
        back=reverse("shelf"),
        done=_("Added. Set its safety stock and pack size now."),
        crumbs=crumbs(),
        go_to=lambda material: reverse("inventory:material_change", args=[material.pk]),
    )


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def change_material(request: HttpRequest, pk: int) -> HttpResponse:
    material = get_object_or_404(Material, pk=pk)
    back = reverse("inventory:material", args=[pk])
    return form_page(
        request,
        filled(request, MaterialForm, material=material),
        setting.change_material,
        title=_("Change %(name)s") % {"name": material.name},
        word=_("Keep the change"),
        back=back,
        done=_("Changed."),
        crumbs=crumbs(Crumb(material.name, back)),
        material=material,
    )


@opens_to(VOLUNTEER)
@require_safe
def suppliers(request: HttpRequest) -> HttpResponse:
    table = SUPPLIERS.from_request(request, Supplier.objects.annotate(lot_count=Count("lots")))
    return table.file() or render(request, "inventory/suppliers.html", {"table": table, "crumbs": crumbs()})


@opens_to(VOLUNTEER)
@require_safe
def supplier(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(Supplier, pk=pk)
    days = dict(WEEKDAYS)
    lots = Item.objects.lots().filter(lot__supplier=row).select_related("lot", "material")
    table = THEIR_LOTS.from_request(request, lots)
    known = {
        "supplier": row,
        "takes_orders": wording.listed(days[day] for day in row.order_weekdays),
        "table": table,
        "crumbs": crumbs(Crumb(_("Suppliers"), reverse("inventory:suppliers"))),
    }
    return table.file() or render(request, "inventory/supplier.html", known)


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def add_supplier(request: HttpRequest) -> HttpResponse:
    return form_page(
        request,
        filled(request, SupplierForm),
        setting.add_supplier,
        title=_("Add a supplier"),
        word=_("Add the supplier"),
        back=reverse("inventory:suppliers"),
        done=_("Added."),
        crumbs=crumbs(Crumb(_("Suppliers"), reverse("inventory:suppliers"))),
    )


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def change_supplier(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(Supplier, pk=pk)
    back = reverse("inventory:supplier", args=[pk])
    return form_page(
        request,
        filled(request, SupplierForm, initial=_known(row)),
        setting.change_supplier,
        title=_("Change %(name)s") % {"name": row.name},
        word=_("Keep the change"),
        back=back,
        done=_("Changed."),
        crumbs=crumbs(Crumb(row.name, back)),
        supplier=row,
    )


def _known(row: Supplier) -> dict[str, Any]:
    known = {name: getattr(row, name) for name in setting.SUPPLIER_FIELDS}
    return {**known, "order_weekdays": list(row.order_weekdays)}


@opens_to(VOLUNTEER)
@require_safe
def sheds(request: HttpRequest) -> HttpResponse:
    filled_ones = Count("holdings", filter=Q(holdings__quantity__gt=0))
    rows = Place.objects.filter(kind__in=Place.IN_STORE).annotate(thing_count=filled_ones)
    table = SHEDS.from_request(request, rows)
    return table.file() or render(request, "inventory/sheds.html", {"table": table, "crumbs": crumbs()})


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def add_shed(request: HttpRequest) -> HttpResponse:
    return form_page(
        request,
        filled(request, NewShedForm),
        setting.add_shed,
        title=_("Add a shed"),
        lead=_("A shed, a cupboard, a shelf: wherever something is kept and counted."),
        word=_("Add the shed"),
        back=reverse("inventory:sheds"),
        done=_("Added."),
        crumbs=crumbs(Crumb(_("Sheds"), reverse("inventory:sheds"))),
    )


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def change_shed(request: HttpRequest, pk: int) -> HttpResponse:
    shed = get_object_or_404(Place, pk=pk, kind=Place.Kind.SHED)
    return form_page(
        request,
        filled(request, ShedForm, initial={"name": shed.name, "is_closed": shed.is_closed}),
        setting.change_shed,
        title=_("Change %(name)s") % {"name": shed.name},
        word=_("Keep the change"),
        back=reverse("inventory:shed", args=[pk]),
        done=_("Changed."),
        crumbs=crumbs(Crumb(_("Sheds"), reverse("inventory:sheds"))),
        shed=shed,
    )
