"""One question a screen: the page of a bench step, its cautions, and where it goes on."""

from collections.abc import Callable
from typing import Any, NamedTuple

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from batches.limits import of_bench
from batches.models import Bench, Clarity
from batches.queries.course import course, next_step, place_of
from batches.science.limits import Limits
from coop import wording
from coop.models import Club, the_club
from coop.pages.base import DeedForm, carry_out
from coop.pages.fields import MomentField

#: refusals that are a question to whoever typed: the same again, confirmed, is kept
QUESTIONS = ("did_you_mean", "stop", "recount", "reweigh", "form", "crystals")


class StepForm(DeedForm):
    """A deed at the bench; it may be typed in later."""

    happened_at = MomentField()


class AskingForm(StepForm):
    """A form whose figures may be asked about once. The tick appears with the question."""

    confirmed = forms.BooleanField(
        required=False, widget=forms.HiddenInput, label=gettext_lazy("It is as I typed it: keep it")
    )

    def ask(self) -> None:
        self.fields["confirmed"].widget = forms.CheckboxInput()


class Caution(NamedTuple):
    """What stands over a step: a wash with a triangle, or one line with an octagon for `stop`."""

    bold: str
    rest: str = ""
    is_stop: bool = False


class SeenField(forms.ChoiceField):
    """How clear a solution looks. Never prefilled: somebody has to look."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(choices=[("", gettext_lazy("look first")), *Clarity.choices], **kwargs)


def bench_of(pk: int) -> Bench:
    return get_object_or_404(
        Bench.objects.select_related("recipe", "instructions", "recorder", "place", "blanks"), pk=pk
    )


def cautions(kind: str, club: Club, limits: Limits) -> list[Caution]:
    """The usual cautions where the step is. Hazard words come from the club's own supplier's sheet."""
    wet = Caution(_("Goggles and gloves on."), _("Water and the eye wash stand at hand."))
    hazard = (club.hazard_text.splitlines() or [""])[0]
    if kind == "acid":
        mask = _("Mask, goggles and gloves on.")
        return [Caution(mask, " ".join(f"{part.strip().rstrip('.')}." for part in (club.mask_text, hazard) if part))]
    if kind == "heat":
        smell = Caution(
            _("Sharp smell:"), _("heat off, leave the shed, let it air. A dust mask does not stop this vapour."), True
        )
        turn = _("At %(temp)s turn the heat down.") % {"temp": wording.temp(limits.turn_down_mc)}
        return [Caution(turn, _("Goggles and gloves on, fan on.")), smell]
    if kind == "wet":
        return [wet]
    return []


def step_page(
    request: HttpRequest,
    bench: Bench,
    form: StepForm,
    command: Callable[..., Any],
    /,
    *,
    title: str,
    word: str,
    done: str | Callable[[Any], str],
    care: str = "",
    lead: str = "",
    template: str = "batches/step.html",
    go_to: str = "",
    tone: str = "filled",
    more: dict[str, Any] | None = None,
    **arguments: Any,
) -> HttpResponse:
    """Draw one step, or do its deed and go on to the next. A question shows the form again with a tick to keep it."""
    status = 200
    if request.method == "POST":
        outcome = carry_out(request, form, command, **arguments)
        if outcome.done:
            messages.success(request, done(outcome.result) if callable(done) else done)
            return redirect(go_to or onward(bench))
        status = outcome.status
        if outcome.code in QUESTIONS and isinstance(form, AskingForm):
            form.ask()
    club = the_club()
    number, count = place_of(course(bench), request.get_full_path())
    known = {
        "bench": bench,
        "form": form,
        "title": title,
        "word": word,
        "lead": lead,
        "cautions": cautions(care, club, of_bench(bench)),
        "sheet": club.sheet_link,
        "call": reverse("batches:call"),
        "number": number,
        "count": count,
        "tone": tone,
        "place": "bench",
        **(more or {}),
    }
    return render(request, template, known, status=status)


def onward(bench: Bench) -> str:
    """The next step's page while the bench runs, else the bench's own."""
    bench.refresh_from_db()
    step = next_step(bench) if bench.state == Bench.State.RUNNING else None
    waits = step is not None and step.key in ("look", "lift", "start")
    return step.url if step and not waits else reverse("batches:bench", args=[bench.pk])


def posted(request: HttpRequest, form_class: type[Any], **kwargs: Any) -> Any:
    """The form with what was posted, or empty on a first visit."""
    return form_class(request.POST if request.method == "POST" else None, **kwargs)
