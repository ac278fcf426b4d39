"""Holds: placed by anyone at the bench, lifted or narrowed by a coordinator who has just shown a code."""

from typing import Any

from django import forms
from django.db.models import Case, Value, When
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from coop.access import COORDINATOR, VOLUNTEER, opens_to
from coop.pages.base import DeedForm
from coop.pages.fields import CodeField
from coop.pages.form_page import filled, form_page
from coop.parts import Crumb
from coop.tables import Column, Filter, Table
from inventory import holds, threads
from inventory.commands import holding
from inventory.models import Hold, Item
from members.pages.trace import crumbs, item_of
from members.trace.holders import holders_of


class ReasonForm(DeedForm):
    reason = forms.CharField(label=gettext_lazy("Why"), max_length=300)


class FreeForm(DeedForm):
    """Which thing is freed, by its code, and the reason that is signed."""

    item = CodeField(label=gettext_lazy("Code of what is freed"))
    reason = forms.CharField(
        label=gettext_lazy("Why it may be used"),
        max_length=300,
        help_text=gettext_lazy("What was found, and by whom. It counts for what is in it today."),
    )

    def clean_item(self) -> Item:
        code = self.cleaned_data["item"]
        item = Item.objects.filter(code=code).first()
        if item is None:
            raise forms.ValidationError(_("Nothing in the book has this code."))
        return item


def _hold_url(hold: Hold) -> str:
    return reverse("trace:hold", args=[hold.pk])


HOLDS = Table(
    "holds",
    columns=(
        Column("reason", gettext_lazy("Why"), "reason", link=_hold_url, strong=True),
        Column("began", gettext_lazy("Began with"), lambda hold: began_with(hold)),
        Column("since", gettext_lazy("Since"), "placed_at", "moment", sort="placed_at"),
        Column("by", gettext_lazy("By"), "placed_by.actor.name", sort="placed_by__actor__name"),
        Column("until", gettext_lazy("Lifted"), "lifted_at", "moment", sort="lifted_at"),
        Column(
            "state",
            gettext_lazy("State"),
            lambda hold: ("fine", _("lifted")) if hold.lifted_at else ("hold", _("on hold")),
            "state",
        ),
    ),
    filters=(
        Filter(
            "open",
            gettext_lazy("State"),
            "standing",
            (("open", gettext_lazy("on hold")), ("lifted", gettext_lazy("lifted"))),
        ),
    ),
    search=("reason", "began_with", "items__code__text"),
    order="-since",
    caption=gettext_lazy("Holds"),
    nothing=gettext_lazy("Nothing has ever been put on hold."),
)


def began_with(hold: Hold) -> str:
    """An instrument in words, or the codes it began at."""
    return hold.began_with or ", ".join(item.spaced_code for item in hold.items.all())


@opens_to(VOLUNTEER)
@require_safe
def hold_list(request: HttpRequest) -> HttpResponse:
    standing = Case(When(lifted_by=None, then=Value("open")), default=Value("lifted"))
    rows = Hold.objects.annotate(standing=standing).select_related("placed_by__actor").prefetch_related("items")
    shown = HOLDS.from_request(request, rows.distinct())
    known = {"table": shown, "title": _("Holds"), "lead": "", "crumbs": crumbs(), "place": "trace"}
    return shown.file() or render(request, "members/trace_list.html", known)


@opens_to(VOLUNTEER)
@require_safe
def hold_page(request: HttpRequest, pk: int) -> HttpResponse:
    """One hold: where it began, what it reaches, what was freed from it."""
    hold = get_object_or_404(Hold.objects.select_related("placed_by__actor", "lifted_by__actor"), pk=pk)
    ids = set().union(*(reached for _hold, reached in holds.reached_by([hold])))
    rows = list(Item.objects.filter(pk__in=ids).select_related("material").order_by("made_at", "pk"))
    words = threads.words_of(rows)
    known = {
        "hold": hold,
        "began_with": began_with(hold),
        "seeds": [(item, reverse("trace:item", args=[item.code_id])) for item in hold.items.all()],
        "reached": [(item, words[item.pk], reverse("trace:item", args=[item.code_id])) for item in rows],
        "freed": hold.freed.filter(voided_by=None).select_related("item", "deed__actor"),
        "voided": hold.freed.exclude(voided_by=None).select_related("item", "voided_by"),
        "members": len(holders_of(rows)),
        "crumbs": [*crumbs(), Crumb(_("Holds"), reverse("trace:holds"))],
        "place": "trace",
    }
    return render(request, "members/hold.html", known)


@opens_to(VOLUNTEER)
@require_http_methods(["GET", "HEAD", "POST"])
def place(request: HttpRequest, code: str) -> HttpResponse:
    """The safe direction: one form, no second step."""
    item = item_of(code)
    back = reverse("trace:item", args=[item.code_id])
    return form_page(
        request,
        filled(request, ReasonForm),
        holding.place_hold,
        title=_("Put %(code)s on hold") % {"code": item.spaced_code},
        lead=_("It and everything made from it stay where they are until a coordinator lifts the hold."),
        word=_("Put on hold"),
        tone="rust",
        back=back,
        done=_("On hold, with everything made from it."),
        crumbs=crumbs(item),
        items=[item],
    )


def _open(pk: int) -> Hold:
    return get_object_or_404(Hold, pk=pk)


def _form(request: HttpRequest, hold: Hold, form: DeedForm, command: Any, **words: Any) -> HttpResponse:
    return form_page(
        request,
        form,
        command,
        back=reverse("trace:hold", args=[hold.pk]),
        crumbs=[*crumbs(), Crumb(_("Hold"), reverse("trace:hold", args=[hold.pk]))],
        hold=hold,
        **words,
    )


@opens_to(COORDINATOR, fresh=True)
@require_http_methods(["GET", "HEAD", "POST"])
def lift(request: HttpRequest, pk: int) -> HttpResponse:
    hold = _open(pk)
    return _form(
        request,
        hold,
        filled(request, ReasonForm),
        holding.lift_hold,
        title=_("Lift the hold"),
        lead=_("“%(reason)s” no longer stops anything. Other holds still do.") % {"reason": hold.reason},
        word=_("Lift the hold"),
        done=_("Lifted."),
    )


@opens_to(COORDINATOR, fresh=True)
@require_http_methods(["GET", "HEAD", "POST"])
def free(request: HttpRequest, pk: int) -> HttpResponse:
    hold = _open(pk)
    return _form(
        request,
        hold,
        filled(request, FreeForm, initial={"item": request.GET.get("code", "")[:9]}),
        holding.free_from_hold,
        title=_("Free a part of the hold"),
        lead=_("One thing, and what is made from it, is free from “%(reason)s”. What goes into it later voids this.")
        % {"reason": hold.reason},
        word=_("Sign it free"),
        done=_("Free from this hold."),
    )
