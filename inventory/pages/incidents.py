"""The incident book: a spill of one thing, a splash, and what was written before."""

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from coop.access import VOLUNTEER, opens_to
from coop.pages.base import DeedForm, carry_out
from coop.pages.fields import CodeField, MomentField, NumberField
from coop.pages.form_page import filled
from coop.parts import Crumb
from coop.tables import Column, Table
from inventory import ledger, threads
from inventory.commands import incidents
from inventory.models import Container, Incident, Item
from inventory.pages.common import ShedField, amount_field, crumbs, lot_crumbs, pair, thing
from inventory.pages.stock import ConfirmField, FromShedForm, page_of

LINES = {"rows": 3}


def _what() -> forms.CharField:
    return forms.CharField(
        label=gettext_lazy("What happened"),
        max_length=500,
        widget=forms.Textarea(attrs=LINES),
        help_text=gettext_lazy("Without names: everybody at the bench reads this."),
    )


def _people() -> forms.CharField:
    return forms.CharField(
        label=gettext_lazy("Who was there or hurt"),
        max_length=200,
        required=False,
        help_text=gettext_lazy("Only coordinators read this, and you."),
    )


def _done() -> forms.CharField:
    return forms.CharField(
        label=gettext_lazy("What was done"), max_length=500, required=False, widget=forms.Textarea(attrs=LINES)
    )


class SpillForm(FromShedForm):
    """How much of one thing, from which shed and drum, and the word for the book."""

    note = None  # type: ignore[assignment]
    what, people, done = _what(), _people(), _done()
    container = forms.ModelChoiceField(
        Container.objects.none(), label=gettext_lazy("Out of which container"), required=False, empty_label="–"
    )
    field_order = ("place", "quantity", "confirmed", "container", "what", "people", "done", "happened_at")

    def __init__(self, *args: Any, item: Item, **kwargs: Any) -> None:
        super().__init__(*args, item=item, **kwargs)
        drums = Container.objects.filter(lot_id=item.pk)
        if not self.is_bound:  # what was posted once is read the same when it comes again
            drums = drums.filter(emptied_on=None)
        if item.kind == Item.Kind.LOT and drums.exists():
            self.fields["container"].queryset = drums  # type: ignore[attr-defined]
        else:
            del self.fields["container"]
        self.fields["quantity"].label = _("How much, about")


class IncidentForm(DeedForm):
    """A word for the book; with a code and an amount, a spill of that thing."""

    what, people, done = _what(), _people(), _done()
    place = ShedField(with_quarantine=True, label=gettext_lazy("Where"), required=False, empty_label="–")
    code = CodeField(
        label=gettext_lazy("Code of what was spilt"),
        required=False,
        help_text=gettext_lazy("Only if something of the shelf was lost: it stands on the drum, sack or bag."),
    )
    quantity = forms.CharField(
        label=gettext_lazy("How much of it, about"),
        required=False,
        max_length=40,
        help_text=gettext_lazy("Grams, or pieces of what is counted."),
    )
    confirmed = ConfirmField()
    happened_at = MomentField()  # type: ignore[assignment]
    field_order = ("what", "place", "people", "done", "code", "quantity", "confirmed", "happened_at")
    item: Item | None = None

    def clean_code(self) -> str | None:
        code: str | None = self.cleaned_data.get("code")
        if code:
            self.item = Item.objects.select_related("material").filter(code=code).first()
            if self.item is None:
                raise forms.ValidationError(_("Nothing in the book has this code."))
        return code

    def clean(self) -> dict[str, Any]:
        found = super().clean() or self.cleaned_data
        text = found.get("quantity", "")
        if self.item is None:
            if text and "code" not in self.errors:
                self.add_error("code", _("Of what? Type the code that stands on it, or leave the amount empty."))
            return found
        reader: NumberField = amount_field(self.item.unit)
        try:
            found["quantity"] = reader.clean(text)
        except forms.ValidationError as trouble:
            self.add_error("quantity", trouble if text else _("Say about how much."))
        if not found.get("place") and "place" not in self.errors:
            self.add_error("place", _("Say out of which shed it was."))
        return found

    def arguments(self) -> dict[str, Any]:
        found = super().arguments()
        found.pop("code")
        if self.item is not None:
            return {**found, "item": self.item}
        return {name: found[name] for name in ("what", "people", "done", "place")}


