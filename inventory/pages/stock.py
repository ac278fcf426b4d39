"""One thing on the shelf: drawn, moved, discarded, found, counted."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from coop.access import COORDINATOR, VOLUNTEER, opens_to
from coop.pages.base import DeedForm, carry_out
from coop.pages.form_page import filled, form_page
from inventory import holds, ledger, shelf, threads
from inventory.commands import counting, stock
from inventory.models import Item, Place
from inventory.pages.common import NoteForm, ShedField, amount_field, lot_crumbs, thing


class ConfirmField(forms.BooleanField):
    """A tick that stays out of sight until an unlikely amount was questioned."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("label", gettext_lazy("The amount is right, it is that much"))
        super().__init__(required=False, widget=forms.HiddenInput, **kwargs)


class FromShedForm(NoteForm):
    """How much of a thing, from which shed. The shed is chosen already when it is in one only."""

    place = ShedField(with_quarantine=True, label=gettext_lazy("From"))
    confirmed = ConfirmField()
    field_order: tuple[str, ...] = ("place", "target", "quantity", "confirmed", "note", "happened_at")

    def __init__(self, *args: Any, item: Item, least: int = 1, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.item = item
        self.fields["quantity"] = amount_field(item.unit, label=_("How much"), least=least)
        here = shelf.where([item.pk], Place.IN_STORE).get(item.pk, [])
        if here and not self.initial.get("place"):
            self.initial["place"] = here[0][0].pk
        lines = [f"{place.words}: {ledger.amount(quantity, item)}" for place, quantity in here]
        self.fields["quantity"].help_text = _("By the book: %(lines)s.") % {"lines": ", ".join(lines) or _("nothing")}
        self.order_fields(self.field_order)


class TransferForm(FromShedForm):
    target = ShedField(with_quarantine=True, label=gettext_lazy("To"))

    def arguments(self) -> dict[str, Any]:
        found = super().arguments()
        return {"source": found.pop("place"), **found}


class CountForm(FromShedForm):
    """Blind: whoever counts is not told what the book says."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, least=0, **kwargs)
        self.fields["place"].label = _("Where you count")
        self.fields["quantity"].label = _("What is there")
        self.fields["quantity"].help_text = _("Zero if nothing is left.")


class FindForm(FromShedForm):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["place"].label = _("Where it stood")
        self.fields["note"].label = _("What is known about it")
        self.fields["note"].required = True
        self.fields["note"].help_text = _("Where it stood, and why it was not in the book.")


def page_of(item: Item) -> str:
    return threads.url_of(item) or reverse("shelf")


def deed_page(
    request: HttpRequest, item: Item, form: DeedForm, command: Any, title: str, word: str, done: str, **more: Any
) -> HttpResponse:
    """A form page for one thing; `title` has its code."""
    return form_page(
        request,
        form,
        command,
        title=title % {"code": item.spaced_code},
        word=word,
        back=page_of(item),
        done=done,
        crumbs=lot_crumbs(item),
        item=item,
        **more,
    )


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def draw(request: HttpRequest, code: str) -> HttpResponse:
    item = thing(code)
    lead = _("Used outside a batch: for cleaning, a trial, a gift. What a batch uses is weighed in at the bench.")
    form = filled(request, FromShedForm, item=item)
    title, word, done = _("Draw from %(code)s"), _("Note what was drawn"), _("Drawn.")
    return deed_page(request, item, form, stock.draw, title, word, done, lead=lead)


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def transfer(request: HttpRequest, code: str) -> HttpResponse:
    item = thing(code)
    lead = _("What is on hold may be carried too: it stays on hold wherever it is.") if holds.is_held(item) else ""
    texts = []
    if item.kind == Item.Kind.LOT and item.lot.containers.filter(emptied_on=None).exists():
        texts.append(
            _("Its containers go along when all of it is carried. One drum of several is moved on the page of the lot.")
        )
    form = filled(request, TransferForm, item=item)
    title, word, done = _("Move %(code)s"), _("Note the move"), _("Moved.")
    return deed_page(request, item, form, stock.transfer, title, word, done, lead=lead, texts=texts)


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def discard(request: HttpRequest, code: str) -> HttpResponse:
    item = thing(code)
    lead = _(
        "Goggles and gloves on. How oxalic acid dihydrate is thrown away is for the supplier's sheet and local rules."
    )
    spilt = format_html(
        '{} <a href="{}">{}</a>',
        _("Was it spilt? Then it belongs in the incident book too."),
        reverse("inventory:spill", args=[item.code_id]),
        _("Note a spill"),
    )
    form = filled(request, FromShedForm, item=item)
    title, word, done = _("Discard from %(code)s"), _("Note what is gone"), _("Noted.")
    return deed_page(request, item, form, stock.discard, title, word, done, lead=lead, texts=[spilt], tone="rust")


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def find(request: HttpRequest, code: str) -> HttpResponse:
    item = thing(code)
    lead = _("For what stood there and was in no book. What a count finds is written by the count.")
    form = filled(request, FindForm, item=item)
    title, word, done = _("More of %(code)s was found"), _("Put it in the book"), _("It is in the book.")
    return deed_page(request, item, form, stock.find, title, word, done, lead=lead)


@opens_to(VOLUNTEER)
@require_http_methods(["GET", "POST"])
def count(request: HttpRequest, code: str) -> HttpResponse:
    """Stocktake of one thing: the difference to the book is said afterwards."""
    item = thing(code)
    place = asked_place(request)
    form = filled(request, CountForm, item=item, initial={"place": place})
    return count_page(
        request,
        item,
        form,
        counting.count,
        title=_("Count %(code)s") % {"code": item.spaced_code},
        lead=_("What is there is true. The difference becomes a movement with your name."),
        word=_("This is what is there"),
        go_to=lambda: reverse("inventory:shed", args=[form.cleaned_data["place"].pk]),
    )


def asked_place(request: HttpRequest) -> int | None:
    """The id of a shed in the address, if it is one."""
    text = request.GET.get("place", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 12 else None


def count_page(
    request: HttpRequest, item: Item, form: Any, command: Any, *, go_to: Callable[[], str], **known: Any
) -> HttpResponse:
    """A form that counts one thing; what the book thought is said when the count is in."""
    status = 200
    if request.method == "POST":
        outcome = carry_out(request, form, command, item=item)
        if outcome.done:
            messages.success(request, difference_words(outcome.result, item))
            return redirect(go_to())
        status = outcome.status
    known |= {"form": form, "back": page_of(item), "crumbs": lot_crumbs(item), "tone": "filled"}
    return render(request, "coop/form_page.html", known, status=status)


def difference_words(outcome: dict[str, Any], item: Item) -> str:
    if not outcome["difference"]:
        return _("Counted: the book was right.")
    amount = ledger.amount(abs(outcome["difference"]), item)
    if outcome["difference"] > 0:
        return _("Counted: %(amount)s more than the book.") % {"amount": amount}
    return _("Counted: %(amount)s less than the book.") % {"amount": amount}
