"""A stocktake on a phone: begun, counted thing by thing, looked at twice, ended; and what came of it."""

from typing import Any

from django.contrib import messages
from django.db.models import Count as Number
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_http_methods, require_safe

from coop import codes, printing, wording
from coop.access import VOLUNTEER, opens_to
from coop.pages.base import carry_out
from coop.pages.form_page import filled, form_page
from coop.parts import Crumb
from coop.tables import Column, Filter, Table
from inventory import count_sheets, ledger, stocktakes, threads
from inventory.commands import stocktaking
from inventory.models import Count, Item, Place, Stocktake
from inventory.pages.common import crumbs, pair, thing
from inventory.pages.stocktake_forms import BeginForm, CountInForm, EndForm, LeaveForm, SoughtForm
from inventory.stocktakes import Sheet, Thing

CARE = gettext_lazy("Goggles and gloves on. Weigh it as it stands, with its lid: tare is taken off for you.")


class Signed(Column):
    """An amount with its sign in front."""

    def words(self, value: Any) -> str:
        text = super().words(value)
        return f"+{text}" if value and any(one and one > 0 for one in value[:2]) else text


def _amount(quantity: int, item: Item) -> tuple[int | None, int | None, str]:
    return pair(quantity, item.unit, item.material)


def _count(place: int) -> Any:
    """The first count of a thing, or the last if it was counted more than once."""

    def get(row: Thing) -> Any:
        if not row.is_shown or not row.counts or (place and len(row.counts) < 2):
            return None
        return _amount(row.counts[-1 if place else 0].quantity, row.item)

    return get


def _difference(row: Thing) -> Any:
    return _amount(row.difference, row.item) if row.is_shown and row.counts else None


def _state(row: Thing) -> Any:
    if row.wants_second_look and not row.is_shown:
        return "soon", _("look again")
    return ("info", _("differs")) if row.difference else ("fine", _("the book was right"))


CODE = Column("code", gettext_lazy("Code"), "item.code_id", "code", link=lambda row: threads.url_of(row.item))
FOUND = (
    CODE,
    Column("what", gettext_lazy("What"), "words"),
    Column("book", gettext_lazy("Book"), lambda row: _amount(row.book, row.item) if row.is_shown else None, "amount"),
    Column("first", gettext_lazy("First count"), _count(0), "amount"),
    Column("again", gettext_lazy("Last count"), _count(1), "amount"),
    Signed("difference", gettext_lazy("Difference"), _difference, "amount", strong=True),
    Column("who", gettext_lazy("Counted by"), lambda row: stocktakes.counters(row.counts)),
    Column("state", gettext_lazy("State"), _state, "state"),
)
DIFFERENCES = Table(
    "differences",
    columns=(
        *FOUND,
        Column(
            "look",
            gettext_lazy("Once more"),
            lambda row: _("Look again"),
            link=lambda row: _count_url(row.counts[-1].stocktake_id, row),
        ),
    ),
    caption=gettext_lazy("What was counted, and how it differs from the book"),
)
REPORT = Table(
    "stocktake",
    columns=(
        *FOUND,
        Column(
            "movement",
            gettext_lazy("Movement"),
            lambda row: row.counts[-1].movement_id,
            link=lambda row: _deed_url(row.counts[-1]),
        ),
    ),
    caption=gettext_lazy("What was counted, and what was written"),
    nothing=gettext_lazy("Nothing was counted."),
)
TAKES = Table(
    "stocktakes",
    columns=(
        Column(
            "begun",
            gettext_lazy("Begun"),
            "begun_at",
            "moment",
            sort="begun_at",
            link=lambda row: reverse("inventory:stocktake", args=[row.pk]),
            strong=True,
        ),
        Column("shed", gettext_lazy("Shed"), "place.words", sort="place__name"),
        Column("by", gettext_lazy("By"), "begun_by.who"),
        Column("state", gettext_lazy("State"), lambda row: _take_state(row), "state"),
        Column("counted", gettext_lazy("Things counted"), "counted", "number"),
        Column("written", gettext_lazy("Differences written"), "written", "number"),
        Column("note", gettext_lazy("Note"), "note"),
    ),
    filters=(Filter("state", gettext_lazy("State"), "state", Stocktake.State.choices),),
    search=("place__name", "note"),
    order="-begun",
    caption=gettext_lazy("Stocktakes, newest first"),
)


def _take_state(take: Stocktake) -> tuple[str, str]:
    shapes = {"open": "soon", "done": "fine", "left": "info"}
    return shapes[take.state], take.get_state_display()


def _deed_url(count: Count) -> str:
    movement = count.movement
    return reverse("inventory:deed", args=[movement.deed_id]) if movement else ""


def _count_url(take: int, one: Thing) -> str:
    return reverse("inventory:stocktake_count", args=[take, one.item.code_id])


