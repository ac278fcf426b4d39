"""The Share-out: the list of rounds, one round as each reads it, its steps and what to pack."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_safe

from batches.models import Instructions
from batches.queries.bags import may_go_out
from coop import wording
from coop.access import COORDINATOR, MEMBER, opens_to
from coop.models import the_club
from coop.parts import Crumb
from coop.tables import Column, Table
from members.models import Ask, HandOver, Round, RoundKeeper, Share
from members.pages.rooms import me, my_round, round_crumbs, shareout_crumbs
from members.queries import division, records, supply, worth

State = Round.State
SHAPES = {"draft": "info", "open": "waits", "closed": "soon", "shared": "fine", "ended": "fine"}
SHARE_SHAPES = {"waiting": "waits", "collected": "fine", "no_show": "info", "none": "info"}

ROUNDS = Table(
    "rounds",
    columns=(
        Column(
            "name",
            gettext_lazy("Round"),
            "name",
            sort="name",
            link=lambda one: reverse("members:round", args=[one.pk]),
            strong=True,
        ),
        Column(
            "state",
            gettext_lazy("State"),
            lambda one: (SHAPES[one.state], one.get_state_display()),
            "state",
            sort="state",
        ),
        Column("opens", gettext_lazy("Opens"), "opens_at", "moment", sort="opens_at"),
        Column("closes", gettext_lazy("Closes"), "closes_at", "moment", sort="closes_at"),
    ),
    search=("name",),
    order="-opens",
    caption=gettext_lazy("Rounds"),
)


@require_safe
@opens_to(MEMBER)
def room(request: HttpRequest) -> HttpResponse:
    """Rounds, what is open for asks now, what waits to be collected."""
    person = me(request)
    shown = ROUNDS.from_request(request, Round.objects.visible_to(person))
    if file := shown.file():
        return file
    keepers = RoundKeeper.objects.filter(person=person, round__state=State.OPEN).select_related("round")
    known = {
        "table": shown,
        "open": list(Round.objects.open()),
        "mine": {keeper.round_id for keeper in keepers},
        "asked": set(Ask.objects.filter(person=person, round__state=State.OPEN).values_list("round_id", flat=True)),
        "shares": Share.objects.to_collect().filter(person=person).select_related("round"),
        "can_plan": person.is_coordinator and Instructions.objects.current().exists(),
        "place": "shareout",
    }
    return render(request, "members/shareout.html", known)


@require_safe
@opens_to(MEMBER)
def round_page(request: HttpRequest, pk: int) -> HttpResponse:
    """One round. A coordinator sees everybody; a member what is theirs, and the rule."""
    round = my_round(request, pk)
    known: dict[str, Any] = {
        "round": round,
        "crumbs": shareout_crumbs(Crumb(round.name)),
        "doses": round.instructions.doses.select_related("hive_kind"),
        "shape": SHAPES[round.state],
        "place": "shareout",
    }
    if round.state in (State.SHARED, State.ENDED):
        return render(request, "members/division.html", {**known, **_division(request, round)})
    return render(request, "members/round.html", {**known, **_asks(request, round)})


def _asks(request: HttpRequest, round: Round) -> dict[str, Any]:
    """Who has asked and who has not, for a coordinator; one's own ask for a member."""
    person = me(request)
    keepers = list(RoundKeeper.objects.filter(round=round).select_related("person").order_by("person__name"))
    asks: dict[int, int] = {}
    for one in Ask.objects.filter(round=round):
        asks[one.person_id] = asks.get(one.person_id, 0) + one.doses
    known: dict[str, Any] = {
        "keeper": next((keeper for keeper in keepers if keeper.person_id == person.pk), None),
        "my_ask": asks.get(person.pk, 0),
        "asked": sum(asks.values()),
        "keepers": keepers,
    }
    if person.is_coordinator:
        known |= {
            "rows": [(keeper, asks[keeper.person_id]) for keeper in keepers if keeper.person_id in asks],
            "silent": [keeper for keeper in keepers if keeper.person_id not in asks],
            "on_offer": supply.on_offer(the_club().today(), round),
            "dose_costs": worth.of_a_dose(the_club().today(), round.instructions),
        }
    return known


