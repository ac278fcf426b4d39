"""My page: what the club knows of me, my reminders, my tokens, my way out."""

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from coop.access import COORDINATOR, MEMBER, opens_to
from coop.commands import invitations, people
from coop.models import ApiToken, Person, ShedPhone
from coop.pages.base import DeedForm, carry_out
from coop.pages.form_page import filled, form_page
from coop.parts import Crumb
from coop.tables import Column, Table


class MeForm(DeedForm):
    name = forms.CharField(label=gettext_lazy("Name"), max_length=120)
    phone = forms.CharField(label=gettext_lazy("Phone"), max_length=40, required=False)
    address = forms.CharField(label=gettext_lazy("Postal address"), max_length=200, required=False)
    wants_reminders = forms.BooleanField(
        label=gettext_lazy("Remind me by mail"),
        required=False,
        help_text=gettext_lazy("Of strips to take out, and of what the bench needs. Recalls come in any case."),
    )


class TokenForm(DeedForm):
    name = forms.CharField(label=gettext_lazy("What it is for"), max_length=60)


class ShedPhoneForm(DeedForm):
    name = forms.CharField(label=gettext_lazy("Which phone"), max_length=60)
    person = forms.ModelChoiceField(Person.objects.none(), label=gettext_lazy("Records at the bench as"))

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        volunteers = Person.objects.here().filter(role__in=["volunteer", "coordinator"], is_active=True)
        self.fields["person"].queryset = volunteers  # type: ignore[attr-defined]


SHED_PHONES = Table(
    "shed-phones",
    columns=(
        Column("name", gettext_lazy("Which phone"), "name", sort="name", strong=True),
        Column("person", gettext_lazy("Records as"), "person.name", sort="person__name"),
        Column("until", gettext_lazy("Until"), "valid_until", "moment", sort="valid_until"),
        Column("state", gettext_lazy("State"), lambda one: _state(one), "state"),
        Column(
            "revoke",
            "",
            lambda one: "" if one.revoked_at else _("Revoke"),
            link=lambda one: reverse("shed_phone_revoke", args=[one.pk]),
        ),
    ),
    order="name",
    caption=gettext_lazy("Phones of the shed"),
)


def _state(phone: ShedPhone) -> tuple[str, str]:
    if phone.revoked_at:
        return "waits", _("revoked")
    return ("fine", _("in use")) if phone.opened_at else ("soon", _("link not opened yet"))


def _me(request: HttpRequest) -> Person:
    assert isinstance(request.user, Person)
    return request.user


def _crumbs() -> list[Crumb]:
    return [Crumb(_("My page"), reverse("account"))]


@opens_to(MEMBER)
@require_safe
def account(request: HttpRequest) -> HttpResponse:
    tokens = ApiToken.objects.filter(person=_me(request), revoked_at=None)
    return render(request, "coop/account.html", {"person": _me(request), "tokens": tokens})


@opens_to(MEMBER)
@require_http_methods(["GET", "POST"])
def change(request: HttpRequest) -> HttpResponse:
    person = _me(request)
    known = {name: getattr(person, name) for name in ("name", "phone", "address", "wants_reminders")}
    return form_page(
        request,
        filled(request, MeForm, initial=known),
        people.change_person,
        title=_("What the club knows of you"),
        lead=_("Your e-mail is how you sign in: a coordinator changes it."),
        word=_("Keep the change"),
        back=reverse("account"),
        done=_("Changed."),
        crumbs=_crumbs(),
        person=person,
    )


@opens_to(MEMBER)
@require_http_methods(["GET", "POST"])
def sign_out_everywhere(request: HttpRequest) -> HttpResponse:
    return form_page(
        request,
        filled(request, DeedForm),
        people.sign_out_everywhere,
        title=_("Sign out everywhere"),
        lead=_("Every browser that is signed in as you must sign in again, this one too. Tokens for programs stay."),
        word=_("Sign out everywhere"),
        back=reverse("account"),
        done=_("Signed out everywhere."),
        crumbs=_crumbs(),
        person=_me(request),
    )


@opens_to(MEMBER, fresh=True)
@never_cache
@require_http_methods(["GET", "POST"])
def make_token(request: HttpRequest) -> HttpResponse:
    """The word is shown once, on the answer to the form; a double tap shows the same word again."""
    form = filled(request, TokenForm)
    status = 200
    if request.method == "POST":
        outcome = carry_out(request, form, invitations.make_token)
        if outcome.done:
            word = invitations.token_for(_me(request).pk, form.cleaned_data["key"])
            return render(request, "coop/token_made.html", {"token": outcome.result, "word": word, "crumbs": _crumbs()})
        status = outcome.status
    known = {
        "form": form,
        "title": _("Make a token for a program"),
        "lead": _("A program that sends it acts as you. It is shown once and can be revoked at any time."),
        "word": _("Make the token"),
        "back": reverse("account"),
        "crumbs": _crumbs(),
        "tone": "filled",
    }
    return render(request, "coop/form_page.html", known, status=status)


@opens_to(MEMBER)
@require_POST
def revoke_token(request: HttpRequest, pk: int) -> HttpResponse:
    token = get_object_or_404(ApiToken, pk=pk, person=_me(request))
    if carry_out(request, DeedForm(request.POST), invitations.revoke_token, token=token).done:
        messages.success(request, _("The token “%(name)s” works no more.") % {"name": token.name})
    return redirect("account")


@opens_to(COORDINATOR)
@require_safe
def shed_phones(request: HttpRequest) -> HttpResponse:
    shown = SHED_PHONES.from_request(request, ShedPhone.objects.select_related("person"))
    return shown.file() or render(request, "coop/shed_phones.html", {"table": shown})


@opens_to(COORDINATOR, fresh=True)
@never_cache
@require_http_methods(["GET", "POST"])
def add_shed_phone(request: HttpRequest) -> HttpResponse:
    form = filled(request, ShedPhoneForm)
    status = 200
    crumbs = [Crumb(_("Phones of the shed"), reverse("shed_phones"))]
    if request.method == "POST":
        outcome = carry_out(request, form, invitations.add_shed_phone)
        if outcome.done:
            link = invitations.phone_link_for(_me(request).pk, form.cleaned_data["key"])
            return render(
                request, "coop/shed_phone_made.html", {"phone": outcome.result, "link": link, "crumbs": crumbs}
            )
        status = outcome.status
    known = {
        "form": form,
        "title": _("Add a phone of the shed"),
        "lead": _("It stays signed in for thirty days and opens the bench only. Choose whose name it records under."),
        "word": _("Make the link"),
        "back": reverse("shed_phones"),
        "crumbs": crumbs,
        "tone": "filled",
    }
    return render(request, "coop/form_page.html", known, status=status)


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def revoke_shed_phone(request: HttpRequest, pk: int) -> HttpResponse:
    phone = get_object_or_404(ShedPhone, pk=pk)
    return form_page(
        request,
        filled(request, DeedForm),
        invitations.revoke_shed_phone,
        title=_("Revoke %(name)s") % {"name": phone.name},
        lead=_("It is signed out at its next step. Entries that only the phone knows stay on it."),
        word=_("Revoke the phone"),
        back=reverse("shed_phones"),
        done=_("Revoked."),
        crumbs=[Crumb(_("Phones of the shed"), reverse("shed_phones"))],
        tone="rust",
        phone=phone,
    )
