"""The outlook: what will be left when, what to buy by when, and what changes if a hold is lifted or a bench slips."""

import datetime as dt
from typing import Any, NamedTuple

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_safe

from coop import wording
from coop.access import VOLUNTEER, opens_to
from coop.command import Refused
from coop.models import the_club
from coop.parts import Crumb
from coop.tables import Column, Table
from inventory import holds, outlook, what_if
from inventory import outlook_words as say
from inventory.amounts import amount
from inventory.models import Hold, Material
from inventory.outlook import Demand, Outlook
from inventory.pages import outlook_parts as parts
from inventory.pages.common import crumbs, pair
from inventory.science.outlook import Step
from inventory.what_if import WhatIf

SLIPS = dt.timedelta(days=14)


class Choice(NamedTuple):
    word: str
    url: str
    is_current: bool


def _amount(get: Any) -> Any:
    """A column's pair: milligrams or pieces of the row's material."""
    return lambda row: pair(get(row), row.material.unit, row.material)


OUTLOOKS = Table(
    "outlook",
    columns=(
        Column(
            "material",
            gettext_lazy("Material"),
            "material.name",
            sort="material",
            link=lambda row: reverse("inventory:outlook_of", args=[row.material.pk]) + _until_of(row),
            strong=True,
        ),
        Column("counted", gettext_lazy("Counted"), _amount(lambda row: row.projection.start), "amount"),
        Column(
            "safety",
            gettext_lazy("Safety"),
            lambda row: pair(row.terms.safety, row.material.unit, row.material) if row.terms.safety else None,
            "amount",
        ),
        Column("breached", gettext_lazy("Breached on"), "projection.breached_on", "date", sort="breached"),
        Column("out", gettext_lazy("Runs out on"), "projection.runs_out_on", "date", sort="out"),
        Column("order_by", gettext_lazy("Order by"), "order_by", "date", sort="order_by"),
        Column(
            "buy",
            gettext_lazy("Buy"),
            lambda row: pair(row.projection.buy, row.material.unit, row.material) if row.projection.buy else None,
            "amount",
            strong=True,
        ),
        Column("state", gettext_lazy("State"), say.state, "state"),
    ),
    caption=gettext_lazy("Outlook of every material, the most urgent first"),
    nothing=gettext_lazy("No material is on the list yet."),
)


class StepRow(NamedTuple):
    day: dt.date
    what: str
    change: tuple[int | None, int | None, str] | None
    balance: tuple[int | None, int | None, str]
    url: str = ""


STEPS = Table(
    "outlook-steps",
    columns=(
        Column("day", gettext_lazy("Day"), "day", "date", sort="day"),
        Column("what", gettext_lazy("What"), "what", link=lambda row: row.url),
        Column("change", gettext_lazy("Change"), "change", "amount"),
        Column("balance", gettext_lazy("Balance"), "balance", "amount", strong=True),
    ),
    caption=gettext_lazy("The projected balance, step by step"),
    per_page=500,
)


def _until_of(row: Outlook) -> str:
    return "" if row.until == outlook.default_until(row.today) else f"?until={row.until.isoformat()}"


@opens_to(VOLUNTEER)
@require_safe
def outlook_page(request: HttpRequest) -> HttpResponse:
    """Every material with what to buy by when; the most urgent first, the title is the answer."""
    today = the_club().today()
    asked, trouble = _asked(request.GET, today)
    rows = sorted(outlook.for_materials(today, until=asked.until), key=lambda row: row.urgency)
    table = OUTLOOKS.from_request(request, rows)
    known = {
        "title": _headline(rows),
        "table": table,
        "rows": rows,
        "until": asked.until,
        "trouble": trouble,
        "crumbs": crumbs(Crumb(_("Outlook"))),
    }
    return table.file() or render(request, "inventory/outlook.html", known)


def _headline(rows: list[Outlook]) -> str:
    wanted = [row for row in rows if row.projection.buy]
    now = [row.material.name for row in wanted if row.is_order_now]
    dated = [row for row in wanted if row.order_by is not None]
    if not rows:
        return _("The outlook")
    if len(now) > 2:
        return _("Order %(count)s materials now") % {"count": wording.spelled(len(now)).lower()}
    if now:
        return _("Order now: %(names)s") % {"names": wording.listed(now)}
    if dated and dated[0].order_by is not None:
        day = say.day_of(dated[0].order_by, dated[0].today)
        return _("Next to order, by %(day)s: %(name)s") % {"day": day, "name": dated[0].material.name}
    if wanted:
        return _("To buy: %(names)s") % {"names": wording.listed(row.material.name for row in wanted[:2])}
    return _("Nothing to order to %(day)s") % {"day": say.end_of(rows[0])}


