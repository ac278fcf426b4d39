"""At the tub: laying strips, the marked ones, pouring, looking, lifting."""

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from batches.commands import soaking as commands
from batches.limits import of_bench
from batches.models import Bench, Soak
from batches.pages.mixing import ScaleForm, mix_of, rounded
from batches.pages.step import AskingForm, SeenField, StepForm, bench_of, posted, step_page
from batches.queries.course import liquid_at
from coop import access, units, wording
from coop.pages.fields import CodeField, MassField, PiecesField, TempField
from inventory.models import Item, Place


def soak_of(pk: int, number: int) -> tuple[Bench, Soak]:
    """A tub by its row; 404 where it is not of this bench."""
    return bench_of(pk), get_object_or_404(Soak.objects.for_list(), pk=number, bench_id=pk)


class LayForm(AskingForm):
    strips = PiecesField(label=gettext_lazy("Strips laid in"), unit=gettext_lazy("strips"))
    pack_mg = MassField(required=False, label=gettext_lazy("What the pack weighs, to count by"))
    blanks = forms.ModelChoiceField(Item.objects.none(), label=gettext_lazy("Lot of blanks"))
    code = CodeField(required=False, label=gettext_lazy("Pre-printed code for the tub"))
    field_order = ["strips", "blanks", "pack_mg", "code", "happened_at"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["blanks"]
        held = Item.objects.filter(holdings__quantity__gt=0, holdings__place__kind=Place.Kind.SHED)
        field.queryset = held.filter(material__kind="strip").select_related("material").distinct()
        field.label_from_instance = lambda item: f"{item.material.name} {item.spaced_code}"


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def lay(request: HttpRequest, pk: int) -> HttpResponse:
    bench = bench_of(pk)
    planned = bench.plan.get("strips")
    initial = {"blanks": bench.blanks_id}
    return step_page(
        request,
        bench,
        posted(request, LayForm, initial=initial),
        commands.lay_strips,
        title=_("Lay the strips"),
        lead=_("Strips of one blank lot only. Planned: %(strips)s.") % {"strips": wording.counted(planned)}
        if planned
        else "",
        word=_("Keep the count"),
        done=lambda soak: (
            _("%(strips)s laid as %(code)s.") % {"strips": wording.counted(soak.strips), "code": soak.item.spaced_code}
        ),
        bench=bench,
    )


class CountForm(StepForm):
    strips = PiecesField(label=gettext_lazy("Strips that were laid in"), unit=gettext_lazy("strips"))
    reason = forms.CharField(max_length=300, label=gettext_lazy("How you know"))
    field_order = ["strips", "reason", "happened_at"]


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def count_again(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """The count laid in was wrong."""
    bench, soak = soak_of(pk, number)
    return step_page(
        request,
        bench,
        posted(request, CountForm),
        commands.correct_strips,
        title=_("Correct the count"),
        lead=_("%(strips)s were noted. The first count stays in the record.")
        % {"strips": wording.counted(soak.strips)},
        word=_("Correct the count"),
        done=_("Corrected."),
        go_to=reverse("batches:soak", args=[soak.item.code_id]),
        soak=soak,
    )


class MassesField(forms.CharField):
    """Ten or thirty masses in grams, one after the other: spaces, lines or semicolons between them."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("widget", forms.Textarea(attrs={"rows": 6, "inputmode": "text", "autocomplete": "off"}))
        super().__init__(max_length=2000, **kwargs)

    def clean(self, value: Any) -> list[int]:
        text = super().clean(value)
        try:
            return [units.mass_mg(one) for one in re.split(r"[\s;]+", text.strip()) if one]
        except units.BadUnit as trouble:
            raise ValidationError(str(trouble)) from trouble


class MarkedForm(ScaleForm):
    masses_mg = MassesField(
        label=gettext_lazy("The marked strips in their order, in grams"),
        help_text=gettext_lazy(
            "Ten, or thirty where the club wants the second stage. A space or a new line between them."
        ),
    )
    field_order = ["masses_mg", "scale", "happened_at"]


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def dry(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    bench, soak = soak_of(pk, number)
    return step_page(
        request,
        bench,
        posted(request, MarkedForm),
        commands.mark_dry,
        title=_("Weigh the marked strips dry"),
        lead=_("Mark ten, weigh each to 0.1 g, and keep their order."),
        word=_("Keep the masses"),
        done=_("Kept."),
        soak=soak,
    )


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def wet(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    bench, soak = soak_of(pk, number)
    before = [wording.figure(one / 1000, 1) for one in soak.marked.values_list("dry_mg", flat=True)]
    return step_page(
        request,
        bench,
        posted(request, MarkedForm),
        commands.mark_wet,
        title=_("Weigh the marked strips wet"),
        lead=_("In the same order. Dry they were %(masses)s g.") % {"masses": ", ".join(before)},
        word=_("Keep the masses"),
        done=_("Kept."),
        care="wet",
        soak=soak,
    )


class PourForm(ScaleForm):
    soak = forms.ModelChoiceField(Soak.objects.none(), label=gettext_lazy("Into which tub"))
    before_mg = MassField(required=False, label=gettext_lazy("Pail before"))
    after_mg = MassField(required=False, label=gettext_lazy("Pail after"), least=0)
    mass_mg = MassField(required=False, label=gettext_lazy("Or the mass poured"))
    temp_mc = TempField(required=False, label=gettext_lazy("Solution"))
    clarity = SeenField(label=gettext_lazy("Torch at the bottom"))
    covered_mm = PiecesField(required=False, label=gettext_lazy("Strips covered by"), least=0, most=500, unit="mm")
    has_lid = forms.BooleanField(required=False, label=gettext_lazy("Weight on, lid on"))
    is_topup = forms.BooleanField(required=False, label=gettext_lazy("This tops a tub up"))
    field_order = [
        *("soak", "before_mg", "after_mg", "mass_mg", "temp_mc", "clarity"),
        *("covered_mm", "has_lid", "is_topup", "scale", "happened_at"),
    ]

    def __init__(self, *args: Any, bench: Bench, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["soak"]
        field.queryset = bench.soaks.filter(lifted_at=None).select_related("item").order_by("number")
        field.label_from_instance = lambda soak: f"{soak.item.spaced_code}, {wording.counted(soak.strips)}"
        first = field.queryset.first()
        field.initial = first.pk if first else None


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def pour(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    bench, mix = mix_of(pk, number)
    limits, there = of_bench(bench), liquid_at(mix.item)
    return step_page(
        request,
        bench,
        posted(request, PourForm, bench=bench),
        commands.pour,
        title=_("Pour onto the strips"),
        lead=_("%(mass)s in the pail. Pour at %(low)s to %(high)s; every strip stays covered by %(mm)s mm.")
        % {
            "mass": rounded(there),
            "low": wording.figure(limits.pour_low_mc // 1000),
            "high": wording.temp(limits.pour_high_mc),
            "mm": limits.covered_mm,
        },
        word=_("Keep the pour"),
        done=lambda kept: _("Poured: %(mass)s.") % {"mass": wording.mass_g(kept.mass_mg)},
        care="wet",
        mix=mix,
    )


class LookForm(StepForm):
    is_covered = forms.BooleanField(required=False, label=gettext_lazy("All strips are covered"))
    has_crystals = forms.BooleanField(required=False, label=gettext_lazy("There are crystals"))
    min_mc = TempField(required=False, label=gettext_lazy("Room, lowest"))
    max_mc = TempField(required=False, label=gettext_lazy("Room, highest"))
    note = forms.CharField(required=False, max_length=300, label=gettext_lazy("Note"))
    field_order = ["is_covered", "has_crystals", "min_mc", "max_mc", "note", "happened_at"]


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def look(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    bench, soak = soak_of(pk, number)
    return step_page(
        request,
        bench,
        posted(request, LookForm),
        commands.look,
        title=_("Look into the tub"),
        lead=_("12 to 24 hours after the pour. Not covered: top up. Crystals: warm the room."),
        word=_("Keep the look"),
        done=_("Kept."),
        care="wet",
        go_to=reverse("batches:bench", args=[pk]),
        soak=soak,
    )


class LiftForm(AskingForm):
    min_mc = TempField(required=False, label=gettext_lazy("Room since the pour, lowest"))
    max_mc = TempField(required=False, label=gettext_lazy("Room since the pour, highest"))
    clarity = SeenField(label=gettext_lazy("The tub at lift"))
    drain_min = PiecesField(required=False, label=gettext_lazy("Drained for"), least=0, most=600, unit="min")
    field_order = ["min_mc", "max_mc", "clarity", "drain_min", "happened_at"]


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def lift(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    bench, soak = soak_of(pk, number)
    due = soak.lift_due_at()
    waited = wording.span(timezone.now() - soak.poured_at) if soak.poured_at else ""
    lead = _("In the tub for %(waited)s. Due %(due)s.") % {"waited": waited, "due": wording.moment(due)} if due else ""
    return step_page(
        request,
        bench,
        posted(request, LiftForm),
        commands.lift,
        title=_("Lift and drain"),
        lead=lead,
        word=_("The strips are lifted"),
        done=_("Lifted. Weigh the marked strips wet before bagging."),
        care="wet",
        soak=soak,
    )
