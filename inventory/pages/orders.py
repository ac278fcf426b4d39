"""Orders: what is on its way, what is late, noting one, saying another day, ending one."""

import datetime as dt
from typing import Any

from django import forms
from django.db.models import Case, F, IntegerField, Value, When
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_http_methods, require_safe

from coop import wording
from coop.access import COORDINATOR, VOLUNTEER, opens_to
from coop.models import the_club
from coop.pages.base import DeedForm
from coop.pages.fields import DayField
from coop.pages.form_page import filled, form_page
from coop.parts import Crumb
from coop.tables import Column, Filter, Table
from inventory import outlook
from inventory import outlook_words as say
from inventory.amounts import amount
from inventory.commands import ordering
from inventory.models import Material, Order, Supplier
from inventory.pages.common import State, amount_field, crumbs, pair
from inventory.pages.stock import ConfirmField


class OrderForm(DeedForm):
    """How much of one material, from whom, when. What the outlook would buy stands there to begin with."""

    supplier = forms.ModelChoiceField(
        Supplier.objects.all(), label=gettext_lazy("Ordered from"), required=False, empty_label=gettext_lazy("none")
    )
    ordered_on = DayField(label=gettext_lazy("Ordered on"))
    expected_on = DayField(
        label=gettext_lazy("Expected on"),
        required=False,
        help_text=gettext_lazy("Empty: so many days after it was ordered as the supplier needs."),
    )
    note = forms.CharField(label=gettext_lazy("Note"), max_length=ordering.NOTE_LENGTH, required=False)
    confirmed = ConfirmField()
    field_order = ("quantity", "confirmed", "supplier", "ordered_on", "expected_on", "note")

    def __init__(self, *args: Any, material: Material, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        pack = material.pack_size
        self.fields["quantity"] = amount_field(
            material.unit,
            label=_("How much"),
            help_text=_("Packs of %(pack)s.") % {"pack": amount(pack, material)} if pack else "",
        )
        self.order_fields(self.field_order)


class ExpectForm(DeedForm):
    expected_on = DayField(label=gettext_lazy("It is to come on"))


class EndForm(DeedForm):
    outcome = forms.ChoiceField(
        label=gettext_lazy("How it ended"),
        choices=[
            (Order.Outcome.CANCELLED, gettext_lazy("Cancelled: it will not come")),
            (Order.Outcome.ARRIVED, gettext_lazy("Arrived: its lots are on the shelf already")),
        ],
        widget=forms.RadioSelect,
    )
    note = forms.CharField(label=gettext_lazy("Note"), max_length=ordering.NOTE_LENGTH, required=False)


def order_state(order: Order, today: dt.date) -> State:
    """Arrived, cancelled, overdue, or expected on a day."""
    if order.outcome == Order.Outcome.ARRIVED:
        return "fine", _("arrived")
    if order.outcome:
        return "info", _("cancelled")
    if order.expected_on < today:
        return "overdue", _("overdue, not counted")
    return "waits", _("expected %(away)s") % {"away": wording.away(order.expected_on, today)}


ORDERS = Table(
    "orders",
    columns=(
        Column(
            "material",
            gettext_lazy("Material"),
            "material.name",
            sort="material__name",
            link=lambda row: reverse("inventory:order", args=[row.pk]),
            strong=True,
        ),
        Column(
            "quantity",
            gettext_lazy("Ordered"),
            lambda row: pair(row.quantity, row.material.unit, row.material),
            "amount",
        ),
        Column("supplier", gettext_lazy("From"), "supplier.name", sort="supplier__name"),
        Column("ordered", gettext_lazy("Ordered on"), "ordered_on", "date", sort="ordered_on"),
        Column("expected", gettext_lazy("Expected on"), "expected_on", "date", sort="expected_on"),
        Column("state", gettext_lazy("State"), lambda row: order_state(row, timezone.localdate()), "state"),
        Column("note", gettext_lazy("Note"), "note"),
    ),
    filters=(
        Filter(
            "outcome",
            gettext_lazy("State"),
            "state_now",
            [("open", gettext_lazy("open")), *[(str(one), one.label) for one in Order.Outcome]],
        ),
        Filter("material", gettext_lazy("Material"), "material", lambda: Material.objects.values_list("pk", "name")),
    ),
    search=("material__name", "supplier__name", "note"),
    caption=gettext_lazy("Orders, what is on its way first"),
    nothing=gettext_lazy("No order is noted yet."),
)


def listed() -> Any:
    """Every order: open ones first by the day they are expected, then what ended, newest first."""
    is_open = Case(When(outcome="", then=Value(0)), default=Value(1), output_field=IntegerField())
    state = Case(When(outcome="", then=Value("open")), default=F("outcome"))
    awaited = Case(When(outcome="", then=F("expected_on")))
    rows = Order.objects.select_related("material", "supplier").annotate(ended=is_open, state_now=state)
    return rows.order_by("ended", awaited.asc(nulls_last=True), "-pk")


def orders_of(material: Material, today: dt.date) -> list[tuple[Order, str, State]]:
    """What of a material is on its way, in words, the first to come first."""
    rows = Order.objects.open().filter(material=material)
    return [(row, amount(row.quantity, material), order_state(row, today)) for row in rows]


@opens_to(VOLUNTEER)
@require_safe
def orders(request: HttpRequest) -> HttpResponse:
    """What is on its way; the title is the answer."""
    today = the_club().today()
    table = ORDERS.from_request(request, listed())
    known = {
        "title": _headline(today),
        "table": table,
        "is_empty": not Order.objects.exists(),
        "crumbs": crumbs(Crumb(_("Orders"))),
    }
    return table.file() or render(request, "inventory/orders.html", known)


def _headline(today: dt.date) -> str:
    days = list(Order.objects.open().values_list("expected_on", flat=True))
    late = sum(day < today for day in days)
    if late:
        text = ngettext("%(count)s order is overdue", "%(count)s orders are overdue", late)
        return text % {"count": wording.spelled(late)}
    if not days:
        return _("Nothing is on order")
    text = ngettext("%(count)s order is on its way", "%(count)s orders are on their way", len(days))
    return text % {"count": wording.spelled(len(days))}


@opens_to(VOLUNTEER)
@require_safe
def order(request: HttpRequest, pk: int) -> HttpResponse:
    row = _order(pk)
    today = the_club().today()
    known = {
        "order": row,
        "title": _title(row),
        "state": order_state(row, today),
        "is_open": not row.outcome,
        "crumbs": _crumbs(),
    }
    return render(request, "inventory/order.html", known)


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def new(request: HttpRequest, pk: int) -> HttpResponse:
    """Note an order of one material. It begins with what the outlook would buy; a request may be filled in."""
    material = get_object_or_404(Material.objects.select_related("supplier"), pk=pk)
    today = the_club().today()
    texts: list[str] = []
    initial: dict[str, Any] = {"supplier": material.supplier_id, "ordered_on": today}
    if request.method == "GET":
        found = outlook.for_materials(today, [material])[0]
        initial |= {"quantity": _typed(found.projection.buy, material)}
        texts = _reasons(found)
    return form_page(
        request,
        filled(request, OrderForm, material=material, initial=initial),
        ordering.order,
        title=_("Order %(material)s") % {"material": material.name},
        lead=_("Note here what you have ordered from the supplier. Nothing is sent."),
        texts=texts,
        word=_("Note the order"),
        back=reverse("inventory:material", args=[pk]),
        done=_("Noted. The outlook counts it on the day it is expected."),
        crumbs=crumbs(Crumb(material.name, reverse("inventory:material", args=[pk]))),
        go_to=lambda made: reverse("inventory:order", args=[made.pk]),
        material=material,
    )


def _typed(quantity: int, material: Material) -> str:
    """An amount as somebody would type it; nothing for nothing."""
    if not quantity:
        return ""
    return f"{quantity / 1000:.10g}" if material.unit == "mass" else str(quantity)


def _reasons(found: outlook.Outlook) -> list[str]:
    """Why that much, and what is on its way already."""
    said = [_("%(answer)s.") % {"answer": say.answer(found)}]
    if found.projection.buy:
        said[0] = _("%(answer)s. %(much)s would do.") % {"answer": say.answer(found), "much": say.to_buy(found)}
    for one in found.orders:
        word = _("%(amount)s are on order already, expected %(day)s.")
        if one.expected_on < found.today:
            word = _("%(amount)s were ordered already and should have come on %(day)s.")
        facts = {"amount": amount(one.quantity, found.material), "day": wording.day(one.expected_on)}
        said.append(word % facts)
    return said


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def expect(request: HttpRequest, pk: int) -> HttpResponse:
    """The supplier named another day."""
    row = _order(pk)
    return form_page(
        request,
        filled(request, ExpectForm),
        ordering.expect_order,
        title=_("Say another day"),
        lead=_title(row),
        word=_("Keep the day"),
        back=reverse("inventory:order", args=[pk]),
        done=_("Kept. The outlook counts it on that day."),
        crumbs=_crumbs(row),
        order=row,
    )


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def end(request: HttpRequest, pk: int) -> HttpResponse:
    """Cancelled, or on the shelf already. What has ended shows its page instead of the form."""
    row = _order(pk)
    if request.method == "GET" and row.outcome:
        return redirect("inventory:order", pk=pk)
    return form_page(
        request,
        filled(request, EndForm, initial={"outcome": Order.Outcome.CANCELLED}),
        ordering.end_order,
        title=_("End the order"),
        lead=_title(row),
        word=_("End the order"),
        back=reverse("inventory:order", args=[pk]),
        done=_("The order has ended."),
        crumbs=_crumbs(row),
        order=row,
    )


def _order(pk: int) -> Order:
    rows = Order.objects.select_related("material", "supplier", "deed__actor", "ended_by__actor")
    return get_object_or_404(rows, pk=pk)


def _title(row: Order) -> str:
    return _("%(material)s: %(amount)s") % {
        "amount": amount(row.quantity, row.material),
        "material": row.material.name,
    }


def _crumbs(row: Order | None = None) -> list[Crumb]:
    here = [Crumb(_title(row), reverse("inventory:order", args=[row.pk]))] if row else []
    return crumbs(Crumb(_("Orders"), reverse("inventory:orders")), *here)
