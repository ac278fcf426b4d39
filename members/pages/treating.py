"""Strips in, strips out, and the page of one treatment."""

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from batches.models import Instructions
from coop import wording
from coop.access import MEMBER, opens_to
from coop.models import the_club
from coop.pages.base import DeedForm, carry_out
from coop.pages.fields import DayField, PiecesField
from coop.pages.form_page import filled, form_page
from coop.parts import Crumb
from inventory.models import Item
from members.commands import treating
from members.commands.treating import LineIn, LineOut
from members.models import Apiary, Hive, Treatment
from members.pages.hives import inside
from members.pages.rooms import BagField, apiary_crumbs, me, my_apiary, my_treatment
from members.queries import held

BOTH = ["GET", "HEAD", "POST"]


class InForm(DeedForm):
    """One tap: a whole dose into each hive from the bags held."""

    in_on = DayField(label=gettext_lazy("On which day, if not today"), required=False)


class InAsSaidForm(InForm):
    """Said hive by hive, from one bag."""

    bag = BagField(label=gettext_lazy("Code on the bag"))
    instructions = forms.ModelChoiceField(
        label=gettext_lazy("Instructions, if others came with it"),
        queryset=Instructions.objects.none(),
        required=False,
    )

    def __init__(self, *args: Any, apiary: Apiary, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["instructions"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = Instructions.objects.current()
        self.hives = list(Hive.objects.filter(apiary=apiary, until_on=None).select_related("kind").order_by("id"))
        for hive in self.hives:
            label = _("Strips in hive %(hive)s, %(kind)s") % {"hive": hive.label, "kind": hive.kind}
            self.fields[f"hive_{hive.pk}"] = PiecesField(
                label=label, required=False, least=0, most=1000, unit=_("strips")
            )
        self.order_fields(["key", "bag", *[f"hive_{hive.pk}" for hive in self.hives], "in_on", "instructions"])

    def clean(self) -> dict[str, Any]:
        known: dict[str, Any] = super().clean() or self.cleaned_data
        if not any(known.get(f"hive_{hive.pk}") for hive in self.hives):
            raise forms.ValidationError(_("Enter how many strips went into which hive."))
        return known

    def arguments(self) -> dict[str, Any]:
        known = self.cleaned_data
        item: Item = known["bag"].item
        lines = [LineIn(hive, item, known[f"hive_{hive.pk}"]) for hive in self.hives if known[f"hive_{hive.pk}"]]
        return {"lines": lines, "in_on": known["in_on"], "instructions": known["instructions"]}


class OutForm(DeedForm):
    out_on = DayField(label=gettext_lazy("On which day, if not today"), required=False)


class SomeOutForm(OutForm):
    """For each hive and bag: how many came out, how many were chewed away or not found."""

    def __init__(self, *args: Any, treatment: Treatment, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        rows = treatment.lines.select_related("hive", "item").order_by("hive_id", "id")
        # a second tap must read the same figures as the first, though they are out by now: the command judges them
        self.lines = [line for line in rows if line.still_in or self.is_bound]
        for line in self.lines:
            where = {"hive": line.hive.label, "there": wording.counted(line.still_in), "bag": line.item.spaced_code}
            self.fields[f"out_{line.pk}"] = PiecesField(
                label=_("Hive %(hive)s: taken out") % where,
                help_text=_("%(there)s in by the book, of bag %(bag)s") % where,
                required=False,
                least=0,
                most=line.strips_in,
                unit=_("strips"),
            )
            self.fields[f"gone_{line.pk}"] = PiecesField(
                label=_("Hive %(hive)s: chewed away or not found") % where,
                required=False,
                least=0,
                most=line.strips_in,
                unit=_("strips"),
            )
        self.order_fields(["key", *[f"{what}_{line.pk}" for line in self.lines for what in ("out", "gone")], "out_on"])

    def clean(self) -> dict[str, Any]:
        known: dict[str, Any] = super().clean() or self.cleaned_data
        if not any(known.get(f"{what}_{line.pk}") for line in self.lines for what in ("out", "gone")):
            raise forms.ValidationError(_("Enter how many strips came out of which hive."))
        return known

    def arguments(self) -> dict[str, Any]:
        known = self.cleaned_data
        lines = [LineOut(one, known[f"out_{one.pk}"] or 0, known[f"gone_{one.pk}"] or 0) for one in self.lines]
        return {"lines": [one for one in lines if one.out or one.chewed], "out_on": known["out_on"]}


class InDateForm(DeedForm):
    in_on = DayField(label=gettext_lazy("They went in on"))


@require_http_methods(BOTH)
@opens_to(MEMBER)
def strips_in(request: HttpRequest, pk: int) -> HttpResponse:
    """One tap for the usual; ?said=1 for hive by hive."""
    apiary, is_said = my_apiary(request, pk), bool(request.GET.get("said"))
    form = filled(request, InAsSaidForm, apiary=apiary) if is_said else filled(request, InForm)
    status = 200
    if request.method == "POST":
        done = carry_out(request, form, treating.strips_in, apiary=apiary)
        if done.done:
            words = _("In. They are due out on %(day)s; a reminder comes before.")
            messages.success(request, words % {"day": wording.day(done.result.due_on)})
            return redirect("members:apiary", apiary.pk)
        status = done.status
    instructions = held.instructions_for(apiary.keeper)
    known = {
        "apiary": apiary,
        "form": form,
        "is_said": is_said,
        "bags": held.bags_of(apiary.keeper),
        "strips": held.strips_of(apiary.keeper),
        "free_hives": held.untreated_hives(apiary, the_club().today()),
        "instructions": instructions,
        "doses": instructions.doses.select_related("hive_kind") if instructions else [],
        "call": reverse("batches:call"),
        "crumbs": [*apiary_crumbs(apiary), Crumb(_("Strips in"))],
        "place": "hives",
    }
    return render(request, "members/strips_in.html", known, status=status)


@require_http_methods(BOTH)
@opens_to(MEMBER)
def strips_out(request: HttpRequest, pk: int) -> HttpResponse:
    """All of them; the big button of the Hives posts here at once."""
    treatment = my_treatment(request, pk)
    return form_page(
        request,
        filled(request, OutForm),
        treating.strips_out,
        title=_("Strips are out"),
        lead=_("All strips of %(apiary)s are out and disposed of. Gloves on; into a closed bag.")
        % {"apiary": treatment.apiary.name},
        word=_("Strips are out"),
        back=_treatment_url(treatment),
        done=_("Out, and on the record."),
        crumbs=apiary_crumbs(treatment.apiary),
        go_to=lambda _done: reverse("hives"),
        treatment=treatment,
    )


@require_http_methods(BOTH)
@opens_to(MEMBER)
def some_out(request: HttpRequest, pk: int) -> HttpResponse:
    treatment = my_treatment(request, pk)
    return form_page(
        request,
        filled(request, SomeOutForm, treatment=treatment),
        treating.strips_out,
        title=_("Not all of them"),
        lead=_("Enter what came out. What is not entered is still in, and the reminders go on for it."),
        word=_("Note what came out"),
        back=_treatment_url(treatment),
        done=_("Noted."),
        crumbs=apiary_crumbs(treatment.apiary),
        treatment=treatment,
    )


@require_http_methods(BOTH)
@opens_to(MEMBER)
def correct_in_date(request: HttpRequest, pk: int) -> HttpResponse:
    treatment = my_treatment(request, pk)
    return form_page(
        request,
        filled(request, InDateForm, initial={"in_on": treatment.in_on}),
        treating.correct_in_date,
        title=_("They went in on another day"),
        lead=_("The day they are due out follows by the same instructions."),
        word=_("Put the day right"),
        back=_treatment_url(treatment),
        done=_("The day is right, and the due day with it."),
        crumbs=apiary_crumbs(treatment.apiary),
        treatment=treatment,
    )


@require_safe
@opens_to(MEMBER)
def treatment_page(request: HttpRequest, pk: int) -> HttpResponse:
    """One treatment as a record: product, bags, hives, dates, what came out."""
    treatment = my_treatment(request, pk)
    lines = treatment.lines.select_related("hive__kind", "item").order_by("hive_id", "id")
    known = {
        "treatment": treatment,
        "apiary": treatment.apiary,
        "inside": inside(treatment, me(request), the_club().today()),
        "lines": lines,
        "crumbs": [*apiary_crumbs(treatment.apiary), Crumb(_("Treatment"))],
        "place": "hives",
    }
    return render(request, "members/treatment.html", known)


def _treatment_url(treatment: Treatment) -> str:
    return reverse("members:treatment", args=[treatment.pk])
