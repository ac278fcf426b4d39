"""Planning a batch: how much, from which recipe, in which shed."""

from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from batches.commands.planning import plan_bench
from batches.models import Instructions, Recipe
from batches.pages.bench import crumbs
from coop import access, wording
from coop.models import the_club
from coop.pages.base import DeedForm
from coop.pages.fields import DayField, MassField, PiecesField
from coop.pages.form_page import filled, form_page
from coop.parts import Crumb
from inventory.models import Item, Place


class PlanForm(DeedForm):
    """How much is to be made, from which recipe. One of hives' strips, a mass, or solution to use up."""

    day = DayField(label=gettext_lazy("Day"), initial=lambda: the_club().today())
    recipe = forms.ModelChoiceField(Recipe.objects.none(), label=gettext_lazy("Recipe"))
    instructions = forms.ModelChoiceField(
        Instructions.objects.none(), required=False, label=gettext_lazy("Instructions")
    )
    strips = PiecesField(required=False, label=gettext_lazy("Strips wanted"), unit=gettext_lazy("strips"))
    target_mg = MassField(required=False, label=gettext_lazy("Or solution wanted"))
    use_up = forms.ModelChoiceField(
        Item.objects.none(), required=False, label=gettext_lazy("Or use up this returned solution")
    )
    returned = forms.ModelMultipleChoiceField(
        Item.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label=gettext_lazy("Returned solution to take in"),
    )
    blanks = forms.ModelChoiceField(Item.objects.none(), required=False, label=gettext_lazy("Strip blanks"))
    place = forms.ModelChoiceField(Place.objects.none(), label=gettext_lazy("In which shed"))
    mixes = PiecesField(label=gettext_lazy("Pails"), initial="1", most=9)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields: Any = self.fields
        stored = Item.objects.filter(holdings__quantity__gt=0, holdings__place__kind=Place.Kind.SHED).distinct()
        solution = stored.filter(kind=Item.Kind.RETURNED).select_related("solution")
        fields["recipe"].queryset = Recipe.objects.current()
        fields["instructions"].queryset = Instructions.objects.current()
        fields["use_up"].queryset = fields["returned"].queryset = solution
        fields["blanks"].queryset = stored.filter(material__kind="strip").select_related("material")
        fields["place"].queryset = Place.objects.filter(kind=Place.Kind.SHED, is_closed=False)
        for name in ("recipe", "instructions", "place", "blanks"):
            first = fields[name].queryset.first()
            fields[name].initial = first.pk if first and name != "blanks" else None
        for name in ("recipe", "instructions"):
            fields[name].label_from_instance = _version_words
        for name in ("use_up", "returned"):
            fields[name].label_from_instance = _solution_words
        fields["blanks"].label_from_instance = lambda item: f"{item.material.name} {item.spaced_code}"

    def arguments(self) -> dict[str, Any]:
        given = super().arguments()
        given["returned"] = [{"item": item, "mass_mg": None} for item in given["returned"]]
        return {name: value for name, value in given.items() if value not in (None, "", [])}


def _version_words(one: Recipe | Instructions) -> str:
    return _("%(name)s, version %(n)s") % {"name": one.name, "n": one.version}


def _solution_words(item: Item) -> str:
    strength = getattr(item, "solution", None)
    return f"{item.spaced_code}, w {wording.fraction(strength.w_ppb if strength else None)}"


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.COORDINATOR)
def plan(request: HttpRequest) -> HttpResponse:
    """Plan a batch; what cannot be made says what is short and the most that can be made."""
    return form_page(
        request,
        filled(request, PlanForm),
        plan_bench,
        title=_("Plan a batch"),
        lead=_(
            "Give the strips wanted, or the solution wanted, or returned solution to use up. First expiring goes first."
        ),
        word=_("Plan the batch"),
        back=reverse("bench"),
        done=_("Planned. The figures to reach stand below."),
        crumbs=[*crumbs(), Crumb(_("Plan"))],
        go_to=lambda made: reverse("batches:bench", args=[made.pk]),
    )
