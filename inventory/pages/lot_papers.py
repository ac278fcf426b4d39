"""A lot's papers: a certificate that comes afterwards, and what was typed wrong set right."""

import datetime as dt
from collections.abc import Iterable
from typing import Any, NamedTuple

from django import forms
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from coop import wording
from coop.access import COORDINATOR, opens_to
from coop.pages.base import DeedForm
from coop.pages.fields import DayField, FractionField, MoneyField
from coop.pages.form_page import filled, form_page
from inventory.arriving import MOST_ASSAY_PPB
from inventory.commands import lots, papers
from inventory.models import Amendment, Item, Lot, Material, Supplier
from inventory.pages.common import lot, lot_crumbs
from inventory.pages.receiving import PaperField


class CertificateForm(DeedForm):
    file = PaperField()
    names_form = forms.BooleanField(
        label=gettext_lazy("It names the dihydrate"),
        required=False,
        help_text=gettext_lazy("Only if the paper says dihydrate, or gives the formula with two waters."),
    )

    def arguments(self) -> dict[str, object]:
        file = self.cleaned_data["file"]
        return {"name": file.name, "content": file.read(), "names_form": self.cleaned_data["names_form"]}


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def add_certificate(request: HttpRequest, code: str) -> HttpResponse:
    item = lot(code)
    form = CertificateForm(request.POST, request.FILES) if request.method == "POST" else CertificateForm()
    return form_page(
        request,
        form,
        papers.attach_certificate,
        title=_("Certificate of %(code)s") % {"code": item.spaced_code},
        word=_("Keep the certificate"),
        back=reverse("inventory:lot", args=[item.code_id]),
        done=_("The certificate is kept with the lot."),
        crumbs=lot_crumbs(item),
        item=item,
    )


class PapersForm(DeedForm):
    """What stands in the book, to be written over; only what is changed goes on record."""

    supplier = forms.ModelChoiceField(Supplier.objects.all(), label=gettext_lazy("Supplier"))
    supplier_lot = forms.CharField(label=gettext_lazy("Their lot"), max_length=80, required=False)
    grade = forms.CharField(label=gettext_lazy("Grade, as the label says"), max_length=80, required=False)
    best_before = DayField(label=gettext_lazy("Best before"), required=False)
    price_cents = MoneyField(
        label=gettext_lazy("Price of the whole lot"),
        help_text=gettext_lazy("Zero for a gift. The cost of what it went into follows."),
    )
    reason = forms.CharField(
        label=gettext_lazy("How is it known?"),
        max_length=300,
        help_text=gettext_lazy("Such as: read again on the sack; the bill came."),
    )

    def __init__(self, *args: Any, item: Item, **kwargs: Any) -> None:
        kwargs["initial"] = _typed(item)
        super().__init__(*args, **kwargs)
        self.is_acid = item.material is not None and item.material.kind == Material.Kind.ACID
        if self.is_acid:
            self.fields["form"] = forms.ChoiceField(
                label=_("Form"),
                choices=[(value, word) for value, word in Lot.Form.choices if value != Lot.Form.NONE],
                help_text=_("If it is not the dihydrate after all, what was made of it gets a question."),
            )
            self.fields["assay_ppb"] = FractionField(
                label=_("Assay as dihydrate"),
                required=False,
                most=MOST_ASSAY_PPB,
                help_text=_("Such as 0.996 or 99.6 %."),
            )
        names = [
            "key",
            "supplier",
            "supplier_lot",
            "grade",
            "form",
            "assay_ppb",
            "best_before",
            "price_cents",
            "reason",
        ]
        self.order_fields(names)


def _typed(item: Item) -> dict[str, Any]:
    """The lot's facts as somebody would type them."""
    row = item.lot
    return {
        "supplier": row.supplier_id,
        "supplier_lot": row.supplier_lot,
        "grade": row.grade,
        "form": row.form,
        "assay_ppb": "" if row.assay_ppb is None else f"{row.assay_ppb / 10**9:.10g}",
        "best_before": item.best_before,
        "price_cents": f"{row.price_cents / 100:.2f}",
    }


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def set_right(request: HttpRequest, code: str) -> HttpResponse:
    item = lot(code)
    return form_page(
        request,
        filled(request, PapersForm, item=item),
        lots.change_lot,
        title=_("Set the papers of %(code)s right") % {"code": item.spaced_code},
        lead=_("What stood there before stays on record. An amount is set right in the ledger."),
        word=_("Set it right"),
        back=reverse("inventory:lot", args=[item.code_id]),
        done=_("Set right."),
        crumbs=lot_crumbs(item),
        item=item,
    )


class AmendmentRow(NamedTuple):
    row: Amendment
    words: str


def amendment_words(rows: Iterable[Amendment]) -> list[AmendmentRow]:
    """Each correction of a lot's papers as a sentence: what it was, what it is."""
    rows = list(rows)
    ids = {one[side] for row in rows for side, one in _sides(row)}
    names = {one.pk: one.name for one in Supplier.objects.filter(pk__in=ids)} if ids else {}
    return [AmendmentRow(row, _sentence(row, names)) for row in rows]


def _sides(row: Amendment) -> list[tuple[str, dict[str, Any]]]:
    return [("supplier", one) for one in (row.before, row.after) if "supplier" in one]


def _sentence(row: Amendment, suppliers: dict[int, str]) -> str:
    return "; ".join(
        _("%(what)s from %(before)s to %(after)s")
        % {
            "what": _titles()[name],
            "before": _words(name, row.before[name], suppliers),
            "after": _words(name, value, suppliers),
        }
        for name, value in row.after.items()
    )


def _titles() -> dict[str, str]:
    return {
        "supplier": _("supplier"),
        "supplier_lot": _("their lot"),
        "grade": _("grade"),
        "form": _("form"),
        "assay_ppb": _("assay"),
        "best_before": _("best before"),
        "price_cents": _("price"),
        "received_quantity": _("amount received"),
        "received_on": _("received on"),
        "certificate_names_form": _("paper names dihydrate"),
        "dry_strip_mg": _("dry strip"),
        "uptake_mg": _("uptake of a strip"),
        "note": _("note"),
    }


def _words(name: str, value: Any, suppliers: dict[int, str]) -> str:
    if value in (None, ""):
        return _("nothing")
    if name == "supplier":
        return suppliers.get(value, wording.NOTHING)
    if name == "form":
        return str(Lot.Form(value).label)
    if name == "assay_ppb":
        return wording.fraction(value)
    if name in ("best_before", "received_on"):
        return wording.day(dt.date.fromisoformat(value))
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if name in ("dry_strip_mg", "uptake_mg"):
        return wording.mass_g(value)
    return wording.money(value) if name == "price_cents" else f"“{value}”"