INCIDENTS = Table(
    "incidents",
    columns=(
        Column(
            "when",
            gettext_lazy("When"),
            "happened_at",
            "moment",
            sort="happened_at",
            link=lambda row: reverse("inventory:incident", args=[row.pk]),
        ),
        Column("what", gettext_lazy("What happened"), "what", strong=True),
        Column("where", gettext_lazy("Where"), "place.words"),
        Column(
            "code",
            gettext_lazy("Of"),
            lambda row: row.movement.item.code_id if row.movement else "",
            "code",
            link=lambda row: threads.url_of(row.movement.item) if row.movement else "",
        ),
        Column("spilt", gettext_lazy("Spilt"), lambda row: _spilt_pair(row), "amount"),
        Column("done", gettext_lazy("What was done"), "done"),
        Column("people", gettext_lazy("Who was there or hurt"), "people_words"),
        Column("who", gettext_lazy("Written by"), "deed.who"),
    ),
    search=("what", "done"),
    caption=gettext_lazy("The incident book, newest first"),
)


def written() -> Any:
    """The book, newest first, with what a line needs."""
    return Incident.objects.select_related(
        "place",
        "movement__item__material",
        "movement__reversed_by",
        "movement__replaced_by__reversed_by",
        "deed__actor",
    )


def _spilt_pair(row: Incident) -> Any:
    movement = row.standing
    if movement is None or row.movement is None:
        return None
    item = row.movement.item
    return pair(movement.quantity, item.unit, item.material)


@opens_to(VOLUNTEER)
@require_safe
def book(request: HttpRequest) -> HttpResponse:
    table = INCIDENTS.from_request(request, written())
    return table.file() or render(request, "inventory/incidents.html", {"table": table, "crumbs": crumbs()})


@opens_to(VOLUNTEER)
@require_safe
def incident(request: HttpRequest, pk: int) -> HttpResponse:
    """One entry, with whom to call still beside it."""
    entry = get_object_or_404(written(), pk=pk)
    movement = entry.standing
    known = {
        "incident": entry,
        "spilt": ledger.amount(movement.quantity, entry.movement.item) if movement and entry.movement else "",
        "is_set_right": entry.movement is not None and movement != entry.movement,
        "thing": threads.url_of(entry.movement.item) if entry.movement else "",
        "crumbs": _crumbs(),
    }
    return render(request, "inventory/incident.html", known)


@opens_to(VOLUNTEER)
@require_http_methods(["GET", "POST"])
def note(request: HttpRequest) -> HttpResponse:
    """A splash, a fall, a spill of whatever: one tap from the shelf."""
    form = filled(request, IncidentForm)
    known = {"title": _("Write in the incident book"), "back": reverse("inventory:incidents"), "crumbs": _crumbs()}
    return _write(request, form, {}, known)


@opens_to(VOLUNTEER)
@require_http_methods(["GET", "POST"])
def spill(request: HttpRequest, code: str) -> HttpResponse:
    item = thing(code)
    form = filled(request, SpillForm, item=item)
    title = _("A spill of %(code)s") % {"code": item.spaced_code}
    return _write(request, form, {"item": item}, {"title": title, "back": page_of(item), "crumbs": lot_crumbs(item)})


def _write(request: HttpRequest, form: Any, given: dict[str, Any], known: dict[str, Any]) -> HttpResponse:
    status = 200
    if request.method == "POST":
        form.is_valid()
        command = incidents.spill if given or form.item is not None else incidents.note_incident
        outcome = carry_out(request, form, command, **given)
        if outcome.done:
            messages.success(request, _("It is in the incident book. Tell a coordinator as well."))
            return redirect("inventory:incident", pk=outcome.result.pk)
        status = outcome.status
    return render(request, "inventory/incident_form.html", {"form": form, **known}, status=status)


def _crumbs() -> list[Crumb]:
    return crumbs(Crumb(_("Incident book"), reverse("inventory:incidents")))
