"""The ledger, newest first; one deed; setting a movement right."""

import dataclasses
import datetime as dt
from collections.abc import Iterator
from typing import Any

from django import forms
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from coop import codes, units, wording
from coop.access import COORDINATOR, VOLUNTEER, opens_to
from coop.models import Deed, Person, the_club
from coop.pages.base import DeedForm
from coop.pages.fields import DayField
from coop.pages.form_page import form_page
from coop.parts import Crumb
from coop.tables import Column, Table
from inventory import book, deeds, ledger, threads
from inventory.commands import correcting
from inventory.models import Material, Movement, Place
from inventory.pages.common import amount_field, crumbs, pair

#: no id is larger, in either engine
MOST = 2**63 - 1


class LedgerFilter(forms.Form):
    """What part of the ledger is asked for; what the address has wrong is passed over."""

    material = forms.ModelChoiceField(
        Material.objects.all(), label=gettext_lazy("Material"), required=False, empty_label=gettext_lazy("all")
    )
    code = forms.CharField(label=gettext_lazy("Lot or other code"), required=False, max_length=40)
    place = forms.ModelChoiceField(
        Place.objects.filter(kind__in=Place.IN_STORE),
        label=gettext_lazy("Shed"),
        required=False,
        empty_label=gettext_lazy("all"),
    )
    person = forms.ModelChoiceField(
        Person.objects.none(),
        label=gettext_lazy("Who"),
        required=False,
        empty_label=gettext_lazy("all"),
    )
    verb = forms.ChoiceField(label=gettext_lazy("Kind of deed"), required=False)
    deed = forms.IntegerField(label=gettext_lazy("Deed number"), required=False, min_value=1, max_value=MOST)
    since = DayField(label=gettext_lazy("From day"), required=False)
    until = DayField(label=gettext_lazy("To day"), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields: Any = self.fields
        fields["person"].queryset = book.people()
        fields["place"].label_from_instance = lambda place: place.words
        fields["verb"].choices = [("", _("all")), *deeds.kinds().items()]

    def clean_code(self) -> str:
        return codes.tidy(self.cleaned_data["code"])

    def asked(self) -> book.Asked:
        """As the book is asked; days are days of the club's zone, both included."""
        self.is_valid()
        known = {name: value for name, value in self.cleaned_data.items() if value}
        since, until = known.pop("since", None), known.pop("until", None)
        return book.Asked(**known, since=_midnight(since), until=_midnight(until, 1))


def _midnight(day: dt.date | None, days: int = 0) -> dt.datetime | None:
    """The beginning of a day, or so many days later; None for a year that fits nowhere."""
    if day is None or not units.FIRST_YEAR <= day.year <= units.LAST_YEAR:
        return None
    return dt.datetime.combine(day + dt.timedelta(days=days), dt.time(), the_club().tz)


LEDGER = Table(
    "ledger",
    columns=(
        Column("happened", gettext_lazy("When"), "happened_at", "moment"),
        Column("recorded", gettext_lazy("Recorded"), "recorded_at", "moment"),
        Column("code", gettext_lazy("Code"), "item.code_id", "code"),
        Column("material", gettext_lazy("Material"), lambda row: row.item.material.name if row.item.material else ""),
        Column("kind", gettext_lazy("Kind"), lambda row: row.item.get_kind_display()),
        Column("from", gettext_lazy("From"), "source.words"),
        Column("to", gettext_lazy("To"), "target.words"),
        Column(
            "quantity",
            gettext_lazy("Amount"),
            lambda row: pair(row.quantity, row.item.unit, row.item.material),
            "amount",
        ),
        Column("balance", gettext_lazy("Balance"), lambda row: getattr(row, "balance", None), "amount"),
        Column("cause", gettext_lazy("Cause"), lambda row: row.get_cause_display()),
        Column("who", gettext_lazy("Who"), "deed.who"),
        Column("note", gettext_lazy("Note"), "note"),
    ),
)


@dataclasses.dataclass(frozen=True)
class Line:
    """One movement as the page shows it."""

    movement: Movement
    amount: str
    url: str
    is_corrected: bool
    can_correct: bool
    corrects: str
    balance: str


def line(movement: Movement, balance: str = "") -> Line:
    corrected = hasattr(movement, "reversed_by")
    own = movement.cause in correcting.OWN_CAUSES and movement.reverses_id is None
    return Line(
        movement=movement,
        amount=ledger.amount(movement.quantity, movement.item),
        url=threads.url_of(movement.item),
        is_corrected=corrected,
        can_correct=own and not corrected,
        corrects=_corrects(movement),
        balance=balance,
    )


def _corrects(movement: Movement) -> str:
    """Which movement this one sets right, in words; "" for one that sets none right."""
    wrong = movement.corrects
    if wrong is None:
        return ""
    return _("corrects %(amount)s of %(day)s by %(who)s") % {
        "amount": ledger.amount(wrong.quantity, movement.item),
        "day": wording.day(wrong.happened_at),
        "who": wrong.deed.who,
    }


@opens_to(VOLUNTEER)
@require_safe
def ledger_page(request: HttpRequest) -> HttpResponse:
    """Fifty at a time, next to the movement that ?before= or ?after= names, so that a page stays where it is."""
    form = LedgerFilter(request.GET, label_suffix="")
    asked = form.asked()
    if request.GET.get("as"):
        file = _file(request, asked)
        if file is not None:
            return file
    page = book.page(
        asked,
        before=_number(request.GET.get("before")),
        after=_number(request.GET.get("after")),
        carried=request.GET.get("balance", ""),
    )
    query = request.GET.copy()
    for name in ("before", "after", "balance"):
        query.pop(name, None)
    known = {
        "form": form,
        "lines": [line(row, _balance(page, row)) for row in page.rows],
        "balance_words": page.counted.words if page.counted else "",
        "is_broken": asked.is_broken and bool(asked.code or asked.material),
        "is_filtered": not asked.is_all,
        "older": _with(query, **page.older) if page.older else "",
        "newer": _with(query, **page.newer) if page.newer else "",
        "newest": f"?{query.urlencode()}" if page.newer else "",
        "files": [(kind.upper(), _with(query, **{"as": kind})) for kind in ("csv", "ods", "xlsx")],
        "crumbs": crumbs(),
    }
    return render(request, "inventory/ledger.html", known)


def _file(request: HttpRequest, asked: book.Asked) -> HttpResponse | None:
    """Every line of the filter; with its balance, where the page has one."""
    rows = book.rows_of(asked)
    shown, what = LEDGER.from_request(request, rows), book.counted(asked)
    if what is None:
        without = [column for column in LEDGER.columns if column.key != "balance"]
        return dataclasses.replace(shown, table=dataclasses.replace(LEDGER, columns=without)).file()
    return dataclasses.replace(shown, ordered=_balanced(rows, what)).file()


def _balanced(rows: QuerySet[Movement], what: book.Counted) -> Iterator[Movement]:
    for row, balance in book.with_balances(rows.iterator(chunk_size=2000), what):
        row.balance = pair(balance, what.unit, what.pieces_of)  # type: ignore[attr-defined]
        yield row


def _balance(page: book.Page, row: Movement) -> str:
    if page.counted is None or row.pk not in page.balances:
        return ""
    return wording.amount(*pair(page.balances[row.pk], page.counted.unit, page.counted.pieces_of))


def _number(text: str | None) -> int:
    """An id from the address; 0 for what is none."""
    return int(text) if text and text.isascii() and text.isdigit() and len(text) < 19 else 0


def _with(query: Any, **more: Any) -> str:
    changed = query.copy()
    for name, value in more.items():
        changed[name] = str(value)
    return f"?{changed.urlencode()}"


@opens_to(VOLUNTEER)
@require_safe
def deed_page(request: HttpRequest, pk: int) -> HttpResponse:
    """Who did what, when and through which door, with what it wrote; no deed of another kind shows here."""
    deed = get_object_or_404(Deed.objects.select_related("actor"), pk=pk)
    rows = list(book.rows_of(book.Asked(deed=deed.pk)).order_by("pk"))
    if not rows and not request.user.is_coordinator:  # type: ignore[union-attr]
        raise Http404
    known = {
        "deed": deed,
        "what": deeds.words_of(deed),
        "lines": [line(row) for row in rows],
        "made": deeds.made_by(deed),
        "is_late": deed.recorded_at - deed.happened_at > dt.timedelta(minutes=5),
        "crumbs": crumbs(Crumb(_("Ledger"), reverse("inventory:ledger"))),
    }
    return render(request, "inventory/deed.html", known)


class CorrectForm(DeedForm):
    note = forms.CharField(label=gettext_lazy("What was wrong"), max_length=300)


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def correct(request: HttpRequest, pk: int) -> HttpResponse:
    movement = get_object_or_404(book.rows_of(book.Asked()), pk=pk)
    item = movement.item
    form = CorrectForm(request.POST if request.method == "POST" else None)
    form.fields["quantity"] = amount_field(
        item.unit, label=_("The right amount"), least=0, help_text=_("Zero if it never happened.")
    )
    form.order_fields(["quantity", "note"])
    words = {
        "amount": ledger.amount(movement.quantity, item),
        "code": item.spaced_code,
        "source": movement.source.words,
        "target": movement.target.words,
    }
    return form_page(
        request,
        form,
        correcting.correct,
        title=_("Set a movement right"),
        lead=_(
            "%(amount)s of %(code)s. From: %(source)s. To: %(target)s. The wrong line stays, its reverse and "
            "the right one are written beside it."
        )
        % words,
        word=_("Set it right"),
        back=f"{reverse('inventory:ledger')}?code={item.code_id}",
        done=_("Set right."),
        crumbs=crumbs(Crumb(_("Ledger"), reverse("inventory:ledger"))),
        movement=movement,
    )
