"""A few blanks on the scale, dry and wet: boxes in pairs, or so many at once."""

from typing import Any, NamedTuple

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from coop import wording
from coop.access import COORDINATOR, opens_to
from coop.pages.base import DeedForm, carry_out
from coop.pages.fields import MassField, MomentField, PiecesField
from inventory.commands import samples
from inventory.models import Material, StripSample
from inventory.pages.common import lot, lot_crumbs
from inventory.science import strips

PAIRS = 10


class SampleForm(DeedForm):
    """Up to ten pairs of boxes; or a count with one or two totals."""

    count = PiecesField(label=gettext_lazy("How many together"), required=False, most=samples.MOST_STRIPS)
    dry_total = MassField(label=gettext_lazy("All of them dry"), required=False)
    wet_total = MassField(label=gettext_lazy("All of them wet"), required=False)
    confirmed = forms.BooleanField(
        label=gettext_lazy("The figures are right"), required=False, widget=forms.HiddenInput
    )
    note = forms.CharField(label=gettext_lazy("Note"), max_length=300, required=False)
    happened_at = MomentField()  # type: ignore[assignment]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for number in range(1, PAIRS + 1):
            words = {"number": number}
            self.fields[f"dry_{number}"] = MassField(label=_("Strip %(number)d dry") % words, required=False)
            self.fields[f"wet_{number}"] = MassField(label=_("Strip %(number)d wet") % words, required=False)
            for name in (f"dry_{number}", f"wet_{number}"):
                self.fields[name].widget.attrs["aria-label"] = self.fields[name].label

    def clean(self) -> dict[str, Any]:
        """Either strip by strip or together, and no gap in the pairs."""
        found: dict[str, Any] = super().clean() or {}
        pairs = [(found.get(f"dry_{n}"), found.get(f"wet_{n}")) for n in range(1, PAIRS + 1)]
        dry, wet = [one for one, _wet in pairs if one], [two for _dry, two in pairs if two]
        lone = next((n for n, (one, two) in enumerate(pairs, 1) if two and not one), None)
        half = next((n for n, (one, two) in enumerate(pairs, 1) if one and wet and not two), None)
        together = any(found.get(name) for name in ("count", "dry_total", "wet_total"))
        if lone or half:
            name = f"dry_{lone}" if lone else f"wet_{half}"
            self.add_error(name, _("Weigh each strip dry and wet, or all of them only dry."))
        if together and dry:
            self.add_error("count", _("Enter strips one by one, or together, not both."))
        elif together and not (found.get("count") and found.get("dry_total")) and not self.errors:
            self.add_error("count", _("Together: say how many, and what they weigh dry."))
        found["dry_mg"], found["wet_mg"] = dry, wet
        return found

    def arguments(self) -> dict[str, Any]:
        found = self.cleaned_data
        known = {"note": found["note"], "confirmed": found["confirmed"]}
        if not found.get("count"):
            return {**known, "dry_mg": found["dry_mg"], "wet_mg": found["wet_mg"]}
        dry = {"count": found["count"], "total_mg": found["dry_total"]}
        wet = {"count": found["count"], "total_mg": found["wet_total"]} if found.get("wet_total") else []
        return {**known, "dry_mg": dry, "wet_mg": wet}

    @property
    def pairs(self) -> list[list[Any]]:
        return [[self[f"dry_{number}"], self[f"wet_{number}"]] for number in range(1, PAIRS + 1)]

    @property
    def together(self) -> list[Any]:
        return [self[name] for name in ("count", "dry_total", "wet_total")]

    @property
    def is_together(self) -> bool:
        return any(one.value() or one.errors for one in self.together)

    @property
    def rest(self) -> list[Any]:
        return [self[name] for name in ("confirmed", "note", "happened_at") if not self[name].is_hidden]


class SampleRow(NamedTuple):
    """One sample for the lot's page, in words."""

    row: StripSample
    strips: str
    dry: str
    uptake: str


def rows_of(samples_of_lot: Any) -> list[SampleRow]:
    found = []
    for row in samples_of_lot:
        dry, wet = samples.read(row.dry_mg), samples.read(row.wet_mg)
        uptake = figure_words(strips.uptake(dry, wet)) if strips.count_of(wet) else wording.NOTHING
        found.append(SampleRow(row, wording.counted(strips.count_of(dry)), figure_words(strips.figure(dry)), uptake))
    return found


def figure_words(figure: strips.Figure) -> str:
    """ "11.8 g ± 0.3 g": the mean, and the spread of single strips where it is known."""
    mean = wording.mass_g(figure.mean_mg, 2)
    if figure.spread_mg is None:
        return mean
    return _("%(mean)s ± %(spread)s") % {"mean": mean, "spread": wording.mass_g(figure.spread_mg, 2)}


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def measure(request: HttpRequest, code: str) -> HttpResponse:
    """The boxes, and afterwards the means on the lot's page."""
    item = lot(code)
    if item.material is None or item.material.kind != Material.Kind.STRIP:
        raise Http404
    form = SampleForm(request.POST) if request.method == "POST" else SampleForm()
    status = 200
    if request.method == "POST":
        outcome = carry_out(request, form, samples.measure_strips, item=item)
        if outcome.done:
            [row] = rows_of([outcome.result])
            words = {"dry": row.dry, "uptake": row.uptake}
            messages.success(request, _("Kept. One strip weighs %(dry)s dry and takes up %(uptake)s.") % words)
            return redirect("inventory:lot", code=item.code_id)
        status = outcome.status
    known = {"form": form, "item": item, "crumbs": lot_crumbs(item)}
    return render(request, "inventory/strip_sample.html", known, status=status)
