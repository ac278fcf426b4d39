"""At the pail: weighing in, the whole pail, heating, correcting, titrating."""

from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from batches.commands import mixing as commands
from batches.limits import of_bench
from batches.models import Bench, Clarity, Equipment, Mix, Reading, Weighing
from batches.pages.step import AskingForm, StepForm, bench_of, posted, step_page
from batches.queries.course import clear_twice
from batches.science.limits import Limits
from coop import access, wording
from coop.drawing.heat import HeatReading, temperature_curve
from coop.drawing.picture import Picture
from coop.models import Person
from coop.pages.fields import FractionField, MassField, TempField
from coop.pages.form_page import form_page
from coop.parts import Reach
from inventory.models import Container, Item, Lot, Place


def mix_of(pk: int, number: int) -> tuple[Bench, Mix]:
    """A pail by its row; 404 where it is not of this bench."""
    return bench_of(pk), get_object_or_404(Mix.objects.select_related("item", "bench"), pk=number, bench_id=pk)


def rounded(mass_mg: int) -> str:
    """A computed mass no finer than the club's finest scale tells it; a tenth of a gram where there is none."""
    steps = scales().values_list("resolution", flat=True)
    return wording.mass_g(mass_mg, wording.places_of(min(steps, default=100)))


def scales() -> Any:
    return Equipment.objects.filter(kind=Equipment.Kind.SCALE, retired_at=None)


class ScaleForm(AskingForm):
    """A form with a scale on it; where the club has one only, it is taken and not asked for."""

    scale = forms.ModelChoiceField(Equipment.objects.none(), required=False, label=gettext_lazy("Scale"))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["scale"]
        field.queryset = scales()
        if field.queryset.count() < 2:
            del self.fields["scale"]


