"""The Bench room: what runs, what waits, planning a batch, opening and closing it."""

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from batches.commands import bench as commands
from batches.commands.deciding import open_deviation
from batches.models import Bench, Presence, Recipe, Soak
from batches.pages.mixing import rounded
from batches.pages.step import StepForm, bench_of, posted, step_page
from batches.queries.course import course
from coop import access, wording
from coop.models import Person, the_club
from coop.models.people import Role
from coop.pages.base import DeedForm, carry_out
from coop.pages.fields import TempField
from coop.parts import Crumb
from coop.shed import is_shed_phone
from coop.tables import Column, Table
from inventory.models import Item

GEAR = [
    ("goggles", gettext_lazy("goggles")),
    ("gloves", gettext_lazy("gloves")),
    ("mask", gettext_lazy("mask")),
    ("apron", gettext_lazy("apron")),
]
READY = [
    ("water", gettext_lazy("running water")),
    ("eye_wash", gettext_lazy("eye wash")),
    ("first_aid", gettext_lazy("first aid box")),
    ("spill_powder", gettext_lazy("spill powder")),
]
PAST = Table(
    "benches",
    columns=[
        Column(
            "day",
            gettext_lazy("Day"),
            lambda row: row.day,
            kind="date",
            sort="day",
            link=lambda row: reverse("batches:bench", args=[row.pk]),
        ),
        Column("recipe", gettext_lazy("Recipe"), lambda row: row.recipe.name, sort="recipe__name"),
        Column("state", gettext_lazy("State"), lambda row: row.get_state_display(), sort="state"),
        Column(
            "strips", gettext_lazy("Strips"), lambda row: sum(soak.strips for soak in row.soaks.all()), kind="pieces"
        ),
        Column("recorder", gettext_lazy("Recorded by"), lambda row: row.recorder.name if row.recorder else ""),
    ],
    search=("recipe__name", "recorder__name"),
    order="-day",
)


def crumbs(bench: Bench | None = None) -> list[Crumb]:
    way = [Crumb(_("Bench"), reverse("bench"))]
    return [*way, Crumb(batch_name(bench), reverse("batches:bench", args=[bench.pk]))] if bench else way


def batch_name(bench: Bench) -> str:
    return _("Batch of %(day)s") % {"day": wording.day(bench.day)}


@require_safe
@access.opens_to(access.VOLUNTEER)
def bench_room(request: HttpRequest) -> HttpResponse:
    """What runs, what soaks, what waits for release; all benches below."""
    shown = PAST.from_request(request, Bench.objects.for_list())
    answer = shown.file()
    if answer is not None:
        return answer
    now, running = timezone.now(), list(Bench.objects.open().for_list())
    soaking = [
        {"soak": soak, "hours": wording.span(now - soak.poured_at) if soak.poured_at else "", "due": soak.lift_due_at()}
        for soak in Soak.objects.in_the_tub().for_list()
    ]
    known = {
        "open": running,
        "go_on": _mine_first(running, request.user),
        "soaking": soaking,
        "waiting": Soak.objects.waiting_for_release().for_list(),
        "table": shown,
        "can_plan": Recipe.objects.current().exists(),
        "is_shed_phone": is_shed_phone(request),
        "place": "bench",
    }
    return render(request, "batches/bench_room.html", known)


def _mine_first(benches: list[Bench], person: Any) -> Bench | None:
    """The bench to go on with: the one this person records, else the newest that runs, else the newest planned."""
    return max(
        benches,
        key=lambda bench: (bench.recorder_id == person.pk, bench.state == Bench.State.RUNNING, bench.day, bench.pk),
        default=None,
    )


