"""Deliveries: begun at the door, filled lot by lot, each safe as soon as it is entered."""

import datetime as dt
from typing import Any

from django import forms
from django.contrib import messages
from django.db.models import BooleanField, Case, Count, Prefetch, Value, When
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from coop import wording
from coop.access import COORDINATOR, VOLUNTEER, opens_to
from coop.pages.base import DeedForm, carry_out
from coop.pages.fields import MomentField
from coop.pages.form_page import filled, form_page
from coop.parts import Crumb
from coop.tables import Column, Table
from inventory import holds
from inventory.amounts import amount
from inventory.commands import receiving
from inventory.models import Delivery, Item, Material, Movement, Order, Place, Supplier
from inventory.pages.common import crumbs, pair

#: a delivery begun so long ago is still offered to carry on with
CARRY_ON = dt.timedelta(days=3)


class BeginForm(DeedForm):
    supplier = forms.ModelChoiceField(Supplier.objects.all(), label=gettext_lazy("Who is it from?"))
    paper_number = forms.CharField(label=gettext_lazy("Number of the delivery note"), max_length=80, required=False)
    note = forms.CharField(label=gettext_lazy("Note"), max_length=300, required=False)
    confirmed = forms.BooleanField(
        label=gettext_lazy("It is another delivery"), required=False, widget=forms.HiddenInput
    )
    happened_at = MomentField()  # type: ignore[assignment]


class ChangeForm(DeedForm):
    supplier = forms.ModelChoiceField(
        Supplier.objects.all(),
        label=gettext_lazy("Supplier"),
        help_text=gettext_lazy("It is set for each lot of the delivery as well."),
    )
    paper_number = forms.CharField(label=gettext_lazy("Number of the delivery note"), max_length=80, required=False)
    note = forms.CharField(label=gettext_lazy("Note"), max_length=300, required=False)


def url_of(row: Delivery) -> str:
    return reverse("inventory:delivery", args=[row.pk])


DELIVERIES = Table(
    "deliveries",
    columns=(
        Column("arrived", gettext_lazy("Arrived"), "arrived_at", "moment", sort="arrived_at", link=url_of, strong=True),
        Column("supplier", gettext_lazy("From"), "supplier.name", sort="supplier__name"),
        Column("number", gettext_lazy("Delivery note"), "paper_number", sort="paper_number"),
        Column("lots", gettext_lazy("Lots"), "lot_count", "number", sort="lot_count"),
        Column("note", gettext_lazy("Note"), "note"),
    ),
    search=("supplier__name", "paper_number", "note"),
    order="-arrived",
    caption=gettext_lazy("Deliveries"),
)


def _where(row: Item) -> str:
    return wording.listed(dict.fromkeys(one.target.words for one in row.movements.all()))


CAME = Table(
    "delivery",
    columns=(
        Column(
            "code",
            gettext_lazy("Lot"),
            "code_id",
            "code",
            link=lambda row: reverse("inventory:lot", args=[row.code_id]),
        ),
        Column("material", gettext_lazy("Material"), "material.name", sort="material", strong=True),
        Column(
            "amount",
            gettext_lazy("Came in"),
            lambda row: pair(row.lot.received_quantity, row.unit, row.material),
            "amount",
        ),
        Column("place", gettext_lazy("Put into"), _where, sort="place"),
        Column("their", gettext_lazy("Their lot"), "lot.supplier_lot"),
        Column("best", gettext_lazy("Best before"), "best_before", "date"),
        Column("price", gettext_lazy("Price"), "lot.price_cents", "money"),
        Column(
            "state",
            gettext_lazy("State"),
            lambda row: ("hold", _("on hold")) if row.is_held else ("fine", _("on the shelf")),
            "state",
        ),
    ),
    caption=gettext_lazy("What came in so far"),
)


