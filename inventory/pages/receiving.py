"""A lot comes in at the door: one form in the order in which it happens there."""

from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import Q
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from coop import wording
from coop.access import COORDINATOR, opens_to
from coop.pages.base import DeedForm, carry_out
from coop.pages.fields import CodeField, DayField, FractionField, MassField, MomentField, MoneyField
from coop.parts import Crumb
from inventory.amounts import amount
from inventory.commands import papers
from inventory.commands.receiving import receive
from inventory.models import Delivery, Lot, Material, Order, Place, Supplier
from inventory.pages.common import ShedField, amount_field, crumbs

CONTAINERS = 4


class PaperField(forms.FileField):
    """A certificate, or a photograph of one. Its content is looked at by the command."""

    widget = forms.ClearableFileInput(attrs={"accept": "application/pdf,image/png,image/jpeg"})

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("label", gettext_lazy("Certificate"))
        kwargs.setdefault("help_text", gettext_lazy("A PDF or a photograph, at most 1 MB."))
        super().__init__(**kwargs)

    def clean(self, data: Any, initial: Any = None) -> Any:
        file = super().clean(data, initial)
        if file and file.size > papers.MOST_BYTES:
            raise ValidationError(papers.too_large())
        return file


class OrderField(forms.ModelChoiceField):  # type: ignore[type-arg]
    """Which order this is, of those on their way."""

    widget = forms.RadioSelect

    def label_from_instance(self, obj: Any) -> str:
        words = {"day": wording.day(obj.ordered_on), "amount": amount(obj.quantity, obj.material)}
        return _("This is the order of %(day)s, %(amount)s") % words


class ReceiveForm(DeedForm):
    """Fields follow the material: acid has a form and an assay, strips a dry mass and an uptake.

    In a `delivery` the supplier is known, and is not asked again.
    """

    supplier = forms.ModelChoiceField(Supplier.objects.all(), label=gettext_lazy("Supplier"))
    supplier_lot = forms.CharField(label=gettext_lazy("Their lot"), max_length=80, required=False)
    grade = forms.CharField(label=gettext_lazy("Grade, as the label says"), max_length=80, required=False)
    best_before = DayField(label=gettext_lazy("Best before"), required=False)
    price_cents = MoneyField(
        label=gettext_lazy("Price of the whole lot"), initial="0", help_text=gettext_lazy("Zero for a gift.")
    )
    certificate = PaperField(required=False)
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
        label=gettext_lazy("It is right as it stands here"), required=False, widget=forms.HiddenInput
    )

    def __init__(self, *args: Any, material: Material, delivery: Delivery | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.material, self.delivery = material, delivery
        self.fields["quantity"] = amount_field(
            material.unit, label=_("How much came in"), help_text=_("Without the drum or sack: net.")
        )
        if delivery is not None:
            del self.fields["supplier"]
        elif material.supplier_id:
            self.fields["supplier"].initial = material.supplier_id
        sheds = list(Place.objects.filter(kind=Place.Kind.SHED, is_closed=False)[:2])
        if len(sheds) == 1:
            self.fields["place"].initial = sheds[0].pk
        if material.holds_on_arrival:
            self.fields["hold_reason"].help_text = _("Each new lot of it is on hold until looked at, with or without.")
        self._ask_for_order()
        if material.kind == Material.Kind.ACID:
            self._ask_for_form()
        if material.kind == Material.Kind.STRIP:
            self.fields["dry_strip_mg"] = MassField(label=_("Dry mass of one strip"), required=False)
            self.fields["uptake_mg"] = MassField(
                label=_("Uptake of one strip"),
                required=False,
                help_text=_("If the paper says so. A sample weighed afterwards, on the lot's page, takes its place."),
            )
        if material.unit == "mass":
            self._ask_for_containers()

    def _ask_for_order(self) -> None:
        """Only open ones are offered; one that ended since is left to the command, which knows a second tap."""
        orders = Order.objects.filter(material=self.material).select_related("material")
        if self.delivery is not None:
            orders = orders.filter(Q(supplier=None) | Q(supplier=self.delivery.supplier_id))
        open_ones = list(orders.open())
        if not open_ones and not self.is_bound:
            return
        field = OrderField(orders, label=_("Was it on order?"), required=False, empty_label=None)
        field.choices = [("", _("None of these")), *((one.pk, field.label_from_instance(one)) for one in open_ones)]
        field.initial = open_ones[0].pk if len(open_ones) == 1 else ""
        self.fields["order"] = field

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
        file = found.pop("certificate", None)
        if file:
            found |= {"certificate_name": file.name, "certificate_content": file.read()}
        if self.delivery is not None:
            found |= {"delivery": self.delivery, "supplier": self.delivery.supplier}
        return {**found, "containers": containers}

    def part(self, *names: str) -> list[Any]:
        return [self[name] for name in names if name in self.fields]

    @property
    def door(self) -> list[Any]:
        has_order = "order" in self.fields and len(self.fields["order"].choices) > 1  # type: ignore[attr-defined]
        return self.part(*(["order"] if has_order else []), "hold_reason")

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
        return self.part("certificate", "certificate_names_form", "assay_ppb", "price_cents")

    @property
    def away(self) -> list[Any]:
        return self.part("place", "code", "note", "happened_at")


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def receive_page(request: HttpRequest, pk: int) -> HttpResponse:
    """One lot of a material; with ?delivery= it came with that one, and the way back leads there."""
    material = get_object_or_404(Material, pk=pk)
    delivery = _asked_delivery(request)
    posted = (request.POST, request.FILES) if request.method == "POST" else ()
    form = ReceiveForm(*posted, material=material, delivery=delivery, initial=_asked_order(request))
    status = 200
    if request.method == "POST":
        outcome = carry_out(request, form, receive, material=material)
        if outcome.done:
            item = outcome.result
            messages.success(request, _("Received. Its code is %(code)s: write it on the lot now.") % {"code": item})
            if delivery is not None:
                return redirect("inventory:delivery", pk=delivery.pk)
            return redirect("inventory:lot", code=item.code_id)
        status = outcome.status
    back = reverse("inventory:delivery", args=[delivery.pk]) if delivery else reverse("inventory:material", args=[pk])
    known = {
        "form": form,
        "material": material,
        "delivery": delivery,
        "is_acid": material.kind == Material.Kind.ACID,
        "back": back,
        "crumbs": crumbs(Crumb(_("Delivery"), back) if delivery else Crumb(material.name, back)),
    }
    return render(request, "inventory/receive.html", known, status=status)


def _asked_delivery(request: HttpRequest) -> Delivery | None:
    asked = request.GET.get("delivery", "")
    if not asked:
        return None
    if not asked.isdecimal() or len(asked) > 18:
        raise Http404
    return get_object_or_404(Delivery.objects.select_related("supplier"), pk=int(asked))


def _asked_order(request: HttpRequest) -> dict[str, Any]:
    asked = request.GET.get("order", "")
    return {"order": int(asked)} if asked.isdecimal() and len(asked) <= 18 else {}