def _take(pk: int) -> Stocktake:
    rows = Stocktake.objects.select_related("place", "begun_by__actor", "ended_by__actor")
    return get_object_or_404(rows, pk=pk)


def _shed(pk: int) -> Place:
    return get_object_or_404(Place, pk=pk, kind__in=Place.IN_STORE)


def _crumbs(place: Place, take: Stocktake | None = None) -> list[Crumb]:
    way = crumbs(Crumb(_("Sheds"), reverse("inventory:sheds")), Crumb(place.words, _shed_url(place)))
    return [*way, Crumb(_("Stocktake"), _page(take))] if take else way


def _shed_url(place: Place) -> str:
    return reverse("inventory:shed", args=[place.pk])


def _page(take: Stocktake) -> str:
    return reverse("inventory:stocktake", args=[take.pk])


@opens_to(VOLUNTEER)
@require_safe
def stocktakes_page(request: HttpRequest) -> HttpResponse:
    """All stocktakes, newest first."""
    counts = {"counted": Number("counts__item", distinct=True), "written": Number("counts__movement", distinct=True)}
    table = TAKES.from_request(request, Stocktake.objects.select_related("place", "begun_by__actor").annotate(**counts))
    return table.file() or render(request, "inventory/stocktakes.html", {"table": table, "crumbs": crumbs()})


@opens_to(VOLUNTEER)
@require_http_methods(["GET", "POST"])
def begin(request: HttpRequest, pk: int) -> HttpResponse:
    """Begin to count a shed, or count along where somebody began."""
    place = _shed(pk)
    already = stocktakes.open_in(place)
    if already is not None and request.method == "GET":
        return redirect(_page(already))
    return form_page(
        request,
        filled(request, BeginForm),
        stocktaking.begin_stocktake,
        title=_("Stocktake of %(shed)s") % {"shed": place.words},
        lead=_("Count what you see. What the book says is shown afterwards."),
        texts=[
            _("Goggles and gloves on where oxalic acid dihydrate stands. A scale, this phone, and a second person."),
            _("Every count is kept at once: you may be called away and go on later, on this phone or another."),
        ],
        word=_("Begin the stocktake"),
        back=_shed_url(place),
        done=_("You count along: it was begun already.") if already else _("Begun."),
        crumbs=_crumbs(place),
        go_to=_page,
        place=place,
    )


@opens_to(VOLUNTEER)
@require_safe
def stocktake(request: HttpRequest, pk: int) -> HttpResponse:
    """What is left to count and what is counted, without a figure; once it ended, what came of it."""
    take = _take(pk)
    sheet = stocktakes.read(take)
    if not sheet.is_open:
        return _report(request, sheet)
    sought = SoughtForm(request.GET if "code" in request.GET else None)
    found = _sought(sought)
    if found is not None:
        return redirect(reverse("inventory:stocktake_count", args=[take.pk, found]))
    coming: Any = request.user
    known = {
        "take": take,
        "sheet": sheet,
        "title": _headline(sheet),
        "sought": sought,
        "next": sheet.next_for(coming),
        "again": sheet.again if sheet.is_all_counted else [],
        "crumbs": _crumbs(take.place),
        "is_old": (timezone.now() - take.begun_at).days >= 1,
    }
    return render(request, "inventory/stocktake.html", known, status=422 if sought.errors else 200)


def _sought(form: SoughtForm) -> str | None:
    """The code of something in the book, or None with a sentence on the form."""
    if not form.is_bound or not form.is_valid():
        return None
    code: str = form.cleaned_data["code"]
    if Item.objects.filter(code=code).exists():
        return code
    words = _("Nothing in the book has the code %(code)s. A coordinator receives it first.")
    form.add_error("code", words % {"code": codes.spaced(code)})
    return None


def _headline(sheet: Sheet) -> str:
    """The answer as the title: how much is left, what wants a second look, how many differences there are."""
    shed = {"shed": sheet.take.place.words}
    if sheet.left or not sheet.counted:
        text = ngettext(
            "%(shed)s: %(count)s thing left to count", "%(shed)s: %(count)s things left to count", len(sheet.left)
        )
        return text % {**shed, "count": len(sheet.left)}
    if sheet.again:
        text = ngettext(
            "%(shed)s: look again at one thing", "%(shed)s: look again at %(count)s things", len(sheet.again)
        )
        return text % {**shed, "count": len(sheet.again)}
    return _ready_words(sheet)


def _ready_words(sheet: Sheet) -> str:
    number = len(sheet.differing)
    if not number:
        return _("All counted, and the book is right")
    text = ngettext("All counted: one difference", "All counted: %(count)s differences", number)
    return text % {"count": number}


