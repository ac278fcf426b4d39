"""Deeds of a keeper: apiaries and hives, strips in, strips out, a date put right."""

from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from coop.access import MEMBER, opens_to
from coop.models import HiveKind
from coop.pages.base import DeedForm
from coop.pages.fields import DayField, PiecesField
from coop.pages.form_page import filled, form_page
from coop.parts import Crumb
from members.commands import apiaries as commands
from members.models import Apiary, Hive
from members.pages.rooms import apiary_crumbs, hives_crumbs, my_apiary

BOTH = ["GET", "HEAD", "POST"]


def _url(apiary: Apiary) -> str:
    return reverse("members:apiary", args=[apiary.pk])


class ApiaryForm(DeedForm):
    name = forms.CharField(label=gettext_lazy("Name"), max_length=80)
    where = forms.CharField(
        label=gettext_lazy("Roughly where"),
        max_length=120,
        required=False,
        help_text=gettext_lazy("A village is enough: no address, hives get stolen."),
    )


class HivesForm(DeedForm):
    kind = forms.ModelChoiceField(
        label=gettext_lazy("Kind of hive"), queryset=HiveKind.objects.all(), empty_label=None, widget=forms.RadioSelect
    )
    count = PiecesField(label=gettext_lazy("How many"), initial="1", most=200, unit=gettext_lazy("hives"))
    from_on = DayField(label=gettext_lazy("There since, if not today"), required=False)


class HiveChoice(forms.ModelMultipleChoiceField):  # type: ignore[type-arg]
    def label_from_instance(self, obj: Any) -> str:
        return f"{obj.label}, {obj.kind}"


class OneHive(forms.ModelChoiceField):  # type: ignore[type-arg]
    def label_from_instance(self, obj: Any) -> str:
        return f"{obj.label}, {obj.kind}"


class EndForm(DeedForm):
    hives = HiveChoice(
        label=gettext_lazy("Which hives"), queryset=Hive.objects.none(), widget=forms.CheckboxSelectMultiple
    )
    ending = forms.ChoiceField(
        label=gettext_lazy("What happened"), choices=Hive.Ending.choices, widget=forms.RadioSelect
    )
    into = OneHive(label=gettext_lazy("Merged into"), queryset=Hive.objects.none(), required=False)
    to_apiary = forms.ModelChoiceField(label=gettext_lazy("Moved to"), queryset=Apiary.objects.none(), required=False)
    until_on = DayField(label=gettext_lazy("On which day, if not today"), required=False)

    def __init__(self, *args: Any, apiary: Apiary, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        here = Hive.objects.filter(apiary=apiary, until_on=None).select_related("kind").order_by("id")
        _narrow(self, "hives", here)
        _narrow(self, "into", here)
        _narrow(self, "to_apiary", Apiary.objects.filter(keeper=apiary.keeper_id).exclude(pk=apiary.pk))

    def arguments(self) -> dict[str, Any]:
        given = super().arguments()
        return {**given, "hives": list(given["hives"])}


class SplitForm(DeedForm):
    hive = OneHive(label=gettext_lazy("Made from"), queryset=Hive.objects.none(), empty_label=None)
    kind = forms.ModelChoiceField(
        label=gettext_lazy("Kind of the new hive"), queryset=HiveKind.objects.all(), empty_label=None
    )
    label = forms.CharField(label=gettext_lazy("Its mark, if not the next number"), max_length=40, required=False)
    from_on = DayField(label=gettext_lazy("On which day, if not today"), required=False)

    def __init__(self, *args: Any, apiary: Apiary, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _narrow(self, "hive", Hive.objects.filter(apiary=apiary, until_on=None).select_related("kind").order_by("id"))


def _narrow(form: forms.Form, name: str, rows: Any) -> None:
    field = form.fields[name]
    assert isinstance(field, forms.ModelChoiceField)
    field.queryset = rows


@require_http_methods(BOTH)
@opens_to(MEMBER)
def add_apiary(request: HttpRequest) -> HttpResponse:
    return form_page(
        request,
        filled(request, ApiaryForm),
        commands.add_apiary,
        title=_("Add an apiary"),
        lead=_("A place where you keep hives. Strips go in and out by apiary, and one reminder comes for each."),
        word=_("Add the apiary"),
        back=reverse("hives"),
        done=_("Added. Now its hives."),
        crumbs=hives_crumbs(Crumb(_("Add an apiary"))),
        go_to=lambda apiary: reverse("members:add_hives", args=[apiary.pk]),
    )


@require_http_methods(BOTH)
@opens_to(MEMBER)
def change_apiary(request: HttpRequest, pk: int) -> HttpResponse:
    apiary = my_apiary(request, pk)
    return form_page(
        request,
        filled(request, ApiaryForm, initial={"name": apiary.name, "where": apiary.where}),
        commands.change_apiary,
        title=_("Change %(apiary)s") % {"apiary": apiary.name},
        word=_("Keep the change"),
        back=_url(apiary),
        done=_("Changed."),
        crumbs=apiary_crumbs(apiary),
        apiary=apiary,
    )


@require_http_methods(BOTH)
@opens_to(MEMBER)
def add_hives(request: HttpRequest, pk: int) -> HttpResponse:
    apiary = my_apiary(request, pk)
    return form_page(
        request,
        filled(request, HivesForm),
        commands.add_hives,
        title=_("Hives at %(apiary)s") % {"apiary": apiary.name},
        lead=_("They are numbered on. What stands here when a round opens is what asks count up to."),
        word=_("Add the hives"),
        back=_url(apiary),
        done=_("The hives are on the list."),
        crumbs=apiary_crumbs(apiary),
        apiary=apiary,
    )


@require_http_methods(BOTH)
@opens_to(MEMBER)
def hive_changed(request: HttpRequest, pk: int) -> HttpResponse:
    apiary = my_apiary(request, pk)
    return form_page(
        request,
        filled(request, EndForm, apiary=apiary),
        commands.end_hives,
        title=_("A hive changed"),
        lead=_("Lost, sold, merged or moved. Strips that were in it stay on the record, and are still due out."),
        word=_("Note the change"),
        back=_url(apiary),
        done=_("Noted."),
        crumbs=apiary_crumbs(apiary),
    )


@require_http_methods(BOTH)
@opens_to(MEMBER)
def split_hive(request: HttpRequest, pk: int) -> HttpResponse:
    apiary = my_apiary(request, pk)
    return form_page(
        request,
        filled(request, SplitForm, apiary=apiary),
        commands.split_hive,
        title=_("A hive was split"),
        lead=_("The new one is on the list from then on, and the book knows where it came from."),
        word=_("Add the new hive"),
        back=_url(apiary),
        done=_("The new hive is on the list."),
        crumbs=apiary_crumbs(apiary),
    )
