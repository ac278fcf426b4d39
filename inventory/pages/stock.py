"""One thing on the shelf: drawn, moved, discarded, counted, its drums weighed."""

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from coop.access import COORDINATOR, VOLUNTEER, opens_to
from coop.pages.base import DeedForm, carry_out
from coop.pages.fields import DayField, MassField
from coop.pages.form_page import filled, form_page
from inventory import holds, ledger, shelf, threads
from inventory.commands import counting, stock
from inventory.models import Item, Movement, Place
from inventory.pages.common import NoteForm, ShedField, amount_field, lot, lot_crumbs, thing


class FromShedForm(NoteForm):
    """How much of a thing, from which shed. The shed is chosen already when it is in one only."""

    place = ShedField(with_quarantine=True, label=gettext_lazy("From"))
    field_order = ("place", "target", "quantity", "cause", "note", "happened_at")

    def __init__(self, *args: Any, item: Item, least: int = 1, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["quantity"] = amount_field(item.unit, label=_("How much"), least=least)
        here = shelf.where([item.pk], Place.IN_STORE).get(item.pk, [])
        asked = self.initial.get("place")
        if here and not asked:
            self.initial["place"] = here[0][0].pk
        lines = [f"{place.words}: {ledger.amount(quantity, item)}" for place, quantity in here]
        self.fields["quantity"].help_text = _("By the book: %(lines)s.") % {"lines": ", ".join(lines) or _("nothing")}
        self.order_fields(self.field_order)


class TransferForm(FromShedForm):
    target = ShedField(with_quarantine=True, label=gettext_lazy("To"))

    def arguments(self) -> dict[str, Any]:
        found = super().arguments()
        return {"source": found.pop("place"), **found}


class DiscardForm(FromShedForm):
    cause = forms.ChoiceField(
        label=gettext_lazy("What happened"),
        choices=[(one.value, one.label) for one in (Movement.Cause.DISCARD, Movement.Cause.SPILL)],
    )


class CountForm(FromShedForm):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, least=0, **kwargs)
        self.fields["place"].label = _("Where you count")
        self.fields["quantity"].label = _("What is there")


class ContainerForm(DeedForm):
    name = forms.CharField(label=gettext_lazy("Name"), max_length=40)
    tare_mg = MassField(label=gettext_lazy("Tare"), required=False, least=0)
    gross_mg = MassField(label=gettext_lazy("Gross"), required=False, least=0)


class OpenForm(DeedForm):
    opened_on = DayField(label=gettext_lazy("Opened on"), required=False)


def _page_of(item: Item) -> str:
    return threads.url_of(item) or reverse("shelf")


def _deed(
    request: HttpRequest, item: Item, form: DeedForm, command: Any, title: str, word: str, done: str, **more: Any
) -> HttpResponse:
    """A form page for one thing; what the book did not know is said afterwards."""
    names = {"code": item.spaced_code}
    answer = form_page(
        request,
        form,
        command,
        title=title % names,
        word=word,
        back=_page_of(item),
        done=done,
        crumbs=lot_crumbs(item),
        item=item,
        **more,
    )
    return answer


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def draw(request: HttpRequest, code: str) -> HttpResponse:
    item = thing(code)
    lead = _("Used outside a batch: for cleaning, a trial, a gift. What a batch uses is weighed in at the bench.")
    form = filled(request, FromShedForm, item=item)
    return _deed(
        request, item, form, stock.draw, _("Draw from %(code)s"), _("Note what was drawn"), _("Drawn."), lead=lead
    )


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def transfer(request: HttpRequest, code: str) -> HttpResponse:
    item = thing(code)
    lead = _("What is on hold may be carried too: it stays on hold wherever it is.") if holds.is_held(item) else ""
    form = filled(request, TransferForm, item=item)
    return _deed(request, item, form, stock.transfer, _("Move %(code)s"), _("Note the move"), _("Moved."), lead=lead)


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def discard(request: HttpRequest, code: str) -> HttpResponse:
    item = thing(code)
    lead = _(
        "Goggles and gloves on, for a spill too. How acid is thrown away is for the supplier's sheet and local rules."
    )
    form = filled(request, DiscardForm, item=item)
    title, word, done = _("Discard from %(code)s"), _("Note what is gone"), _("Noted.")
    return _deed(request, item, form, stock.discard, title, word, done, lead=lead, tone="rust")