@opens_to(VOLUNTEER)
@require_safe
def material_outlook(request: HttpRequest, pk: int) -> HttpResponse:
    """One material from today to a day. In the address: until, lifted (holds), bench and to, or moved."""
    material = get_object_or_404(Material.objects.select_related("supplier"), pk=pk)
    today = the_club().today()
    asked, trouble = _asked(request.GET, today)
    found = outlook.for_materials(today, [material], until=asked.until, lifted=asked.lifted, moved=asked.moved)[0]
    table = STEPS.from_request(request, _rows(found))
    reached = holds.on_hold([lot.item_id for lot in found.lots])
    its_holds = sorted({hold for some in reached.values() for hold in some}, key=lambda hold: hold.pk)
    benches = [one for one in found.demands if one.key.startswith("bench:") and one.day != today]
    known = {
        "material": material,
        "found": found,
        "title": say.answer(found),
        "lead": _lead(found, asked, its_holds),
        "trouble": trouble,
        "order": parts.order(found),
        "warnings": parts.warnings(found),
        "picture": say.picture(found),
        "table": table,
        "lots": [parts.lot(one, found, reached.get(one.item_id, [])) for one in parts.shown(found)],
        "more_lots": max(len(found.lots) - parts.LOTS_SHOWN, 0),
        "lots_title": parts.lots_title(found),
        "counted": parts.last_count(found),
        "choices": _choices(found, asked, its_holds, benches),
        "typed": _typed(request.GET, asked, trouble),
        "holds": its_holds,
        "benches": [(one.key, f"{wording.day(one.day, today)}, {one.what}") for one in benches],
        "crumbs": crumbs(
            Crumb(_("Outlook"), reverse("inventory:outlook")),
            Crumb(material.name, reverse("inventory:material", args=[pk])),
        ),
    }
    return table.file() or render(request, "inventory/outlook_of.html", known)


def _asked(query: QueryDict, today: dt.date) -> tuple[WhatIf, str]:
    """What the address asks, and a sentence about what of it cannot be read; things then stand as planned."""
    moved = query.getlist("moved")
    bench, day = query.get("bench", "").strip(), query.get("to", "").strip()
    try:
        if bench and not day:
            raise Refused(_("Say to which day the bench slips."), code="moved")
        if bench:
            moved = [*moved, f"{bench}={day}"]
        return what_if.read(today, query.get("until", ""), query.getlist("lifted"), moved), ""
    except Refused as refused:
        return WhatIf(outlook.default_until(today)), refused.sentence


def _typed(query: QueryDict, asked: WhatIf, trouble: str) -> dict[str, Any]:
    """What stands in the form: what is shown, or, where that could not be read, what was typed."""
    if trouble:
        lifted = [int(text) for text in query.getlist("lifted") if text.isascii() and text.isdigit() and len(text) < 19]
        return {"until": query.get("until", ""), "lifted": lifted, "bench": query.get("bench"), "to": query.get("to")}
    bench, day = next(iter(asked.moved.items()), ("", None))
    return {
        "until": asked.until.isoformat(),
        "lifted": asked.lifted,
        "bench": bench,
        "to": day.isoformat() if day else "",
    }


def _lead(found: Outlook, asked: WhatIf, its_holds: list[Hold]) -> str:
    counted = _("%(amount)s counted today, %(day)s.") % {
        "amount": amount(found.projection.start, found.material),
        "day": wording.long_day(found.today),
    }
    ifs = [
        _("if the hold “%(reason)s” is lifted") % {"reason": hold.reason.rstrip(".")}
        for hold in its_holds
        if hold.pk in asked.lifted
    ]
    ifs += [
        _("if the bench of %(day)s slips to %(to)s") % {"day": wording.day(one.day), "to": wording.day(day)}
        for one in found.demands
        if (day := asked.moved.get(one.key)) is not None
    ]
    if not ifs:
        return counted
    shown = _("Shown is what comes %(what)s.") % {"what": wording.listed(ifs)}
    return f"{counted} {shown}"


def _rows(found: Outlook) -> list[StepRow]:
    """The table's rows, a lot that was used up before its day among them; the crossing of a level is said once."""
    material, safety, before = found.material, found.terms.safety, found.projection.start
    urls = {one.key: one.url for one in found.demands}
    rows = [StepRow(found.today, _("counted today"), None, pair(before, material.unit, material))]
    is_breached, is_out = before < safety, False
    for step in found.projection.steps:
        words = say.step_words(step, found)
        if step.balance < 0 and not is_out:
            words = _("%(what)s: run out") % {"what": words}
        elif step.balance < safety and not is_breached:
            words = _("%(what)s: safety breached") % {"what": words}
        is_out, is_breached = is_out or step.balance < 0, is_breached or step.balance < safety
        rows.append(_row(step, words, material, urls.get(step.key, "")))
    return rows


def _row(step: Step, words: str, material: Material, url: str) -> StepRow:
    unit = material.unit
    return StepRow(step.day, words, pair(step.change, unit, material), pair(step.balance, unit, material), url)


def _choices(found: Outlook, asked: WhatIf, its_holds: list[Hold], benches: list[Demand]) -> list[Choice]:
    """Things as planned, each hold lifted, and the next bench two weeks later; what is asked now is marked."""
    here = reverse("inventory:outlook_of", args=[found.material.pk])

    def to(**asks: str) -> str:
        query = QueryDict(mutable=True)
        if asked.until != outlook.default_until(found.today):
            query["until"] = asked.until.isoformat()
        query.update(asks)
        return f"{here}?{query.urlencode()}" if query else here

    choices = [Choice(_("As planned"), to(), asked.is_as_planned)]
    for hold in its_holds:
        word = _("Hold lifted") if len(its_holds) == 1 else _("Lifted: %(reason)s") % {"reason": hold.reason[:40]}
        choices.append(Choice(word, to(lifted=str(hold.pk)), asked.lifted == {hold.pk} and not asked.moved))
    moved = dict(asked.moved) if len(asked.moved) == 1 else {}
    coming = [one for one in benches if one.key in moved] or [one for one in benches if one.day > found.today][:1]
    for one in coming:
        day = moved.get(one.key) or one.day + SLIPS
        word = _("%(day)s slips to %(to)s") % {"day": wording.day(one.day), "to": wording.day(day)}
        choices.append(Choice(word, to(moved=f"{one.key}={day.isoformat()}"), bool(moved) and not asked.lifted))
    return choices
