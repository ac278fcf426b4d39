"""A soak and its release: every check as figure, limit, bar and verdict; the decision apart, at the side."""

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
from batches.models import Deviation, Soak
from batches.pages.bench import team_names
from batches.pages.items import soak_by_code, soak_crumbs, soak_facts, state_of, thing
from batches.pages.step import posted
from batches.queries import balance
from batches.queries.release import ReleaseTable, release_table
from coop import access, wording
from coop.drawing import marks
from coop.drawing.division import BalancePart, balance_bar
from coop.drawing.picture import Picture
from coop.drawing.strips import strip_sample
from coop.pages.base import DeedForm
from coop.pages.form_page import form_page
from coop.parts import LimitRow

VERDICTS = {
    "pass": ("fine", gettext_lazy("pass")),
    "reason": ("soon", gettext_lazy("reason")),
    "never": ("stop", gettext_lazy("never")),
}


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
    common = thing(soak.item)
    shape, word = state_of(soak, common["holds"])
    is_judged = soak.lifted_at is not None and soak.bags.exists()
    table = release_table(soak, releaser=request.user) if is_judged else None
    known = {
        **common,
        **soak_facts(soak),
        "soak": soak,
        "bench": soak.bench,
        "title": _title(soak),
        "crumbs": soak_crumbs(soak),
        "shape": shape,
        "word": word,
        "table": table,
        "rows": _rows(table, soak) if table else [],
        "counts": _counts(table) if table else {},
        "sample": _sample(soak),
        "balance": _balance(soak),
        "questions": commands.open_questions(soak),
        "deviations": Deviation.objects.about(soak).select_related(
            "opened__actor", "decided__actor", "reasoned__actor"
        ),
        "team": team_names(soak.bench),
        "was_there": request.user.pk in team.team_of(soak.bench),
        "can_decide": request.user.is_releaser and soak.state not in Soak.DECIDED and soak.bench.closed_at is not None,  # type: ignore[union-attr]
        "releases": soak.releases.select_related("person"),
        "bags": soak.bags.select_related("item", "parent__item"),
        "looks": soak.looks.all(),
        "pours": soak.pours.select_related("mix__item"),
    }
    return render(request, "batches/soak.html", known)


def _title(soak: Soak) -> str:
    if soak.state == Soak.State.RELEASED:
        return _("%(strips)s, released") % {"strips": wording.counted(soak.strips)}
    if soak.lifted_at is None:
        return _("%(strips)s in the tub") % {"strips": wording.counted(soak.strips)}
    return _("Release of %(strips)s") % {"strips": wording.counted(soak.strips)}


def _rows(table: ReleaseTable, soak: Soak) -> list[dict[str, Any]]:
    rows = []
    for row in table.rows:
        shape, word = VERDICTS[row.verdict]
        deviation = row.deviation
        line = LimitRow(
            name=row.label,
            figure=row.figure,
            limit=row.limit,
            state=shape,
            verdict=str(word),
            bar=marks.limit_bar(row.value, row.low, row.high, uncertainty=row.u or 0)
            if row.value is not None
            else marks.SafeString(""),
            reason=_reason(deviation) if deviation else "",
            said=deviation.reason if deviation else "",
            after=_decision(deviation) if deviation else "",
        )
        rows.append(line)
    return rows


def _reason(deviation: Deviation) -> str:
    by = deviation.reasoned or deviation.opened
    return _("Reason, %(name)s, %(day)s:") % {"name": by.actor.name, "day": wording.moment(by.happened_at)}


def _decision(deviation: Deviation) -> str:
    if deviation.decided is None:
        return _("Waits for a second person.")
    verdict = _("accepted") if deviation.is_accepted else _("not accepted")
    return _("Decided by %(name)s, %(day)s: %(verdict)s.") % {
        "name": deviation.decided.actor.name,
        "day": wording.moment(deviation.decided.happened_at),
        "verdict": verdict,
    }


def _counts(table: ReleaseTable) -> dict[str, int]:
    return {
        "pass": sum(row.verdict == "pass" for row in table.rows),
        "accepted": sum(row.verdict == "reason" and row.is_accepted for row in table.rows),
        "reason": sum(row.verdict == "reason" and not row.is_accepted for row in table.rows),
        "never": len(table.never),
    }


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
    strips = wording.counted(soak.strips)
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
        crumbs=soak_crumbs(soak),
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
        lead=f"{deviation.text} {deviation.reason}".strip(),
        word=_("Keep the decision"),
        back=back,
        done=_("Kept."),
        deviation=deviation,
    )