@opens_to(VOLUNTEER)
@require_http_methods(["GET", "POST"])
def count(request: HttpRequest, code: str) -> HttpResponse:
    """Stocktake of one thing: the difference to the book is said afterwards."""
    item = thing(code)
    place = request.GET.get("place", "")
    form = CountForm(
        request.POST if request.method == "POST" else None,
        item=item,
        initial={"place": int(place)} if place.isdigit() and len(place) < 12 else None,
    )
    status = 200
    if request.method == "POST":
        outcome = carry_out(request, form, counting.count, item=item)
        if outcome.done:
            messages.success(request, difference_words(outcome.result, item))
            shed = form.cleaned_data["place"]
            return redirect("inventory:shed", pk=shed.pk)
        status = outcome.status
    known = {
        "form": form,
        "title": _("Count %(code)s") % {"code": item.spaced_code},
        "lead": _("What is there is true. The difference becomes a movement with your name."),
        "word": _("This is what is there"),
        "back": _page_of(item),
        "crumbs": lot_crumbs(item),
        "tone": "filled",
    }
    return render(request, "coop/form_page.html", known, status=status)


def difference_words(outcome: dict[str, Any], item: Item) -> str:
    if not outcome["difference"]:
        return _("Counted: the book was right.")
    amount = ledger.amount(abs(outcome["difference"]), item)
    if outcome["difference"] > 0:
        return _("Counted: %(amount)s more than the book.") % {"amount": amount}
    return _("Counted: %(amount)s less than the book.") % {"amount": amount}


class WeighForm(NoteForm):
    """One box for each drum that is not empty; those left empty are elsewhere."""

    place = ShedField(with_quarantine=True, label=gettext_lazy("Where they stand"))

    def __init__(self, *args: Any, item: Item, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.drums = {
            f"drum_{one.pk}": one for one in item.lot.containers.filter(emptied_on=None, tare_mg__isnull=False)
        }
        for name, drum in self.drums.items():
            self.fields[name] = MassField(
                label=_("%(name)s, gross") % {"name": drum.name},
                required=False,
                least=0,
                help_text=_("Tare %(tare)s. Leave it empty if it does not stand here.")
                % {"tare": ledger.amount(drum.tare_mg or 0, item)},
            )
        here = shelf.where([item.pk], Place.IN_STORE).get(item.pk, [])
        if here:
            self.initial["place"] = here[0][0].pk
        self.order_fields(["place", *self.drums, "note", "happened_at"])

    def arguments(self) -> dict[str, Any]:
        found = super().arguments()
        weighed = [
            {"container": drum, "gross_mg": found.pop(name)}
            for name, drum in self.drums.items()
            if found.get(name) is not None
        ]
        return {name: value for name, value in found.items() if name not in self.drums} | {"weighed": weighed}


@opens_to(VOLUNTEER)
@require_http_methods(["GET", "POST"])
def weigh(request: HttpRequest, code: str) -> HttpResponse:
    """Part-used drums counted by weight: gross less tare."""
    item = lot(code)
    form = filled(request, WeighForm, item=item)
    title = _("Weigh the drums of %(code)s")
    lead = _("Goggles and gloves on. Weigh each drum as it stands, with its lid: tare is taken off for you.")
    word, done = _("Count by weight"), _("Counted by weight.")
    return _deed(request, item, form, counting.count_by_weight, title, word, done, lead=lead)


@opens_to(VOLUNTEER)
@require_http_methods(["GET", "POST"])
def add_container(request: HttpRequest, code: str) -> HttpResponse:
    item = lot(code)
    form = filled(request, ContainerForm)
    return _deed(
        request, item, form, counting.add_container, _("A container of %(code)s"), _("Add the container"), _("Added.")
    )


@opens_to(VOLUNTEER)
@require_http_methods(["GET", "POST"])
def open_container(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    item = lot(code)
    container = get_object_or_404(item.lot.containers, pk=pk)
    return form_page(
        request,
        filled(request, OpenForm),
        counting.open_container,
        title=_("Open %(name)s of %(code)s") % {"name": container.name, "code": item.spaced_code},
        lead=_("Leave the day empty if it was today."),
        word=_("Note that it is open"),
        back=_page_of(item),
        done=_("Noted."),
        crumbs=lot_crumbs(item),
        container=container,
    )
