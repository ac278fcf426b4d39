"""A lot comes in at the door: one form in the order in which it happens there."""

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from coop.access import COORDINATOR, opens_to
from coop.pages.base import DeedForm, carry_out
from coop.pages.fields import CodeField, DayField, FractionField, MassField, MomentField, MoneyField
from coop.parts import Crumb
from inventory.commands.receiving import receive
from inventory.models import Lot, Material, Place, Supplier
from inventory.pages.common import ShedField, amount_field, crumbs

CONTAINERS = 4


class ReceiveForm(DeedForm):
    """Fields follow the material: acid has a form and an assay, strips a dry mass and an uptake."""

    supplier = forms.ModelChoiceField(Supplier.objects.all(), label=gettext_lazy("Supplier"))
    supplier_lot = forms.CharField(label=gettext_lazy("Their lot"), max_length=80, required=False)
    grade = forms.CharField(label=gettext_lazy("Grade, as the label says"), max_length=80, required=False)
    best_before = DayField(label=gettext_lazy("Best before"), required=False)
    price_cents = MoneyField(
        label=gettext_lazy("Price of the whole lot"), initial="0", help_text=gettext_lazy("Zero for a gift.")
    )
    place = ShedField(label=gettext_lazy("Where it goes"))
    code = CodeField(
        label=gettext_lazy("Code of a printed label"),
        required=False,
        help_text=gettext_lazy("Leave it empty for a new code."),
    )
    hold_reason = forms.CharField(
        label=gettext_lazy("Put it on hold at once, because"),
        max_length=300,
        required=False,
        help_text=gettext_lazy("Such as a torn sack, a wet drum, or papers that do not fit."),
    )
    note = forms.CharField(label=gettext_lazy("Note"), max_length=300, required=False)
    happened_at = MomentField()  # type: ignore[assignment]
    confirmed = forms.BooleanField(
        label=gettext_lazy("The amount is right, it is that much"), required=False, widget=forms.HiddenInput
    )

    def __init__(self, *args: Any, material: Material, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.material = material
        self.fields["quantity"] = amount_field(
            material.unit, label=_("How much came in"), help_text=_("Without the drum or sack: net.")
        )
        if material.supplier_id:
            self.fields["supplier"].initial = material.supplier_id
        sheds = list(Place.objects.filter(kind=Place.Kind.SHED, is_closed=False)[:2])
        if len(sheds) == 1:
            self.fields["place"].initial = sheds[0].pk
        if material.kind == Material.Kind.ACID:
            self._ask_for_form()
        if material.kind == Material.Kind.STRIP:
            self.fields["dry_strip_mg"] = MassField(label=_("Dry mass of one strip"), required=False)
            self.fields["uptake_mg"] = MassField(label=_("Uptake of one strip"), required=False)
        if material.unit == "mass":
            self._ask_for_containers()

    def _ask_for_form(self) -> None:
        self.fields["form"] = forms.ChoiceField(
            label=_("Form, as the label says"),
            choices=[(value, word) for value, word in Lot.Form.choices if value != Lot.Form.NONE],
            initial=Lot.Form.UNKNOWN,
            help_text=_("A lot of unknown form is kept, but may not be used until a paper names it."),
        )
        self.fields["assay_ppb"] = FractionField(
            label=_("Assay as dihydrate"),
            required=False,
            most=1_500_000_000,
            help_text=_("A mass fraction such as 0.996 or 99.6 %."),
        )
        self.fields["certificate_names_form"] = forms.BooleanField(
            label=_("The certificate names the dihydrate"), required=False
        )

    def _ask_for_containers(self) -> None:
        for number in range(1, CONTAINERS + 1):
            self.fields[f"name_{number}"] = forms.CharField(
                label=_("Container %(number)d") % {"number": number}, max_length=40, required=False
            )
            self.fields[f"tare_{number}"] = MassField(label=_("tare"), required=False, least=0)
            self.fields[f"gross_{number}"] = MassField(label=_("gross"), required=False, least=0)

    def arguments(self) -> dict[str, Any]:
        found = super().arguments()
        containers = []
        for number in range(1, CONTAINERS + 1):
            name = found.pop(f"name_{number}", "")
            tare, gross = found.pop(f"tare_{number}", None), found.pop(f"gross_{number}", None)
            if name or tare is not None or gross is not None:
                containers.append({"name": name or str(number), "tare_mg": tare, "gross_mg": gross})
        return {**found, "containers": containers}

    def part(self, *names: str) -> list[Any]:
        return [self[name] for name in names if name in self.fields]

    @property
    def door(self) -> list[Any]:
        return self.part("hold_reason")

    @property
    def label_part(self) -> list[Any]:
        return self.part("supplier", "supplier_lot", "grade", "form", "best_before")

    @property
    def amounts(self) -> list[Any]:
        return self.part("quantity", "confirmed", "dry_strip_mg", "uptake_mg")

    @property
    def containers(self) -> list[list[Any]]:
        numbers = range(1, CONTAINERS + 1) if "name_1" in self.fields else ()
        return [self.part(f"name_{number}", f"tare_{number}", f"gross_{number}") for number in numbers]

    @property
    def has_containers(self) -> bool:
        """Whether anything was entered about containers, so that the part stands open."""
        return any(field.value() or field.errors for row in self.containers for field in row)

    @property
    def paper_part(self) -> list[Any]:
        return self.part("assay_ppb", "certificate_names_form", "price_cents")

    @property
    def away(self) -> list[Any]:
        return self.part("place", "code", "note", "happened_at")

    def ask_to_confirm(self) -> None:
        """Show the tick when the amount was questioned."""
        most = self.material.most_at_once
        try:
            quantity = self.fields["quantity"].clean(self.data.get("quantity", ""))
        except forms.ValidationError:
            return
        if most is not None and quantity is not None and quantity > most:
            self.fields["confirmed"].widget = forms.CheckboxInput()


@opens_to(COORDINATOR)
@require_safe
def choose(request: HttpRequest) -> HttpResponse:
    """Which material came: the form depends on it."""
    known = {
        "materials": Material.objects.all(),
        "has_shed": Place.objects.filter(kind=Place.Kind.SHED, is_closed=False).exists(),
        "has_supplier": Supplier.objects.exists(),
        "crumbs": crumbs(),
    }
    return render(request, "inventory/receive_choose.html", known)


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def receive_page(request: HttpRequest, pk: int) -> HttpResponse:
    material = get_object_or_404(Material, pk=pk)
    form = ReceiveForm(request.POST if request.method == "POST" else None, material=material)
    status = 200
    if request.method == "POST":
        outcome = carry_out(request, form, receive, material=material)
        if outcome.done:
            item = outcome.result
            messages.success(request, _("Received. Its code is %(code)s: write it on the lot now.") % {"code": item})
            return redirect("inventory:lot", code=item.code_id)
        form.ask_to_confirm()
        status = outcome.status
    known = {
        "form": form,
        "material": material,
        "is_acid": material.kind == Material.Kind.ACID,
        "crumbs": crumbs(Crumb(_("Receive"), reverse("inventory:receive_choose"))),
    }
    return render(request, "inventory/receive.html", known, status=status)
