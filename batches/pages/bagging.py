"""After the lift: bags, the retained sample, solution that goes back, losses that were seen."""

from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from batches.commands import bagging as commands
from batches.commands.splitting import split_bag, split_off
from batches.models import Bag
from batches.pages.mixing import ScaleForm, mix_of, rounded
from batches.pages.soaking import soak_of
from batches.pages.step import SeenField, StepForm, posted, step_page
from batches.queries.course import liquid_at, strips_at
from coop import access, wording
from coop.pages.base import DeedForm
from coop.pages.fields import CodeField, DayField, FractionField, MassField, PiecesField
from coop.pages.form_page import form_page
from coop.parts import Crumb
from inventory.models import Place


class BagForm(ScaleForm):
    strips = PiecesField(label=gettext_lazy("Strips in the bag"), unit=gettext_lazy("strips"))
    tare_mg = MassField(required=False, label=gettext_lazy("Empty bag"), least=0)
    gross_mg = MassField(required=False, label=gettext_lazy("Full bag"))
    net_mg = MassField(required=False, label=gettext_lazy("Or net, from the tared scale"))
    code = CodeField(
        required=False,
        label=gettext_lazy("Pre-printed code of the bag"),
        help_text=gettext_lazy("Empty: a new code is drawn."),
    )
    has_label = forms.BooleanField(required=False, label=gettext_lazy("The label is on"))
    field_order = ["strips", "tare_mg", "gross_mg", "net_mg", "code", "has_label", "scale", "happened_at"]


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def bag_in(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    bench, soak = soak_of(pk, number)
    left = strips_at(soak)
    return step_page(
        request,
        bench,
        posted(request, BagForm),
        commands.bag,
        title=_("Bag and weigh"),
        lead=_("%(strips)s are in no bag yet.") % {"strips": wording.counted(left)},
        word=_("Keep the bag"),
        done=lambda kept: (
            _("%(strips)s in %(code)s.") % {"strips": wording.counted(kept.strips), "code": kept.item.spaced_code}
        ),
        care="wet",
        more={"bags": soak.bags.filter(parent=None).select_related("item")},
        soak=soak,
    )


class SampleForm(ScaleForm):
    strips = PiecesField(label=gettext_lazy("Strips kept back"), unit=gettext_lazy("strips"))
    net_mg = MassField(required=False, label=gettext_lazy("Net"))
    code = CodeField(required=False, label=gettext_lazy("Pre-printed code"))
    field_order = ["strips", "net_mg", "code", "scale", "happened_at"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["confirmed"]


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def sample_in(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    bench, soak = soak_of(pk, number)
    return step_page(
        request,
        bench,
        posted(request, SampleForm),
        commands.retain_sample,
        title=_("Keep a sample"),
        lead=_("For later doubt, apart from the bags. The ten marked strips go into bags like the others."),
        word=_("Keep the sample"),
        done=_("Kept back."),
        care="wet",
        soak=soak,
    )


class BackForm(ScaleForm):
    mass_mg = MassField(label=gettext_lazy("Solution that goes back"))
    container = forms.CharField(required=False, max_length=80, label=gettext_lazy("Into which can"))
    clarity = SeenField(label=gettext_lazy("It is"))
    code = CodeField(required=False, label=gettext_lazy("Pre-printed code of the can"))
    field_order = ["mass_mg", "container", "clarity", "code", "scale", "happened_at"]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["confirmed"]


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def back(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Returned solution out of a tub."""
    bench, soak = soak_of(pk, number)
    return _put_back(request, bench, liquid_at(soak.item), soak=soak)


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def back_from_pail(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """Returned solution out of a pail that was not emptied."""
    bench, mix = mix_of(pk, number)
    return _put_back(request, bench, liquid_at(mix.item), mix=mix)


def _put_back(request: HttpRequest, bench: Any, there: int, **arguments: Any) -> HttpResponse:
    return step_page(
        request,
        bench,
        posted(request, BackForm),
        commands.return_solution,
        title=_("Put the solution back"),
        lead=_("The book has %(mass)s there. Scrape the drip tray back in first.") % {"mass": rounded(there)},
        word=_("Put it on the shelf"),
        done=lambda kept: _("On the shelf as %(code)s.") % {"code": kept.item.spaced_code},
        care="wet",
        **arguments,
    )


class LossForm(StepForm):
    mass_mg = MassField(required=False, label=gettext_lazy("Solution lost"), least=0)
    strips = PiecesField(
        required=False, label=gettext_lazy("Strips spoiled or missing"), least=0, unit=gettext_lazy("strips")
    )
    note = forms.CharField(max_length=300, label=gettext_lazy("What happened"))
    is_destroyed = forms.BooleanField(
        required=False, label=gettext_lazy("It was destroyed as the supplier's sheet says")
    )
    field_order = ["mass_mg", "strips", "note", "is_destroyed", "happened_at"]

    def arguments(self) -> dict[str, Any]:
        given = super().arguments()
        return {**given, "mass_mg": given["mass_mg"] or 0, "strips": given["strips"] or 0}


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def loss(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    """A loss that somebody saw, out of a tub: wiped, spilt, spoiled."""
    bench, soak = soak_of(pk, number)
    return _lost(request, bench, soak=soak)


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def loss_from_pail(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    bench, mix = mix_of(pk, number)
    return _lost(request, bench, mix=mix)


def _lost(request: HttpRequest, bench: Any, **arguments: Any) -> HttpResponse:
    return step_page(
        request,
        bench,
        posted(request, LossForm),
        commands.declare_loss,
        title=_("Note a loss"),
        lead=_("What somebody saw go: wiped, spilt, spoiled. What nobody saw is unexplained and is computed."),
        word=_("Note the loss"),
        done=_("Noted."),
        care="wet",
        go_to=reverse("batches:bench", args=[bench.pk]),
        **arguments,
    )


class EnterSolutionForm(DeedForm):
    """Returned solution from before this book began. Never prefilled: what is not known is titrated first."""

    mass_mg = MassField(label=gettext_lazy("How much"))
    place = forms.ModelChoiceField(Place.objects.none(), label=gettext_lazy("In which shed"))
    w_ppb = FractionField(label=gettext_lazy("Strength, mass fraction of dihydrate"), least=1, most=999_999_999)
    u_ppb = FractionField(label=gettext_lazy("Its standard uncertainty"))
    is_titrated = forms.BooleanField(required=False, label=gettext_lazy("The strength was titrated"))
    reuse = PiecesField(label=gettext_lazy("Soaks it has been in"), least=0, most=9, unit="")
    reheats = PiecesField(label=gettext_lazy("Times it was heated again"), least=0, most=9, unit="")
    clarity = SeenField(label=gettext_lazy("It is"))
    best_before = DayField(required=False, label=gettext_lazy("Best before"))
    code = CodeField(required=False, label=gettext_lazy("Pre-printed code of the can"))
    note = forms.CharField(required=False, max_length=300, label=gettext_lazy("Note"))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        shed: Any = self.fields["place"]
        shed.queryset = Place.objects.filter(kind=Place.Kind.SHED, is_closed=False)


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.COORDINATOR)
def enter_solution(request: HttpRequest) -> HttpResponse:
    """A can that stood in the shed before the book began."""
    return form_page(
        request,
        posted(request, EnterSolutionForm),
        commands.enter_solution,
        title=_("Enter returned solution"),
        lead=_("A can from before this book began. It gets a code, a strength and its history."),
        word=_("Put it on the shelf"),
        back=reverse("bench"),
        done=_("On the shelf. Write the code on the can."),
        go_to=lambda item: reverse("batches:returned", args=[item.code_id]),
        crumbs=[Crumb(_("Bench"), reverse("bench")), Crumb(_("Returned solution"))],
    )


def bag_of(code: str) -> Bag:
    return get_object_or_404(Bag.objects.for_list(), item__code=code)


class SplitForm(DeedForm):
    strips = PiecesField(label=gettext_lazy("Strips for the part"), unit=gettext_lazy("strips"))
    code = CodeField(required=False, label=gettext_lazy("Pre-printed code of the part"))


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def split(request: HttpRequest, code: str) -> HttpResponse:
    bag = bag_of(code)
    return form_page(
        request,
        posted(request, SplitForm),
        split_bag,
        title=_("Take a part of %(code)s") % {"code": bag.item.spaced_code},
        lead=_("The part gets a code and a label of its own. Goggles and gloves on."),
        word=_("Split the bag"),
        back=reverse("batches:bag", args=[code]),
        done=_("Split. Write the code on the part."),
        go_to=lambda part: reverse("batches:bag", args=[part.item.code_id]),
        bag=bag,
    )


class SplitOffForm(DeedForm):
    reason = forms.CharField(max_length=300, label=gettext_lazy("Why"))


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def take_out(request: HttpRequest, code: str) -> HttpResponse:
    """Split a bag off its batch: it is never released with the others."""
    bag = bag_of(code)
    return form_page(
        request,
        posted(request, SplitOffForm),
        split_off,
        title=_("Split %(code)s off its batch") % {"code": bag.item.spaced_code},
        lead=_("This bag then does not go out with the others."),
        word=_("Split it off"),
        tone="rust",
        back=reverse("batches:bag", args=[code]),
        done=_("Split off. It does not go out."),
        bag=bag,
    )


class CorrectBagForm(ScaleForm):
    tare_mg = MassField(required=False, label=gettext_lazy("Empty bag"), least=0)
    gross_mg = MassField(required=False, label=gettext_lazy("Full bag"))
    net_mg = MassField(required=False, label=gettext_lazy("Or net"))
    has_label = forms.BooleanField(required=False, label=gettext_lazy("The label is on"))
    reason = forms.CharField(max_length=300, label=gettext_lazy("Why"))
    field_order = ["tare_mg", "gross_mg", "net_mg", "has_label", "reason", "scale", "happened_at"]


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def correct_bag(request: HttpRequest, code: str) -> HttpResponse:
    bag = bag_of(code)
    return form_page(
        request,
        posted(request, CorrectBagForm, initial={"has_label": bag.has_label}),
        commands.correct_bag,
        title=_("Weigh %(code)s again") % {"code": bag.item.spaced_code},
        lead=_("It was %(net)s for %(strips)s.")
        % {"net": wording.mass_g(bag.net_mg), "strips": wording.counted(bag.strips)},
        word=_("Correct the bag"),
        back=reverse("batches:bag", args=[code]),
        done=_("Corrected."),
        bag=bag,
    )