@opens_to(VOLUNTEER)
@require_safe
def deliveries(request: HttpRequest) -> HttpResponse:
    rows = Delivery.objects.select_related("supplier").annotate(lot_count=Count("lots"))
    table = DELIVERIES.from_request(request, rows)
    return table.file() or render(request, "inventory/deliveries.html", {"table": table, "crumbs": crumbs()})


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def begin(request: HttpRequest) -> HttpResponse:
    """Who brought what under which note: the first step of receiving."""
    missing = _missing()
    if missing and request.method == "GET":
        return render(request, "inventory/receive_first.html", {"missing": missing, "crumbs": crumbs()})
    since = timezone.now() - CARRY_ON
    recent = Delivery.objects.filter(arrived_at__gte=since).select_related("supplier").annotate(lot_count=Count("lots"))
    form = filled(request, BeginForm, initial=_asked_supplier(request))
    status = 200
    if request.method == "POST":
        outcome = carry_out(request, form, receiving.open_delivery)
        if outcome.done:
            messages.success(request, _("Begun. Add what came, lot by lot: each is safe as soon as it is entered."))
            return redirect(url_of(outcome.result))
        status = outcome.status
    known = {"form": form, "recent": recent[:5], "crumbs": crumbs()}
    return render(request, "inventory/delivery_begin.html", known, status=status)


def _asked_supplier(request: HttpRequest) -> dict[str, Any]:
    """The supplier that the address names, or the only one there is."""
    asked = request.GET.get("supplier", "")
    if asked.isdecimal() and len(asked) <= 18:
        return {"supplier": int(asked)}
    only = list(Supplier.objects.values_list("pk", flat=True)[:2])
    return {"supplier": only[0]} if len(only) == 1 else {}


def _missing() -> str:
    """What has to be there before anything can be received: "shed", "supplier", "material", or ""."""
    if not Place.objects.filter(kind=Place.Kind.SHED, is_closed=False).exists():
        return "shed"
    if not Supplier.objects.exists():
        return "supplier"
    return "" if Material.objects.exists() else "material"


@opens_to(VOLUNTEER)
@require_safe
def delivery(request: HttpRequest, pk: int) -> HttpResponse:
    """What came in so far, and the way to add the next lot."""
    row = get_object_or_404(Delivery.objects.select_related("supplier", "deed__actor"), pk=pk)
    lots = list(
        Item.objects.filter(lot__delivery=row)
        .select_related("material", "lot")
        .prefetch_related(_came_in())
        .order_by("pk")
    )
    held = holds.on_hold([one.pk for one in lots]) if lots else set()
    for one in lots:
        one.is_held = one.pk in held  # type: ignore[attr-defined]
    table = CAME.from_request(request, lots)
    known = {
        "delivery": row,
        "table": table,
        "lots": lots,
        "title": _title(row, len(lots)),
        "materials": _materials(row),
        "orders": _on_the_way(row),
        "crumbs": crumbs(Crumb(_("Deliveries"), reverse("inventory:deliveries"))),
    }
    return table.file() or render(request, "inventory/delivery.html", known)


def _came_in() -> "Prefetch[Any]":
    arrived = Movement.objects.filter(cause=Movement.Cause.RECEIVE).select_related("target")
    return Prefetch("movements", queryset=arrived)


def _title(row: Delivery, count: int) -> str:
    words = {"lots": wording.counted(count, "lot"), "supplier": row.supplier.name}
    return _("%(lots)s from %(supplier)s") % words if count else _("A delivery from %(supplier)s") % words


def _materials(row: Delivery) -> list[Material]:
    """What usually comes from this supplier first."""
    usual = Case(When(supplier=row.supplier_id, then=Value(True)), default=Value(False), output_field=BooleanField())
    return list(Material.objects.annotate(is_usual=usual).order_by("-is_usual", "name"))


def _on_the_way(row: Delivery) -> list[tuple[str, str]]:
    """Open orders from this supplier: sentence and address."""
    orders = Order.objects.open().filter(supplier=row.supplier_id).select_related("material")
    return [
        (
            _("%(material)s: %(amount)s, ordered %(day)s")
            % {
                "amount": amount(order.quantity, order.material),
                "material": order.material.name,
                "day": wording.day(order.ordered_on),
            },
            f"{reverse('inventory:receive', args=[order.material_id])}?delivery={row.pk}&order={order.pk}",
        )
        for order in orders
    ]


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def change(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(Delivery, pk=pk)
    known = {"supplier": row.supplier_id, "paper_number": row.paper_number, "note": row.note}
    return form_page(
        request,
        filled(request, ChangeForm, initial=known),
        receiving.change_delivery,
        title=_("Set the delivery right"),
        word=_("Keep the change"),
        back=url_of(row),
        done=_("Changed."),
        crumbs=crumbs(Crumb(_("Delivery"), url_of(row))),
        delivery=row,
    )
