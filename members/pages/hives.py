"""The Hives: what is in and due, strips held, apiaries and their hives, and the treatment record."""

import dataclasses
import datetime as dt
from typing import Any

from django.db.models import F
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_safe

from coop import wording
from coop.access import MEMBER, opens_to
from coop.command import new_key
from coop.drawing.timeline import Stay, timeline
from coop.models import Person, the_club
from coop.parts import Crumb
from coop.tables import Column, Filter, Table
from coop.thread import ThreadStop
from members.models import Apiary, Hive, Treatment
from members.pages.rooms import hives_crumbs, me, my_apiary
from members.pages.threads import of_treatment
from members.queries import held


@dataclasses.dataclass(frozen=True)
class Inside:
    """Strips in one apiary, as its keeper reads it."""

    treatment: Treatment
    hives: int
    strips: int
    day: int
    days: int
    shape: str
    word: str
    stops: list[ThreadStop]
    key: str = dataclasses.field(default_factory=new_key)


def inside(treatment: Treatment, person: Person, today: dt.date) -> Inside:
    lines = [line for line in treatment.lines.all() if line.still_in]
    days = treatment.instructions.days
    left = (treatment.due_on - today).days
    shape, word = "waits", _("due out %(away)s") % {"away": wording.away(treatment.due_on, today)}
    if left < 0:
        shape, word = "overdue", _("overdue, %(days)s") % {"days": wording.counted(-left, "day")}
    elif left <= 7:
        shape = "soon"
    return Inside(
        treatment=treatment,
        hives=len({line.hive_id for line in lines}),
        strips=sum(line.still_in for line in lines),
        day=max(0, (today - treatment.in_on).days),
        days=days,
        shape=shape,
        word=word,
        stops=of_treatment(treatment, person),
    )


def _still_in(apiaries: Any) -> list[Treatment]:
    rows = Treatment.objects.still_in().filter(apiary__in=apiaries).select_related("apiary__keeper", "instructions")
    return list(rows.prefetch_related("lines").order_by("due_on", "id"))


@require_safe
@opens_to(MEMBER)
def room(request: HttpRequest) -> HttpResponse:
    """One's own apiaries: the one that is due first stands large, the others in one line each."""
    person, today = me(request), the_club().today()
    apiaries = list(Apiary.objects.filter(keeper=person).with_hives(today).for_list())
    treatments = _still_in(apiaries)
    first = treatments[0] if treatments else None
    due: dict[int, Treatment] = {}
    for one in treatments:
        due.setdefault(one.apiary_id, one)
    known = {
        "first": inside(first, person, today) if first else None,
        "others": _others(apiaries, due, first, today),
        "apiaries": apiaries,
        "has_hives": any(apiary.hives_now for apiary in apiaries),  # type: ignore[attr-defined]
        "bags": held.bags_of(person),
        "strips": held.strips_of(person),
        "place": "hives",
    }
    return render(request, "members/hives.html", known)


def _others(
    apiaries: list[Apiary], due: dict[int, Treatment], first: Treatment | None, today: dt.date
) -> list[dict[str, Any]]:
    """The other apiaries in one line each: due, or when the last strips came out, or nothing in."""
    rest = [apiary for apiary in apiaries if first is None or apiary.pk != first.apiary_id]
    last_out: dict[int, dt.date] = {}
    ended = Treatment.objects.filter(apiary__in=apiaries, out_on__isnull=False).order_by("out_on")
    for apiary_id, day in ended.values_list("apiary_id", "out_on"):
        assert day is not None
        last_out[apiary_id] = day
    found = []
    for apiary in rest:
        treatment = due.get(apiary.pk)
        if treatment is not None:
            late = treatment.due_on < today
            shape, word, day = ("overdue" if late else "waits"), _("due out"), treatment.due_on
        elif apiary.pk in last_out:
            shape, word, day = "fine", _("out"), last_out[apiary.pk]
        else:
            shape, word, day = "info", _("no strips in"), None
        found.append({"apiary": apiary, "shape": shape, "word": word, "day": day})
    return found


@require_safe
@opens_to(MEMBER)
def apiary_page(request: HttpRequest, pk: int) -> HttpResponse:
    """One apiary: what is in, its hives, and what was in before."""
    apiary, person, today = my_apiary(request, pk), me(request), the_club().today()
    past = list(Treatment.objects.filter(apiary=apiary).select_related("instructions")[:12])
    known = {
        "apiary": apiary,
        "insides": [inside(one, person, today) for one in _still_in([apiary])],
        "hives": Hive.objects.filter(apiary=apiary)
        .select_related("kind", "came_from", "merged_into")
        .order_by(F("until_on").desc(nulls_first=True), "id"),
        "strips": held.strips_of(apiary.keeper),
        "free_hives": len(held.untreated_hives(apiary, today)),
        "picture": timeline(
            [Stay(wording.day(one.in_on), one.in_on, one.due_on, one.out_on) for one in past],
            title=_("Strips in and out"),
            today=today,
        )
        if past
        else None,
        "crumbs": hives_crumbs(Crumb(apiary.name)),
        "place": "hives",
    }
    return render(request, "members/apiary.html", known)


def _state(treatment: Treatment) -> tuple[str, str]:
    if treatment.out_on is not None:
        return ("fine", _("out"))
    return ("overdue", _("overdue")) if treatment.due_on < timezone.localdate() else ("waits", _("in"))


TREATMENTS = Table(
    "treatments",
    columns=(
        Column(
            "apiary",
            gettext_lazy("Apiary"),
            "apiary.name",
            sort="apiary__name",
            link=lambda one: reverse("members:treatment", args=[one.pk]),
            strong=True,
        ),
        Column("keeper", gettext_lazy("Keeper"), "apiary.keeper.name", sort="apiary__keeper__name"),
        Column("hives", gettext_lazy("Hives"), "hives", "number"),
        Column("strips", gettext_lazy("Strips in"), "strips_in", "pieces"),
        Column("in", gettext_lazy("In on"), "in_on", "date", sort="in_on"),
        Column("due", gettext_lazy("Due out"), "due_on", "date", sort="due_on"),
        Column("out", gettext_lazy("Out on"), "out_on", "date", sort="out_on"),
        Column("gone", gettext_lazy("Chewed away"), "strips_chewed", "pieces"),
        Column("state", gettext_lazy("State"), _state, "state"),
    ),
    filters=(
        Filter(
            "out",
            gettext_lazy("Strips"),
            "out_on__isnull",
            [(True, gettext_lazy("still in")), (False, gettext_lazy("out"))],
        ),
    ),
    search=("apiary__name", "apiary__keeper__name"),
    order="-in",
    caption=gettext_lazy("Strips in and out"),
)


@require_safe
@opens_to(MEMBER)
def treatments(request: HttpRequest) -> HttpResponse:
    """The treatment record: one's own, everybody's for a coordinator. ?state=overdue leaves what is overdue."""
    rows = Treatment.objects.visible_to(me(request)).for_list()
    today = the_club().today()
    is_overdue = request.GET.get("state") == "overdue"
    if is_overdue:
        rows = rows.overdue(today)
    shown = TREATMENTS.from_request(request, rows)
    if file := shown.file():
        return file
    known = {"table": shown, "is_overdue": is_overdue, "crumbs": hives_crumbs(Crumb(_("Record"))), "place": "hives"}
    return render(request, "members/treatments.html", known)