class WeighForm(ScaleForm):
    """Net from a tared scale, or the weights before and after."""

    mass_mg = MassField(required=False, label=gettext_lazy("Net, from the tared scale"))
    tare_mg = MassField(required=False, label=gettext_lazy("Or weight before"), least=0)
    gross_mg = MassField(required=False, label=gettext_lazy("and weight after"))
    container = forms.ModelChoiceField(Container.objects.none(), required=False, label=gettext_lazy("From which drum"))
    second_eyes = forms.ModelChoiceField(
        Person.objects.none(), required=False, label=gettext_lazy("Second pair of eyes")
    )
    was_caked = forms.BooleanField(required=False, label=gettext_lazy("It was caked"))

    field_order = ["mass_mg", "tare_mg", "gross_mg", "scale", "container", "second_eyes", "was_caked", "happened_at"]

    def __init__(self, *args: Any, item: Item, mix: Mix, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields: Any = self.fields
        lot = Lot.objects.filter(item=item).first()
        fields["container"].queryset = Container.objects.filter(lot=lot, emptied_on=None)
        fields["second_eyes"].queryset = Person.objects.filter(presences__bench=mix.bench_id)
        if not fields["container"].queryset.exists():
            del fields["container"]
        if item.material is None or item.material.kind != "acid":
            del fields["was_caked"], fields["second_eyes"]


class ChooseItemForm(forms.Form):
    item = forms.ModelChoiceField(Item.objects.none(), label=gettext_lazy("What is weighed in"))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["item"]
        held = Item.objects.filter(holdings__quantity__gt=0, holdings__place__kind=Place.Kind.SHED, unit="mass")
        field.queryset = held.filter(kind__in=["lot", "returned"]).select_related("material").distinct()
        field.label_from_instance = item_words


def item_words(item: Item) -> str:
    return f"{item.material.name if item.material else _('returned solution')} {item.spaced_code}"


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def weigh(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Weigh a lot or returned solution into the pail: figure to reach, entry echoed large, bar under both."""
    bench, mix = mix_of(pk, number)
    code = request.GET.get("item", "").replace(" ", "").upper()
    item = Item.objects.filter(code=code, unit="mass").select_related("material", "lot").first()
    if item is None:
        return _choose(request, bench, mix)
    target = commands.target_of(mix, item)
    is_acid = item.material is not None and item.material.kind == "acid"
    form = posted(request, WeighForm, item=item, mix=mix)
    return step_page(
        request,
        bench,
        form,
        commands.weigh_in,
        template="batches/weigh.html",
        title=_("Weigh in %(what)s") % {"what": item.material.name if item.material else _("returned solution")},
        lead=_("Lot %(code)s. Tare the scale first.") % {"code": item.spaced_code},
        word=_("Keep the mass"),
        done=lambda kept: (
            _("Kept: %(mass)s of %(code)s.") % {"mass": wording.mass_g(kept.mass_mg), "code": item.spaced_code}
        ),
        care="acid" if is_acid else "wet",
        more={
            "reach": _reach(target, of_bench(bench)),
            "mix": mix,
            "last": mix.weighings.order_by("-id").select_related("item").first(),
        },
        mix=mix,
        item=item,
    )


def _reach(target_mg: int | None, limits: Limits) -> Reach | None:
    """The bench's own limits round the figure to reach: a part of it, or so many divisions of the scale."""
    if not target_mg:
        return None
    scale = scales().first()
    division = scale.resolution if scale else 0
    fine = max(round(target_mg * limits.part_fine_pct / 100), limits.part_fine_divisions * division)
    places = wording.places_of(scale.resolution) if scale else 0
    return Reach(target_mg, fine, max(round(target_mg * limits.part_stop_pct / 100), 2 * fine), places=places)


def _choose(request: HttpRequest, bench: Bench, mix: Mix) -> HttpResponse:
    known = {"bench": bench, "mix": mix, "form": ChooseItemForm(), "title": _("What is weighed in?"), "place": "bench"}
    return render(request, "batches/choose_item.html", known)


class PailForm(ScaleForm):
    total_mg = MassField(label=gettext_lazy("The whole pail, net"))
    field_order = ["total_mg", "scale", "happened_at"]


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def pail(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    bench, mix = mix_of(pk, number)
    expected = sum(mix.weighings.values_list("mass_mg", flat=True))
    return step_page(
        request,
        bench,
        posted(request, PailForm),
        commands.pail_check,
        title=_("Weigh the whole pail"),
        lead=_("The parts add up to %(sum)s. Take the empty pail off, or tare it.") % {"sum": rounded(expected)},
        word=_("Keep the mass"),
        done=_("Kept."),
        care="wet",
        mix=mix,
    )


class ReadForm(AskingForm):
    solution_mc = TempField(label=gettext_lazy("Solution, as the thermometer shows it"))
    bath_mc = TempField(required=False, label=gettext_lazy("Bath"))
    clarity = forms.ChoiceField(
        choices=Clarity.choices, widget=forms.RadioSelect, label=gettext_lazy("Torch at the bottom")
    )
    was_stirred = forms.BooleanField(required=False, label=gettext_lazy("Stirred"))
    thermometer = forms.ModelChoiceField(Equipment.objects.none(), required=False, label=gettext_lazy("Thermometer"))
    field_order = ["solution_mc", "clarity", "was_stirred", "bath_mc", "thermometer", "happened_at"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["thermometer"]
        field.queryset = Equipment.objects.filter(kind=Equipment.Kind.THERMOMETER, retired_at=None)
        if field.queryset.count() < 2:
            del self.fields["thermometer"]


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def heat(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Heat, stir, read: the last reading large, the curve with its ceiling, the next reading's time."""
    bench, mix = mix_of(pk, number)
    limits = of_bench(bench)
    last = mix.readings.select_related("thermometer").last()
    is_clear = clear_twice(mix)
    url = reverse("batches:heat", args=[pk, number])
    entering = last is None or request.method == "POST" or "enter" in request.GET
    return step_page(
        request,
        bench,
        posted(request, ReadForm),
        commands.read,
        template="batches/step.html" if entering else "batches/heat.html",
        title=_("Read the solution") if entering and last else _("Heat, stir, read"),
        lead=_("Stir, wait a moment, read in the middle of the pail.") if entering else "",
        word=_("Keep the reading"),
        done=lambda kept: _("Kept: %(temp)s.") % {"temp": wording.temp(kept.solution_mc, 1)},
        care="heat",
        go_to=url,
        more={
            "mix": mix,
            "advice": _advice(last, limits),
            "is_clear": is_clear,
            "may_pour": is_clear
            and last is not None
            and limits.pour_low_mc <= last.corrected_mc <= limits.pour_high_mc,
            "pour_url": reverse("batches:pour", args=[pk, number]),
            **(_last_reading(last, mix) if last and not entering else {}),
        },
        mix=mix,
    )


def _last_reading(last: Reading, mix: Mix) -> dict[str, Any]:
    """The last reading in words, when the next one is due, and the curve."""
    places = wording.places_of(last.thermometer.resolution) if last.thermometer else 1
    due = commands.due_again(last)
    off = last.corrected_mc - last.solution_mc
    return {
        "last": last,
        "shown": wording.figure(last.corrected_mc / 1000, max(places, 1)),
        "read": wording.figure(last.solution_mc / 1000, places),
        "off": wording.figure(off / 1000, 1, sign=True) if off else "",
        "expanded": wording.figure(last.expanded_mc / 1000, 1),
        "due_at": last.happened_at + due,
        "due_seconds": round(due.total_seconds()),
        "is_poured": mix.first_poured_at() is not None,
        "curve": curve_of(mix),
    }


def _advice(last: Reading | None, limits: Limits) -> tuple[str, str, str]:
    """Shape, bold words and the rest for the last reading; empty while all is fine."""
    if last is None or last.corrected_mc < limits.turn_down_mc:
        return ("", "", "")
    if last.corrected_mc > limits.ceiling_mc:
        return ("stop", _("Above the ceiling:"), _("out of the bath now, stir, read again. Go on recording."))
    if last.corrected_mc + last.expanded_mc >= limits.ceiling_mc:
        return ("soon", _("The ceiling may be reached:"), _("out of the bath now, stir, read again."))
    if last.corrected_mc >= limits.out_of_bath_mc:
        return ("soon", _("Take it out of the bath."), _("It climbs on by itself."))
    return ("soon", _("Turn the heat down now."), "")


def curve_of(mix: Mix) -> Picture:
    """The temperature curve of a pail with its ceiling; while crystals may remain it says why there is no forecast."""
    limits = of_bench(mix.bench)
    note = ""
    if not clear_twice(mix):
        note = _("No forecast while crystals may remain: dissolving takes up heat, so the curve flatters.")
    return temperature_curve(
        [
            HeatReading(one.happened_at, one.corrected_mc / 1000, one.expanded_mc / 1000, one.get_clarity_display())
            for one in mix.readings.all()
        ],
        ceiling_c=limits.ceiling_mc / 1000,
        turn_down_c=limits.turn_down_mc / 1000,
        note=note,
    )


class CorrectWeighingForm(ScaleForm):
    mass_mg = MassField(label=gettext_lazy("The right mass"), least=0, help_text=gettext_lazy("0 if it never went in."))
    reason = forms.CharField(max_length=300, label=gettext_lazy("Why"))
    field_order = ["mass_mg", "reason", "scale", "happened_at"]


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def correct_weighing(request: HttpRequest, pk: int) -> HttpResponse:
    weighing = get_object_or_404(Weighing.objects.select_related("mix__item", "item__material"), pk=pk)
    bench = bench_of(weighing.mix.bench_id)
    return step_page(
        request,
        bench,
        posted(request, CorrectWeighingForm),
        commands.correct_weighing,
        title=_("Correct a weighing"),
        lead=_("%(mass)s of %(what)s was kept. It stays in the record, with this beside it.")
        % {"mass": wording.mass_g(weighing.mass_mg), "what": item_words(weighing.item)},
        word=_("Correct it"),
        done=_("Corrected. The strength follows."),
        go_to=reverse("batches:mix", args=[weighing.mix.item.code_id]),
        weighing=weighing,
    )


class TitrateForm(StepForm):
    w_ppb = FractionField(label=gettext_lazy("Strength found, mass fraction of dihydrate"), least=1)
    u_ppb = FractionField(label=gettext_lazy("Its standard uncertainty"))
    method = forms.CharField(max_length=300, label=gettext_lazy("How, and with what"))


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def titrate(request: HttpRequest, code: str) -> HttpResponse:
    """A titrated strength replaces the computed one of a mix, a returned solution or a tub."""
    item = get_object_or_404(Item.objects.filter(kind__in=["mix", "returned", "soak"]), code=code)
    return form_page(
        request,
        posted(request, TitrateForm),
        commands.titrate,
        title=_("Titrate %(code)s") % {"code": item.spaced_code},
        lead=_("NaOH sees free acid only. On a kitchen scale do not titrate. Goggles and gloves on."),
        word=_("Keep the strength"),
        back=reverse(f"batches:{item.kind}", args=[code]),
        done=_("Kept. What was made of it follows."),
        item=item,
    )
