"""The ledger, newest first; one deed; setting a movement right."""

import dataclasses
import datetime as dt
from typing import Any

from django import forms
from django.db.models import Q, QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from coop import codes, reader, wording
from coop.access import COORDINATOR, VOLUNTEER, opens_to
from coop.models import Deed, Person, the_club
from coop.pages.base import DeedForm
from coop.pages.fields import DayField
from coop.pages.form_page import form_page
from coop.parts import Crumb
from coop.tables import Column, Table
from inventory import ledger, threads
from inventory.commands import correcting
from inventory.models import Incident, Material, Movement, Place
from inventory.pages.common import amount_field, crumbs, pair

PER_PAGE = 50


class LedgerFilter(forms.Form):
    """What part of the ledger is asked for; what the address has wrong is passed over."""

    code = forms.CharField(label=gettext_lazy("Code"), required=False, max_length=40)
    material = forms.ModelChoiceField(
        Material.objects.all(), label=gettext_lazy("Material"), required=False, empty_label=gettext_lazy("all")
    )
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
    day = DayField(label=gettext_lazy("Day"), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        who: Any = self.fields["person"]
        people = Person.objects.filter(is_system=False)
        who.queryset = people.filter(pk__in=[person.pk for person in people if reader.may_learn(person)])

    def chosen(self) -> dict[str, Any]:
        self.is_valid()
        return {name: value for name, value in self.cleaned_data.items() if value}


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


def movements(chosen: dict[str, Any]) -> QuerySet[Movement]:
    """The movements of a filter, newest first, with what a line needs."""
    found = Movement.objects.select_related(
        "item__material",
        "source__person",
        "target__person",
        "deed__actor",
        "reversed_by",
        "reverses__deed__actor",
        "replaces__deed__actor",
    ).order_by("-pk")
    if "code" in chosen:
        found = found.filter(item__code=codes.tidy(chosen["code"]))
    if "material" in chosen:
        found = found.filter(item__material=chosen["material"])
    if "place" in chosen:
        found = found.filter(Q(source=chosen["place"]) | Q(target=chosen["place"]))
    if "person" in chosen:
        found = found.filter(deed__actor=chosen["person"])
    if "day" in chosen:
        begins = dt.datetime.combine(chosen["day"], dt.time(), the_club().tz)
        ends = dt.datetime.combine(chosen["day"] + dt.timedelta(days=1), dt.time(), the_club().tz)
        found = found.filter(happened_at__gte=begins, happened_at__lt=ends)
    return found


def line(movement: Movement) -> Line:
    corrected = hasattr(movement, "reversed_by")
    own = movement.cause in correcting.OWN_CAUSES and movement.reverses_id is None
    return Line(
        movement=movement,
        amount=ledger.amount(movement.quantity, movement.item),
        url=threads.url_of(movement.item),
        is_corrected=corrected,
        can_correct=own and not corrected,
        corrects=_corrects(movement),
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
    """Fifty at a time; ?before= is the last movement shown, so that a page stays where it is while others write."""
    form = LedgerFilter(request.GET, label_suffix="")
    rows = movements(form.chosen())
    if request.GET.get("as"):
        file = LEDGER.from_request(request, rows).file()
        if file is not None:
            return file
    before = request.GET.get("before", "")
    shown = rows.filter(pk__lt=int(before)) if before.isdigit() and len(before) < 18 else rows
    page = list(shown[: PER_PAGE + 1])
    query = request.GET.copy()
    query.pop("before", None)
    known = {
        "form": form,
        "lines": [line(row) for row in page[:PER_PAGE]],
        "is_filtered": bool(form.chosen()),
        "further": _with(query, before=page[PER_PAGE - 1].pk) if len(page) > PER_PAGE else "",
        "newest": f"?{query.urlencode()}" if before else "",
        "files": [(kind.upper(), _with(query, **{"as": kind})) for kind in ("csv", "ods", "xlsx")],
        "crumbs": crumbs(),
    }
    return render(request, "inventory/ledger.html", known)


def _with(query: Any, **more: Any) -> str:
    changed = query.copy()
    for name, value in more.items():
        changed[name] = str(value)
    return f"?{changed.urlencode()}"


@opens_to(VOLUNTEER)
@require_safe
def deed_page(request: HttpRequest, pk: int) -> HttpResponse:
    """Who did what, when and through which door, with the movements it wrote; no deed of another kind shows here."""
    deed = get_object_or_404(Deed.objects.select_related("actor"), pk=pk)
    rows = list(movements({}).filter(deed=deed).order_by("pk"))
    if not rows and not request.user.is_coordinator:  # type: ignore[union-attr]
        raise Http404
    known = {
        "deed": deed,
        "what": deed.verb.partition(".")[2].replace("_", " ") or deed.verb,
        "lines": [line(row) for row in rows],
        "is_late": deed.recorded_at - deed.happened_at > dt.timedelta(minutes=5),
        "incidents": Incident.objects.filter(deed=deed),
        "crumbs": crumbs(Crumb(_("Ledger"), reverse("inventory:ledger"))),
    }
    return render(request, "inventory/deed.html", known)


class CorrectForm(DeedForm):
    note = forms.CharField(label=gettext_lazy("What was wrong"), max_length=300)


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def correct(request: HttpRequest, pk: int) -> HttpResponse:
    movement = get_object_or_404(movements({}), pk=pk)
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
            "%(amount)s of %(code)s, from %(source)s to %(target)s. The wrong line stays, its reverse and "
            "the right one are written beside it."
        )
        % words,
        word=_("Set it right"),
        back=f"{reverse('inventory:ledger')}?code={item.code_id}",
        done=_("Set right."),
        crumbs=crumbs(Crumb(_("Ledger"), reverse("inventory:ledger"))),
        movement=movement,
    )
