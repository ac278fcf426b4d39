"""Scales and thermometers: adding, checking, doubting."""

from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from batches.commands import equipment as commands
from batches.models import Equipment, EquipmentCheck
from batches.pages.step import StepForm, bench_of, posted, step_page
from coop import access, wording
from coop.pages.base import DeedForm
from coop.pages.fields import MassField, TempField
from coop.pages.form_page import form_page
from coop.parts import Crumb

SHAPES = {"fine": "fine", "warn": "soon", "bad": "stop"}


def _crumbs(name: str) -> list[Crumb]:
    return [Crumb(_("Bench"), reverse("bench")), Crumb(_("Instruments"), reverse("batches:equipment")), Crumb(name)]


def in_words(equipment: Equipment, value: int) -> str:
    return wording.mass_g(value) if equipment.kind == Equipment.Kind.SCALE else wording.temp(value, 1)


@require_safe
@access.opens_to(access.VOLUNTEER)
def equipment_list(request: HttpRequest) -> HttpResponse:
    rows = list(Equipment.objects.filter(retired_at=None))
    last: dict[int, EquipmentCheck] = {}
    for check in EquipmentCheck.objects.filter(equipment__in=rows).order_by("happened_at", "id"):
        last[check.equipment_id] = check
    lines = [
        {
            "equipment": one,
            "last": last.get(one.pk),
            "shape": SHAPES[last[one.pk].verdict] if one.pk in last else "soon",
            "step": in_words(one, one.resolution),
            "most": in_words(one, one.capacity),
        }
        for one in rows
    ]
    return render(request, "batches/equipment.html", {"lines": lines, "place": "bench"})


class AddScaleForm(DeedForm):
    name = forms.CharField(max_length=80, label=gettext_lazy("Name"))
    resolution = MassField(label=gettext_lazy("Smallest step it shows"))
    capacity = MassField(label=gettext_lazy("Most it can show"))
    note = forms.CharField(required=False, max_length=300, label=gettext_lazy("Note"))


class AddThermometerForm(DeedForm):
    name = forms.CharField(max_length=80, label=gettext_lazy("Name"))
    resolution = TempField(label=gettext_lazy("Smallest step it shows"), least=1)
    capacity = TempField(label=gettext_lazy("Most it can show"), least=1)
    u_check = TempField(label=gettext_lazy("Standard uncertainty of its checks"), least=0, initial="0,3")
    note = forms.CharField(required=False, max_length=300, label=gettext_lazy("Note"))


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.COORDINATOR)
def add(request: HttpRequest, kind: str) -> HttpResponse:
    is_scale = kind == Equipment.Kind.SCALE
    return form_page(
        request,
        posted(request, AddScaleForm if is_scale else AddThermometerForm),
        commands.add_equipment,
        title=_("Add a scale") if is_scale else _("Add a thermometer"),
        word=_("Add the scale") if is_scale else _("Add the thermometer"),
        back=reverse("batches:equipment"),
        done=_("Added. Check it before it is used."),
        crumbs=_crumbs(_("Add")),
        kind=kind,
    )


class CheckScaleForm(StepForm):
    equipment = forms.ModelChoiceField(Equipment.objects.none(), label=gettext_lazy("Scale"))
    reference = MassField(label=gettext_lazy("Check mass, near the load"))
    reading = MassField(label=gettext_lazy("The scale shows"), least=0)
    field_order = ["equipment", "reference", "reading", "happened_at"]


class CheckThermometerForm(StepForm):
    equipment = forms.ModelChoiceField(Equipment.objects.none(), label=gettext_lazy("Thermometer"))
    reference = TempField(label=gettext_lazy("The other one shows, in the same tap water"))
    reading = TempField(label=gettext_lazy("This one shows"))
    field_order = ["equipment", "reference", "reading", "happened_at"]


def _check_form(request: HttpRequest, kind: str) -> Any:
    form = posted(request, CheckScaleForm if kind == Equipment.Kind.SCALE else CheckThermometerForm)
    field = form.fields["equipment"]
    field.queryset = Equipment.objects.filter(kind=kind, retired_at=None)
    chosen = request.GET.get("equipment", "")
    first = field.queryset.filter(pk=chosen).first() if chosen.isdigit() else field.queryset.first()
    field.initial = first.pk if first else None
    return form


def _judged(check: EquipmentCheck) -> str:
    off = (
        wording.percent(check.deviation, 1_000_000, 2, sign=True)
        if check.equipment.kind == "scale"
        else wording.temp(check.deviation, 1, sign=True)
    )
    words = {
        "fine": _("Fine: %(off)s."),
        "warn": _("Near its limit: %(off)s."),
        "bad": _("Off by %(off)s: take another one. What was weighed with it may need a hold."),
    }
    return words[check.verdict] % {"off": off}


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def check(request: HttpRequest, pk: int, kind: str) -> HttpResponse:
    """A check at the bench, before the work or after it."""
    bench = bench_of(pk)
    return step_page(
        request,
        bench,
        _check_form(request, kind),
        commands.check_equipment,
        title=_("Check the scale") if kind == "scale" else _("Check the thermometer"),
        lead=_("A check mass near the load.") if kind == "scale" else _("In the same tap water as another one."),
        word=_("Keep the check"),
        done=_judged,
        bench=bench,
    )


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def check_alone(request: HttpRequest, kind: str) -> HttpResponse:
    """A check apart from a bench."""
    return form_page(
        request,
        _check_form(request, kind),
        commands.check_equipment,
        title=_("Check the scale") if kind == "scale" else _("Check the thermometer"),
        word=_("Keep the check"),
        back=reverse("batches:equipment"),
        done=_("Kept."),
        crumbs=_crumbs(_("Check")),
    )


class DoubtForm(DeedForm):
    reason = forms.CharField(max_length=300, label=gettext_lazy("Why it is doubted"))


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def doubt(request: HttpRequest, pk: int) -> HttpResponse:
    """Put on hold everything weighed or measured with it since its last good check."""
    equipment = get_object_or_404(Equipment, pk=pk)
    return form_page(
        request,
        posted(request, DoubtForm),
        commands.hold_from_instrument,
        title=_("Doubt %(name)s") % {"name": equipment.name},
        lead=_(
            "What was weighed or measured with it since its last good check goes on hold, and all that was made of it."
        ),
        word=_("Put it on hold"),
        tone="rust",
        back=reverse("batches:equipment"),
        done=_("On hold."),
        crumbs=_crumbs(equipment.name),
        equipment=equipment,
    )


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.COORDINATOR)
def retire(request: HttpRequest, pk: int) -> HttpResponse:
    equipment = get_object_or_404(Equipment, pk=pk)
    return form_page(
        request,
        posted(request, DeedForm),
        commands.retire_equipment,
        title=_("Retire %(name)s") % {"name": equipment.name},
        lead=_("It is no longer offered. What was weighed with it keeps naming it."),
        word=_("Retire it"),
        back=reverse("batches:equipment"),
        done=_("Retired."),
        crumbs=_crumbs(equipment.name),
        equipment=equipment,
    )