def _report(request: HttpRequest, sheet: Sheet) -> HttpResponse:
    take = sheet.take
    table = REPORT.from_request(request, sheet.counted)
    number = len(sheet.differing)
    if take.state == Stocktake.State.LEFT:
        title = _("%(shed)s: the stocktake was given up") % {"shed": take.place.words}
    elif number:
        text = ngettext("%(shed)s: one difference written", "%(shed)s: %(count)s differences written", number)
        title = text % {"shed": take.place.words, "count": number}
    else:
        title = _("%(shed)s: the book was right") % {"shed": take.place.words}
    known = {"take": take, "table": table, "title": title, "crumbs": _crumbs(take.place)}
    return table.file() or render(request, "inventory/stocktake_report.html", known)


@opens_to(VOLUNTEER)
@require_http_methods(["GET", "POST"])
def count(request: HttpRequest, pk: int, code: str) -> HttpResponse:
    """One thing, one question. After it comes the next that nobody has counted."""
    take, item = _take(pk), thing(code)
    if take.state != Stocktake.State.OPEN and request.method == "GET":
        messages.info(request, _("This stocktake has ended."))
        return redirect(_page(take))
    form = filled(request, CountInForm, item=item, stocktake=take)
    status = 200
    if request.method == "POST":
        outcome = carry_out(request, form, stocktaking.count_in, stocktake=take, item=item)
        if outcome.done:
            return _next(request, take, outcome.result)
        status = outcome.status
    rows = take.counts.select_related("deed__actor").order_by("pk")
    before = list(rows.filter(item=item))
    known = {
        "take": take,
        "item": item,
        "form": form,
        "words": stocktakes.blind_words([item])[item.pk],
        "care": CARE if form.drums else "",
        "before": stocktakes.counters(before),
        "is_own": bool(before) and before[-1].deed.actor_id == request.user.pk,
        "crumbs": _crumbs(take.place, take),
    }
    return render(request, "inventory/stocktake_count.html", known, status=status)


def _next(request: HttpRequest, take: Stocktake, done: Count) -> HttpResponse:
    said = _("Kept: %(amount)s of %(code)s.") % {
        "amount": ledger.amount(done.quantity, done.item),
        "code": done.item.spaced_code,
    }
    rival = take.counts.filter(item=done.item, pk__lt=done.pk).exclude(deed__actor=request.user.pk)
    other = rival.select_related("deed__actor").order_by("-pk").first()
    if other is not None:
        said += " " + _("%(who)s counted it too; both are kept, and yours stands now.") % {"who": other.deed.who}
    messages.success(request, said)
    person: Any = request.user
    coming = stocktakes.read(take).next_for(person, after=done.item)
    return redirect(_count_url(take.pk, coming) if coming else _page(take))


@opens_to(VOLUNTEER)
@require_http_methods(["GET", "POST"])
def differences(request: HttpRequest, pk: int) -> HttpResponse:
    """What was counted against the book, once all is counted; and the button that writes it."""
    take = _take(pk)
    sheet = stocktakes.read(take)
    if not sheet.is_open and request.method == "GET":
        return redirect(_page(take))
    form = filled(request, EndForm, has_left=bool(sheet.left))
    status = 200
    if request.method == "POST":
        outcome = carry_out(request, form, stocktaking.end_stocktake, stocktake=take)
        if outcome.done:
            messages.success(request, _("It is in the book."))
            return redirect(_page(take))
        status = outcome.status
    table = DIFFERENCES.from_request(request, sheet.counted if sheet.is_all_counted else [])
    known = {
        "take": take,
        "sheet": sheet,
        "table": table,
        "form": form,
        "title": _headline(sheet),
        "word": _end_word(sheet),
        "crumbs": _crumbs(take.place, take),
    }
    return table.file() or render(request, "inventory/stocktake_differences.html", known, status=status)


def _end_word(sheet: Sheet) -> str:
    if sheet.left:
        return _("Write what was counted into the book")
    number = len(sheet.differing)
    if not number:
        return _("End the stocktake")
    text = ngettext("Write one difference into the book", "Write %(count)s differences into the book", number)
    return text % {"count": number}


@opens_to(VOLUNTEER)
@require_http_methods(["GET", "POST"])
def leave(request: HttpRequest, pk: int) -> HttpResponse:
    take = _take(pk)
    if take.state != Stocktake.State.OPEN and request.method == "GET":
        return redirect(_page(take))
    return form_page(
        request,
        filled(request, LeaveForm),
        stocktaking.leave_stocktake,
        title=_("Give up the stocktake of %(shed)s") % {"shed": take.place.words},
        lead=_("What was counted stays readable. The book stays as it is."),
        word=_("Give it up"),
        back=_page(take),
        done=_("Given up; nothing was written."),
        crumbs=_crumbs(take.place, take),
        tone="rust",
        stocktake=take,
    )


@opens_to(VOLUNTEER)
@require_safe
def count_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """A sheet of paper to count a shed with, without a figure of the book."""
    place = _shed(pk)
    name = f"count-sheet-{place.pk}-{wording.full_day(timezone.localdate()).replace(' ', '-')}"
    return printing.answer(count_sheets.pdf(place), name)
