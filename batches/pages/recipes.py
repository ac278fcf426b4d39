"""Recipes and instructions: reading them, and writing a new version."""

from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from batches.commands import recipes as commands
from batches.models import Instructions, Recipe
from batches.pages.step import posted
from coop import access, wording
from coop.models import HiveKind
from coop.pages.base import DeedForm
from coop.pages.fields import FractionField, MassField, PiecesField
from coop.pages.form_page import form_page
from coop.parts import Crumb


def _crumbs(name: str) -> list[Crumb]:
    return [Crumb(_("Bench"), reverse("bench")), Crumb(_("Recipes"), reverse("batches:recipes")), Crumb(name)]


@require_safe
@access.opens_to(access.VOLUNTEER)
def recipe_list(request: HttpRequest) -> HttpResponse:
    """Recipes and instructions in force; older versions stay with the batches that used them."""
    known = {
        "recipes": Recipe.objects.current(),
        "instructions": Instructions.objects.current().prefetch_related("doses__hive_kind"),
        "place": "bench",
    }
    return render(request, "batches/recipes.html", known)


class RecipeForm(DeedForm):
    name = forms.CharField(
        max_length=120, label=gettext_lazy("Name"), help_text=gettext_lazy("A known name makes a new version of it.")
    )
    w_ppb = FractionField(label=gettext_lazy("Strength, mass fraction of dihydrate"), least=1, most=999_999_999)
    uptake_mg = MassField(label=gettext_lazy("Solution one strip takes up"))
    content_low_mg = MassField(label=gettext_lazy("Strip content, at least"))
    content_high_mg = MassField(label=gettext_lazy("Strip content, at most"))
    tub_mg = MassField(label=gettext_lazy("So much solution in the tub"))
    tub_strips = PiecesField(label=gettext_lazy("covers so many strips"), unit=gettext_lazy("strips"), most=100_000)
    u_w_ppb = FractionField(
        label=gettext_lazy("Standard uncertainty of a strength weighed in"), initial="0,0025", most=100_000_000
    )
    soak_hours = PiecesField(label=gettext_lazy("In the tub for"), unit="h", initial="48", most=2000)
    steps = forms.CharField(
        required=False,
        max_length=10_000,
        label=gettext_lazy("Steps, in the club's own words"),
        widget=forms.Textarea(attrs={"rows": 6}),
    )
    source = forms.CharField(max_length=300, label=gettext_lazy("Where it comes from"))


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.COORDINATOR)
def write_recipe(request: HttpRequest) -> HttpResponse:
    known = Recipe.objects.current().filter(name=request.GET.get("name", "")).first()
    return form_page(
        request,
        posted(request, RecipeForm, initial=_recipe_words(known) if known else None),
        commands.write_recipe,
        title=_("Write a recipe"),
        lead=_(
            "The figures are the club's own, no recommendation of ours. Local rules and licensed practice come first."
        ),
        word=_("Keep the recipe"),
        back=reverse("batches:recipes"),
        done=_("Kept as a new version."),
        crumbs=_crumbs(_("Write a recipe")),
    )


def _recipe_words(recipe: Recipe) -> dict[str, Any]:
    grams = ("uptake_mg", "content_low_mg", "content_high_mg", "tub_mg")
    plain: dict[str, Any] = {name: wording.figure(getattr(recipe, name) / 1000) for name in grams}
    plain |= {name: str(getattr(recipe, name) / 10**9) for name in ("w_ppb", "u_w_ppb")}
    plain |= {name: getattr(recipe, name) for name in ("name", "tub_strips", "soak_hours", "steps", "source")}
    return plain


class InstructionsForm(DeedForm):
    """One figure for each kind of hive on the club's list; empty: not for this kind."""

    name = forms.CharField(
        max_length=120, label=gettext_lazy("Name"), help_text=gettext_lazy("A known name makes a new version of it.")
    )
    days = PiecesField(label=gettext_lazy("Days in the hive"), unit=gettext_lazy("days"), most=400)
    source = forms.CharField(max_length=300, label=gettext_lazy("Where it comes from"))
    supers_text = forms.CharField(required=False, max_length=300, label=gettext_lazy("Honey supers"))
    withdrawal_text = forms.CharField(required=False, max_length=300, label=gettext_lazy("Withdrawal"))
    text = forms.CharField(
        required=False,
        max_length=10_000,
        label=gettext_lazy("What the member reads"),
        widget=forms.Textarea(attrs={"rows": 6}),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.kinds = list(HiveKind.objects.all())
        for kind in self.kinds:
            label = _("Strips for one hive: %(kind)s") % {"kind": kind.name}
            self.fields[f"dose_{kind.pk}"] = PiecesField(required=False, label=label, unit=_("strips"), most=1000)
        self.order_fields(["name", "days", *[f"dose_{kind.pk}" for kind in self.kinds]])

    def arguments(self) -> dict[str, Any]:
        given = super().arguments()
        doses = {kind.pk: given.pop(f"dose_{kind.pk}") for kind in self.kinds}
        return {**given, "doses": {kind: strips for kind, strips in doses.items() if strips}}


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.COORDINATOR)
def write_instructions(request: HttpRequest) -> HttpResponse:
    known = Instructions.objects.current().filter(name=request.GET.get("name", "")).first()
    return form_page(
        request,
        posted(request, InstructionsForm, initial=_instruction_words(known) if known else None),
        commands.write_instructions,
        title=_("Write instructions"),
        lead=_("Hive doses are the club's own, with their source. No dose is built in."),
        word=_("Keep the instructions"),
        back=reverse("batches:recipes"),
        done=_("Kept as a new version."),
        crumbs=_crumbs(_("Write instructions")),
    )


def _instruction_words(known: Instructions) -> dict[str, Any]:
    plain: dict[str, Any] = {
        name: getattr(known, name) for name in ("name", "days", "source", "supers_text", "withdrawal_text", "text")
    }
    return plain | {f"dose_{dose.hive_kind_id}": dose.strips for dose in known.doses.all()}
