"""The club's own page: settings, kinds of hive, and the legal basis it works under."""

import datetime as dt
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from coop.access import COORDINATOR, MEMBER, opens_to
from coop.commands import club as club_commands
from coop.commands import legal
from coop.models import Club, HiveKind, LegalBasis, the_club
from coop.pages.base import DeedForm
from coop.pages.fields import DayField
from coop.pages.form_page import filled, form_page
from coop.parts import Crumb
from coop.tables import Column, Table

WARN_DAYS = 60


class ClubForm(DeedForm):
    """Built from the model's own fields, so that labels and limits are kept in one place."""

    NAMES = (
        "name",
        "zone",
        "phone",
        "poison_phone",
        "shed_address",
        "sheet_link",
        "signal_word",
        "hazard_text",
        "mask_text",
        "first_aid_text",
        "bag_days",
        "can_titrate",
        "one_dose_first",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        made = forms.fields_for_model(Club, fields=[name for name in self.NAMES if name != "sheet_link"])
        made["sheet_link"] = forms.URLField(
            label=Club._meta.get_field("sheet_link").verbose_name, required=False, assume_scheme="https"
        )
        self.fields.update({name: made[name] for name in self.NAMES})


class HiveKindForm(DeedForm):
    name = forms.CharField(label=gettext_lazy("Kind of hive"), max_length=60)
    order = forms.IntegerField(label=gettext_lazy("Place in the list"), min_value=0, max_value=999, initial=0)


class LegalBasisForm(DeedForm):
    subject = forms.ChoiceField(label=gettext_lazy("For what"), choices=LegalBasis.Subject.choices)
    rule = forms.CharField(label=gettext_lazy("The rule"), max_length=200)
    reference = forms.CharField(label=gettext_lazy("Where it stands"), max_length=200)
    checked_by = forms.CharField(label=gettext_lazy("Who checked"), max_length=120)
    valid_from = DayField(label=gettext_lazy("Valid from"))
    valid_until = DayField(label=gettext_lazy("Valid until"))


def standing_of(basis: LegalBasis, today: dt.date) -> tuple[str, str]:
    """Shape and word: valid, ending within sixty days, not yet, over, ended."""
    if basis.ended_at is not None:
        return "waits", _("ended")
    if basis.valid_until < today:
        return "overdue", _("over")
    if basis.valid_from > today:
        return "waits", _("not yet")
    if (basis.valid_until - today).days <= WARN_DAYS:
        return "soon", _("ends soon")
    return "fine", _("valid")


def _basis_url(basis: LegalBasis) -> str:
    return reverse("legal_basis", args=[basis.pk])


LEGAL_BASES = Table(
    "legal-basis",
    columns=(
        Column("subject", gettext_lazy("For what"), lambda one: one.get_subject_display(), sort="subject"),
        Column("rule", gettext_lazy("The rule"), "rule", sort="rule", link=_basis_url, strong=True),
        Column("checked", gettext_lazy("Who checked"), "checked_by"),
        Column("from", gettext_lazy("From"), "valid_from", "date", sort="valid_from"),
        Column("until", gettext_lazy("Until"), "valid_until", "date", sort="valid_until"),
        Column("state", gettext_lazy("State"), lambda one: standing_of(one, timezone.localdate()), "state"),
    ),
    search=("rule", "reference", "checked_by"),
    order="-until",
    caption=gettext_lazy("What the club relies on"),
)
HIVE_KINDS = Table(
    "hive-kinds",
    columns=(
        Column(
            "name",
            gettext_lazy("Kind of hive"),
            "name",
            sort="name",
            link=lambda one: reverse("hive_kind", args=[one.pk]),
            strong=True,
        ),
        Column("order", gettext_lazy("Place in the list"), "order", "number", sort="order"),
    ),
    order="order",
    caption=gettext_lazy("Kinds of hive"),
)


def _crumbs(*more: Crumb) -> list[Crumb]:
    return [Crumb(_("The club"), reverse("club")), *more]


@opens_to(MEMBER)
@require_safe
def club_page(request: HttpRequest) -> HttpResponse:
    """What everyone may know of the club: whom to call, the supplier's sheet, what it relies on."""
    club = the_club()
    today = club.today()
    standing = [
        (label, LegalBasis.objects.valid_on(subject, today).first()) for subject, label in LegalBasis.Subject.choices
    ]
    return render(request, "coop/club.html", {"standing": standing, "kinds": HiveKind.objects.all()})


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def change(request: HttpRequest) -> HttpResponse:
    club = the_club()
    return form_page(
        request,
        filled(request, ClubForm, initial={name: getattr(club, name) for name in ClubForm.NAMES}),
        club_commands.change_club,
        title=_("Change the club's facts"),
        lead=_("Cautions at the bench and on labels are in these words: take them from your supplier's own sheet."),
        word=_("Keep the change"),
        back=reverse("club"),
        done=_("Changed."),
        crumbs=_crumbs(),
    )


@opens_to(COORDINATOR)
@require_safe
def hive_kinds(request: HttpRequest) -> HttpResponse:
    shown = HIVE_KINDS.from_request(request, HiveKind.objects.all())
    return shown.file() or render(request, "coop/hive_kinds.html", {"table": shown, "crumbs": _crumbs()})


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def add_hive_kind(request: HttpRequest) -> HttpResponse:
    return form_page(
        request,
        filled(request, HiveKindForm),
        club_commands.add_hive_kind,
        title=_("Add a kind of hive"),
        word=_("Add to the list"),
        back=reverse("hive_kinds"),
        done=_("Added."),
        crumbs=_crumbs(Crumb(_("Kinds of hive"), reverse("hive_kinds"))),
    )


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def hive_kind(request: HttpRequest, pk: int) -> HttpResponse:
    kind = get_object_or_404(HiveKind, pk=pk)
    return form_page(
        request,
        filled(request, HiveKindForm, initial={"name": kind.name, "order": kind.order}),
        club_commands.change_hive_kind,
        title=_("Change a kind of hive"),
        lead=_("Hives and instructions that name it go on meaning it."),
        word=_("Keep the change"),
        back=reverse("hive_kinds"),
        done=_("Changed."),
        crumbs=_crumbs(Crumb(_("Kinds of hive"), reverse("hive_kinds"))),
        kind=kind,
    )


@opens_to(COORDINATOR)
@require_safe
def legal_bases(request: HttpRequest) -> HttpResponse:
    table = LEGAL_BASES.from_request(request, LegalBasis.objects.all())
    return table.file() or render(request, "coop/legal_bases.html", {"table": table, "crumbs": _crumbs()})


@opens_to(COORDINATOR, fresh=True)
@require_http_methods(["GET", "POST"])
def note_legal_basis(request: HttpRequest) -> HttpResponse:
    return form_page(
        request,
        filled(request, LegalBasisForm),
        legal.note_legal_basis,
        title=_("Note a legal basis"),
        lead=_(
            "This tool gives no legal advice: local rules and licensed practice decide. Note what the club relies on "
            "and who checked it. Without a valid basis for supply nothing is handed over."
        ),
        word=_("Note the basis"),
        back=reverse("legal_bases"),
        done=_("Noted."),
        crumbs=_crumbs(Crumb(_("Legal basis"), reverse("legal_bases"))),
    )


@opens_to(COORDINATOR)
@require_safe
def legal_basis(request: HttpRequest, pk: int) -> HttpResponse:
    basis = get_object_or_404(LegalBasis.objects.select_related("deed__actor"), pk=pk)
    crumbs = _crumbs(Crumb(_("Legal basis"), reverse("legal_bases")))
    known = {"basis": basis, "standing": standing_of(basis, the_club().today()), "crumbs": crumbs}
    return render(request, "coop/legal_basis.html", known)


@opens_to(COORDINATOR, fresh=True)
@require_http_methods(["GET", "POST"])
def end_legal_basis(request: HttpRequest, pk: int) -> HttpResponse:
    basis = get_object_or_404(LegalBasis, pk=pk)
    return form_page(
        request,
        filled(request, DeedForm),
        legal.end_legal_basis,
        title=_("End this basis"),
        lead=_("From now on nothing leans on it: %(rule)s") % {"rule": basis.rule},
        word=_("End it now"),
        back=reverse("legal_bases"),
        done=_("Ended."),
        crumbs=_crumbs(Crumb(_("Legal basis"), reverse("legal_bases"))),
        tone="rust",
        basis=basis,
    )
