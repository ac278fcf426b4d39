"""A soak and its release: every check as figure, limit, bar and verdict; the decision apart, at the side."""

import dataclasses
from typing import Any

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from batches import team
from batches.commands import deciding as commands
from batches.models import Deviation, Soak, Weighing
from batches.pages import costs
from batches.pages.bench import team_names
from batches.pages.checks import counts, shown_rows
from batches.pages.items import soak_by_code, soak_crumbs, soak_facts, state_of, strips_in_bags, thing
from batches.pages.mixing import curve_of
from batches.pages.step import posted
from batches.queries import balance
from batches.queries.release import ReleaseTable, release_table
from coop import access, wording
from coop.drawing.division import BalancePart, balance_bar
from coop.drawing.picture import Picture
from coop.drawing.strips import strip_sample
from coop.pages.base import DeedForm
from coop.pages.form_page import form_page
from coop.parts import Crumb
from coop.shed import is_shed_phone


@require_safe
@access.opens_to(access.VOLUNTEER)
def soak_page(request: HttpRequest, code: str) -> HttpResponse:
    """The record of a soak with its release table; whoever may decide finds the decision at the side."""
    return _soak_page(request, soak_by_code(code))


@require_safe
@access.opens_to(access.RELEASER)
def release_page(request: HttpRequest, code: str) -> HttpResponse:
    """The same page for a releaser, who need not be a volunteer."""
    return _soak_page(request, soak_by_code(code))


def _soak_page(request: HttpRequest, soak: Soak) -> HttpResponse:
    person: Any = request.user
    common = thing(soak.item)
    if not person.is_volunteer:
        common["stops"] = [dataclasses.replace(stop, url="") for stop in common["stops"]]
    shape, word = state_of(soak, common["holds"])
    is_judged = soak.lifted_at is not None and soak.bags.exists()
    table = release_table(soak, releaser=person if person.is_releaser else None) if is_judged else None
    known = {
        **common,
        **soak_facts(soak),
        "soak": soak,
        "bench": soak.bench,
        "title": _title(soak),
        "crumbs": way_here(person, soak),
        "shape": shape,
        "word": word,
        "rows": shown_rows(table, soak, person) if table else [],
        "counts": counts(table) if table else {},
        "cost": costs.of_soak(soak) if person.is_volunteer else None,
        "team": team_names(soak.bench),
        "is_shed_phone": is_shed_phone(request),
        **_decision_facts(person, soak, table),
        **_record(soak),
    }
    return render(request, "batches/soak.html", known)


def _decision_facts(person: Any, soak: Soak, table: ReleaseTable | None) -> dict[str, Any]:
    """What is still open, and whether this reader decides. A reason that was accepted stands under its row already."""
    is_closed = soak.bench.closed_at is not None
    about = Deviation.objects.about(soak).select_related("opened__actor", "decided__actor", "reasoned__actor")
    said = {row.deviation.pk for row in table.reasons if row.deviation and row.is_accepted} if table else set()
    open_ones = [one for one in about if not one.is_accepted]
    questions = commands.open_questions(soak)
    return {
        "questions": questions,
        "deviations": [one for one in about if one.pk not in said],
        "blocking": open_ones,
        "is_ready": table is not None
        and not table.never
        and not open_ones
        and not questions
        and all(row.is_accepted for row in table.reasons),
        "was_there": person.pk in team.team_of(soak.bench),
        "can_decide": person.is_releaser and soak.state not in Soak.DECIDED and is_closed,
        "can_put_right": person.is_volunteer and soak.lifted_at is not None and soak.state != Soak.State.ABANDONED,
        "releases": soak.releases.select_related("person"),
    }


def _record(soak: Soak) -> dict[str, Any]:
    """The bench record of the soak: who decides from elsewhere reads it here."""
    pours = list(soak.pours.select_related("mix__item", "mix__bench"))
    mixes = list({pour.mix_id: pour.mix for pour in pours}.values())
    return {
        "sample": _sample(soak),
        "balance": _balance(soak),
        "bags": soak.bags.select_related("item", "parent__item"),
        "looks": soak.looks.all(),
        "pours": pours,
        "mixes": mixes,
        "weighings": Weighing.objects.filter(mix__in=mixes).select_related("item__material", "mix").order_by("id"),
        "curves": [(mix, curve_of(mix)) for mix in mixes if mix.readings.exists()],
    }


def way_here(person: Any, soak: Soak) -> list[Crumb]:
    """The crumbs; for a releaser who is no volunteer without the links that do not open to him."""
    way = soak_crumbs(soak)
    return way if person.is_volunteer else [Crumb(crumb.name) for crumb in way]


def _title(soak: Soak) -> str:
    if soak.state == Soak.State.RELEASED:
        return _("%(strips)s, released") % {"strips": wording.counted(soak.strips)}
    if soak.lifted_at is None:
        return _("%(strips)s in the tub") % {"strips": wording.counted(soak.strips)}
    return _("Release of %(strips)s") % {"strips": wording.counted(soak.strips)}