@require_safe
@access.opens_to(access.VOLUNTEER)
def bench_page(request: HttpRequest, pk: int) -> HttpResponse:
    """One bench: the next step as the one big button, all steps below, the plan at the side."""
    bench = bench_of(pk)
    steps = course(bench)
    upcoming = next((step for step in steps if not step.is_done), None) if bench.is_open else None
    soaks = list(bench.soaks.select_related("item").order_by("number"))
    known = {
        "bench": bench,
        "title": batch_name(bench),
        "crumbs": [*crumbs(), Crumb(batch_name(bench))],
        "steps": steps,
        "next": upcoming,
        "plan": _plan_lines(bench),
        "team": bench.presences.select_related("person"),
        "soaks": soaks,
        "judged": next((soak for soak in soaks if soak.state in ("lifted", "rework")), None),
        "done": [step for step in steps if step.is_done],
        "ahead": [step for step in steps if not step.is_done],
        "is_shed_phone": is_shed_phone(request),
        "mixes": bench.mixes.select_related("item__solution").order_by("number"),
        "deviations": bench.deviations.select_related("opened__actor", "decided__actor"),
        "is_recorder": bench.recorder_id == request.user.pk,
        "place": "bench",
    }
    return render(request, "batches/bench.html", known)


def _plan_lines(bench: Bench) -> list[dict[str, Any]]:
    plans = bench.plan.get("mixes", [])
    ids = [line["item"] for mix in plans for line in mix["lines"]]
    items = {item.pk: item for item in Item.objects.filter(pk__in=ids).select_related("material")}
    return [
        {"mix": number, "item": items[line["item"]], "mass": rounded(line["mass_mg"]), "role": line["role"]}
        for number, mix in enumerate(plans, 1)
        for line in mix["lines"]
    ]


class StartForm(StepForm):
    people = forms.ModelMultipleChoiceField(
        Person.objects.none(),
        widget=forms.CheckboxSelectMultiple,
        label=gettext_lazy("Who is here, two at least"),
        error_messages={"required": gettext_lazy("Tick who is here. One person alone handles no acid.")},
    )
    gear = forms.MultipleChoiceField(
        choices=GEAR,
        widget=forms.CheckboxSelectMultiple,
        label=gettext_lazy("Everybody has on, or at hand"),
        error_messages={"required": gettext_lazy("Goggles and gloves for everything wet.")},
    )
    ready = forms.MultipleChoiceField(
        choices=READY,
        widget=forms.CheckboxSelectMultiple,
        label=gettext_lazy("Stands ready"),
        error_messages={"required": gettext_lazy("Water, eye wash, first aid and spill powder stand ready first.")},
    )
    room_mc = TempField(required=False, label=gettext_lazy("Room"), least=0, most=45_000)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        crew: Any = self.fields["people"]
        crew.queryset = Person.objects.here().filter(role__in=[Role.VOLUNTEER, Role.COORDINATOR])

    def arguments(self) -> dict[str, Any]:
        given = super().arguments()
        gear, people = given.pop("gear"), given.pop("people")
        return {**given, "presence": [{"person": person, "gear": gear} for person in people]}


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def start(request: HttpRequest, pk: int) -> HttpResponse:
    bench = bench_of(pk)
    form = posted(request, StartForm, initial={"people": [request.user.pk]})
    return step_page(
        request,
        bench,
        form,
        commands.start_bench,
        title=_("Open the bench"),
        lead=_("You record from here on. One person alone handles no acid."),
        word=_("Open the bench"),
        done=_("The bench is open."),
        care="wet",
        bench=bench,
    )