def _division(request: HttpRequest, round: Round) -> dict[str, Any]:
    person, runs = me(request), division.counting_runs(round)
    run = runs[-1]
    rows = division.rows_of(round, runs)
    if not person.is_coordinator:
        rows = [row for row in rows if row.person.pk == person.pk]
    who = _whose(request, rows)
    sizes = sorted({line["strips"] for one in run.frozen["askers"] for line in one["lines"]})
    asked = sum(asker.ask for asker in records.askers(run.frozen))
    packed = run.strips - run.strips_left if run.goes_on_from_id is None else sum(row.strips for row in rows)
    return {
        "rows": rows,
        "run": run,
        "title": _("%(got)s for %(asked)d asked") % {"got": wording.counted(run.doses, "hive dose"), "asked": asked},
        "dose_costs": worth.of_a_dose(the_club().today(), round.instructions) if person.is_coordinator else [],
        "asked": asked,
        "hives": sum(row.hives for row in rows),
        "packed": packed,
        "dose": sizes[0] if len(sizes) == 1 else None,
        "reason": division.reason(runs, who.person) if who else None,
        "is_mine": who is not None and who.person.pk == person.pk,
        "who": who,
        "has_drawn": any(step.settled == division.DRAWN for step in division.steps_of(runs)),
        "waiting": any(row.state == Share.State.WAITING for row in rows),
        "can_run_again": round.state == State.SHARED and not HandOver.objects.filter(share__round=round).exists(),
        "shapes": SHARE_SHAPES,
    }


def _whose(request: HttpRequest, rows: list[division.Row]) -> division.Row | None:
    """Whose reason stands at the side: the one asked for, else one's own, else the first who fell short."""
    wanted = request.GET.get("who", "")
    by_person = {str(row.person.pk): row for row in rows}
    own = by_person.get(str(me(request).pk))
    short = next((row for row in rows if row.got < row.asked), rows[0] if rows else None)
    return by_person.get(wanted) or own or short


@require_safe
@opens_to(MEMBER)
def steps(request: HttpRequest, pk: int) -> HttpResponse:
    """Every step of the division, so that anybody can repeat it; names for a coordinator only."""
    round, person = my_round(request, pk), me(request)
    runs = division.counting_runs(round)
    if not runs:
        return render(
            request, "members/steps.html", {"round": round, "crumbs": round_crumbs(round), "place": "shareout"}
        )
    names = {share.person_id: share.person.name for share in Share.objects.filter(round=round).select_related("person")}
    drawn = dict(RoundKeeper.objects.filter(round=round).values_list("person_id", "drawn"))
    shown = [
        {
            "n": step.n,
            "who": names.get(step.key, "–")
            if person.is_coordinator
            else _("you")
            if step.key == person.pk
            else _("drawn number %(n)d") % {"n": drawn.get(step.key, 0)},
            "is_mine": step.key == person.pk,
            "step": step,
            "how": _STEP_WORDS[step.settled],
            "phase": "" if step.phase == "rule" else _("one dose first"),
        }
        for step in division.steps_of(runs)
    ]
    known = {
        "round": round,
        "rows": shown,
        "runs": [(run, records.is_repeatable(run)) for run in runs],
        "crumbs": [*round_crumbs(round), Crumb(_("Steps"))],
        "place": "shareout",
    }
    return render(request, "members/steps.html", known)


_STEP_WORDS = {
    "quotient": gettext_lazy("the most hives for each dose"),
    "short last time": gettext_lazy("level; shorter last time"),
    "drawn number": gettext_lazy("level; lower drawn number"),
}


@require_safe
@opens_to(COORDINATOR)
def pack(request: HttpRequest, pk: int) -> HttpResponse:
    """What to put aside for whom, bag by bag, and one link each to hand it over."""
    round = get_object_or_404(Round, pk=pk)
    shares = list(Share.objects.to_collect().filter(round=round).select_related("person"))
    picks = supply.pick_list(shares, may_go_out(the_club().today()))
    rows = [
        {
            "share": share,
            "left": supply.left_of(share),
            "picks": picks[share.pk],
            "missing": supply.left_of(share) - sum(pick.strips for pick in picks[share.pk]),
        }
        for share in sorted(shares, key=lambda one: one.person.name)
    ]
    gone = HandOver.objects.filter(share__round=round).for_list()
    known = {
        "round": round,
        "rows": rows,
        "gone": gone,
        "total": sum(supply.left_of(share) for share in shares),
        "call_url": reverse("batches:call"),
        "crumbs": [*round_crumbs(round), Crumb(_("Collection"))],
        "place": "shareout",
    }
    return render(request, "members/pack.html", known)