def _sample(soak: Soak) -> Picture | None:
    """The marked strips against the recipe's uptake."""
    took = [(one.wet_mg - one.dry_mg) / 1000 for one in soak.marked.order_by("n") if one.wet_mg is not None]
    if not took:
        return None
    mean = wording.with_unit(sum(took) / len(took), "g", 2)
    return strip_sample(
        took,
        target_g=soak.bench.recipe.uptake_mg / 1000,
        title=_("%(n)s marked strips, uptake") % {"n": wording.spelled(len(took)).capitalize()},
        lead=_("Mean %(mean)s a strip.") % {"mean": mean},
    )


def _balance(soak: Soak) -> Picture | None:
    tub = balance.of_soak(soak)
    if tub is None or soak.lifted_at is None:
        return None
    share = float(tub.found.pct_of_poured)
    parts = [
        BalancePart(_("bags, net"), tub.bags_mg, "pine"),
        BalancePart(_("returned solution"), tub.returned_mg, "mid"),
        BalancePart(_("retained, wiped"), tub.retained_mg + tub.losses_mg, "slate"),
        BalancePart(
            _("unexplained"), tub.found.unexplained_mg, "ink", f"{wording.figure(share, 2, sign=True)}{wording.NARROW}%"
        ),
    ]
    return balance_bar(
        _("What went in and what came out"),
        _("in the tub"),
        parts,
        lead=_("By mass, in the soak."),
        note=_("Of %(poured)s poured.") % {"poured": wording.mass_g(tub.poured_mg)},
    )


class DecideForm(DeedForm):
    note = forms.CharField(
        required=False,
        max_length=500,
        label=gettext_lazy("A word for the record"),
        widget=forms.Textarea(attrs={"rows": 4}),
    )


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.RELEASER, fresh=True)
def decide(request: HttpRequest, code: str, verdict: str) -> HttpResponse:
    """Release, send back to rework, or reject: one page, one button, after a fresh code."""
    soak = soak_by_code(code)
    strips = wording.counted(strips_in_bags(soak))
    choices: dict[str, tuple[Any, str, str, str]] = {
        "release": (
            commands.release_soak,
            _("Release %(strips)s") % {"strips": strips},
            "filled",
            _("Released. The bags may be handed over."),
        ),
        "rework": (commands.send_to_rework, _("Send back to rework"), "filled", _("Sent back.")),
        "reject": (commands.reject_soak, _("Reject the batch"), "rust", _("Rejected. Nothing of it goes out.")),
    }
    if verdict not in choices:
        raise Http404
    command, word, tone, done = choices[verdict]
    back = reverse("batches:release", args=[code])
    return form_page(
        request,
        posted(request, DecideForm),
        command,
        title=word,
        lead=_("Soak %(code)s of %(day)s. On the bench were %(team)s.")
        % {"code": soak.item.spaced_code, "day": wording.day(soak.bench.day), "team": team_names(soak.bench)},
        word=word,
        tone=tone,
        back=back,
        done=done,
        crumbs=way_here(request.user, soak),
        soak=soak,
    )


class DeviationDecisionForm(DeedForm):
    is_accepted = forms.TypedChoiceField(
        choices=[("yes", gettext_lazy("It may pass")), ("no", gettext_lazy("It may not pass"))],
        coerce=lambda answer: answer == "yes",
        widget=forms.RadioSelect,
        label=gettext_lazy("Your decision"),
    )
    decision = forms.CharField(required=False, max_length=300, label=gettext_lazy("In your words"))


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.VOLUNTEER)
def decide_deviation(request: HttpRequest, pk: int) -> HttpResponse:
    """A second person decides on a deviation."""
    return _decide_deviation(request, pk)


@require_http_methods(["GET", "HEAD", "POST"])
@access.opens_to(access.RELEASER)
def releaser_decides_deviation(request: HttpRequest, pk: int) -> HttpResponse:
    """The same for a releaser, who need not be a volunteer."""
    return _decide_deviation(request, pk)


def _decide_deviation(request: HttpRequest, pk: int) -> HttpResponse:
    deviation = get_object_or_404(Deviation.objects.select_related("bench", "soak__item", "opened__actor"), pk=pk)
    soak = deviation.soak or deviation.bench.soaks.select_related("item").first()
    user: Any = request.user
    name = "batches:soak" if user.is_volunteer else "batches:release"
    back = reverse(name, args=[soak.item.code_id]) if soak else reverse("batches:bench", args=[deviation.bench_id])
    return form_page(
        request,
        posted(request, DeviationDecisionForm),
        commands.decide_deviation,
        title=_("Decide on a deviation"),
        lead=deviation.text,
        texts=[_("Reason given: %(reason)s") % {"reason": deviation.reason}] if deviation.reason else [],
        word=_("Keep the decision"),
        back=back,
        done=_("Kept."),
        deviation=deviation,
    )