class JoinForm(StepForm):
    person = forms.ModelChoiceField(Person.objects.none(), label=gettext_lazy("Who"))
    gear = forms.MultipleChoiceField(
        choices=GEAR, required=False, widget=forms.CheckboxSelectMultiple, label=gettext_lazy("Has on")
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        who: Any = self.fields["person"]
        who.queryset = Person.objects.here()


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def join(request: HttpRequest, pk: int) -> HttpResponse:
    bench = bench_of(pk)
    return step_page(
        request,
        bench,
        posted(request, JoinForm),
        commands.join_bench,
        title=_("Somebody else is here"),
        lead=_("Whoever was at the bench does not release what was made there."),
        word=_("Note who is here"),
        done=_("Noted."),
        go_to=reverse("batches:bench", args=[bench.pk]),
        bench=bench,
    )


@require_http_methods(["POST"])
@access.opens_to(access.VOLUNTEER)
def take_over(request: HttpRequest, pk: int) -> HttpResponse:
    return _one_press(request, bench_of(pk), commands.take_over, _("You record from here on."))


@require_http_methods(["POST"])
@access.opens_to(access.VOLUNTEER)
def add_mix(request: HttpRequest, pk: int) -> HttpResponse:
    return _one_press(request, bench_of(pk), commands.add_mix, _("One more pail stands on this bench."))


def _one_press(request: HttpRequest, bench: Bench, command: Any, done: str) -> HttpResponse:
    form = DeedForm(request.POST)
    outcome = carry_out(request, form, command, bench=bench)
    if outcome.done:
        messages.success(request, done)
    else:
        messages.error(request, " ".join(str(error) for errors in form.errors.values() for error in errors))
    return redirect("batches:bench", pk=bench.pk)


class CloseForm(StepForm):
    note = forms.CharField(
        required=False,
        max_length=300,
        label=gettext_lazy("A word for the record"),
        widget=forms.Textarea(attrs={"rows": 3}),
    )


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def close(request: HttpRequest, pk: int) -> HttpResponse:
    bench = bench_of(pk)
    return step_page(
        request,
        bench,
        posted(request, CloseForm),
        commands.close_bench,
        title=_("Close the bench"),
        lead=_(
            "Tub empty, bath off, waste as the supplier's sheet says, key returned. What is left is then unexplained."
        ),
        word=_("Close the bench"),
        done=_("Closed. Somebody who was not here decides on the release."),
        care="wet",
        bench=bench,
    )


class AbandonForm(StepForm):
    reason = forms.CharField(max_length=300, label=gettext_lazy("Why"), widget=forms.Textarea(attrs={"rows": 3}))


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def abandon(request: HttpRequest, pk: int) -> HttpResponse:
    bench = bench_of(pk)
    return step_page(
        request,
        bench,
        posted(request, AbandonForm),
        commands.abandon_bench,
        title=_("Stop here for good"),
        lead=_("What was made stays in the book under its own code; nothing of it will be released."),
        word=_("Abandon the batch"),
        tone="rust",
        done=_("Abandoned. What stands in pails and tubs keeps its codes."),
        bench=bench,
    )


class DeviationForm(StepForm):
    text = forms.CharField(max_length=300, label=gettext_lazy("What happened"))
    reason = forms.CharField(
        required=False, max_length=500, label=gettext_lazy("Why it may pass"), widget=forms.Textarea(attrs={"rows": 3})
    )


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def deviation(request: HttpRequest, pk: int) -> HttpResponse:
    """Something was not as planned; `?row=` names the row of the release table it is about."""
    bench = bench_of(pk)
    kind = request.GET.get("row", "other")[:24]
    soak = bench.soaks.filter(item__code=request.GET.get("soak", "")).first()
    return step_page(
        request,
        bench,
        posted(request, DeviationForm, initial={"text": request.GET.get("text", "")[:300]}),
        open_deviation,
        title=_("Not as planned"),
        lead=_("A second person decides whether it may pass."),
        word=_("Note the deviation"),
        done=_("Noted. A second person decides."),
        go_to=reverse("batches:soak", args=[soak.item.code_id]) if soak else reverse("batches:bench", args=[bench.pk]),
        bench=bench,
        kind=kind,
        soak=soak,
    )


def team_names(bench: Bench) -> str:
    return wording.listed([row.person.name for row in Presence.objects.filter(bench=bench).select_related("person")])


@require_safe
@access.opens_to(access.MEMBER)
def call(request: HttpRequest) -> HttpResponse:
    """Whom to call: the shed's address for the ambulance, the poison line, first aid, the supplier's sheet."""
    return render(request, "batches/call.html", {"club": the_club(), "place": "bench"})
