"""People, for coordinators: the list, one person, and what may be done about them."""

from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from coop import fresh, notices
from coop.access import COORDINATOR, opens_to
from coop.commands import invitations, people, telling
from coop.models import Invitation, Person, Role
from coop.pages.base import DeedForm
from coop.pages.fields import DayField
from coop.pages.form_page import filled, form_page
from coop.parts import Crumb
from coop.tables import Column, Filter, Table


def person_url(person: Person) -> str:
    return reverse("person", args=[person.pk])


def _releases(person: Person) -> str:
    return _("yes") if person.is_releaser else ""


PEOPLE = Table(
    "people",
    columns=(
        Column("name", gettext_lazy("Name"), "name", sort="name", link=person_url, strong=True),
        Column("role", gettext_lazy("Role"), lambda one: one.get_role_display(), sort="role"),
        Column("releaser", gettext_lazy("Releases"), _releases, sort="is_releaser"),
        Column("email", gettext_lazy("E-mail"), lambda one: one.email or "", sort="email"),
        Column("phone", gettext_lazy("Phone"), "phone"),
        Column("joined", gettext_lazy("Joined"), "joined_on", "date", sort="joined_on"),
    ),
    filters=(Filter("role", gettext_lazy("Role"), "role", Role.choices),),
    search=("name", "email", "phone"),
    order="name",
    caption=gettext_lazy("Everyone in the club"),
)


class PersonForm(DeedForm):
    name = forms.CharField(label=gettext_lazy("Name"), max_length=120)
    email = forms.EmailField(
        label=gettext_lazy("E-mail"),
        required=False,
        help_text=gettext_lazy("Codes to sign in and reminders go here. Without one, a coordinator tells by phone."),
    )
    phone = forms.CharField(label=gettext_lazy("Phone"), max_length=40, required=False)
    address = forms.CharField(label=gettext_lazy("Postal address"), max_length=200, required=False)


class NewPersonForm(PersonForm):
    role = forms.ChoiceField(label=gettext_lazy("Role"), choices=Role.choices, initial=Role.MEMBER)
    is_releaser = forms.BooleanField(label=gettext_lazy("May release batches"), required=False)
    joined_on = DayField(label=gettext_lazy("Joined on, if not today"), required=False)


class RoleForm(DeedForm):
    role = forms.ChoiceField(label=gettext_lazy("Role"), choices=Role.choices, widget=forms.RadioSelect)


class ReleaserForm(DeedForm):
    may_release = forms.BooleanField(
        label=gettext_lazy("May release batches"),
        required=False,
        help_text=gettext_lazy("Nobody releases a bench that they were part of."),
    )


class CallForm(DeedForm):
    notices = forms.CharField(widget=forms.HiddenInput, max_length=2000)
    reached = forms.TypedChoiceField(
        label=gettext_lazy("Was anybody there?"),
        choices=[("yes", gettext_lazy("told by phone")), ("no", gettext_lazy("rung in vain"))],
        widget=forms.RadioSelect,
        coerce=lambda text: text == "yes",
    )

    def clean_notices(self) -> list[int]:
        return [int(one) for one in str(self.cleaned_data["notices"]).split(",") if one.isdigit()]


def _crumbs(person: Person | None = None) -> list[Crumb]:
    found = [Crumb(_("People"), reverse("people"))]
    return [*found, Crumb(person.name, person_url(person))] if person else found


def _somebody(pk: int) -> Person:
    return get_object_or_404(Person.objects.here(), pk=pk)


@opens_to(COORDINATOR)
@require_safe
def people_list(request: HttpRequest) -> HttpResponse:
    """Everyone in the club. Taking the list away as a file needs a fresh code."""
    if request.GET.get("as") and not fresh.is_fresh(request):
        return fresh.ask_again(request)
    shown = PEOPLE.from_request(request, Person.objects.here())
    return shown.file() or render(request, "coop/people.html", {"table": shown})


@opens_to(COORDINATOR)
@require_safe
def person_page(request: HttpRequest, pk: int) -> HttpResponse:
    person = _somebody(pk)
    invited = Invitation.objects.filter(person=person, purpose="invite").order_by("-id").first()
    waiting = person.notices.filter(state="phone")
    return render(
        request,
        "coop/person.html",
        {"person": person, "invitation": invited, "waiting": waiting, "crumbs": _crumbs()},
    )


@opens_to(COORDINATOR, fresh=True)
@require_http_methods(["GET", "POST"])
def add(request: HttpRequest) -> HttpResponse:
    return form_page(
        request,
        filled(request, NewPersonForm),
        people.add_person,
        title=_("Add a person"),
        lead=_("Nobody signs up by themselves. Once they are on the list, send them an invitation."),
        word=_("Add to the club"),
        back=reverse("people"),
        done=_("On the list. An invitation can be sent from here."),
        crumbs=_crumbs(),
        go_to=person_url,
    )


@opens_to(COORDINATOR, fresh=True)
@require_http_methods(["GET", "POST"])
def change(request: HttpRequest, pk: int) -> HttpResponse:
    person = _somebody(pk)
    known = {"name": person.name, "email": person.email, "phone": person.phone, "address": person.address}
    return form_page(
        request,
        filled(request, PersonForm, initial=known),
        people.change_person,
        title=_("Change what is known"),
        lead=_("A new e-mail signs the person out everywhere: from then on codes go to the new one."),
        word=_("Keep the change"),
        back=person_url(person),
        done=_("Changed."),
        crumbs=_crumbs(person),
        person=person,
    )


@opens_to(COORDINATOR, fresh=True)
@require_http_methods(["GET", "POST"])
def role(request: HttpRequest, pk: int) -> HttpResponse:
    person = _somebody(pk)
    return form_page(
        request,
        filled(request, RoleForm, initial={"role": person.role}),
        people.set_role,
        title=_("Role of %(name)s") % {"name": person.name},
        lead=_(
            "A member sees what is theirs. A volunteer also works at the bench, counts the shelf and reads it. "
            "A coordinator does all that, and keeps stock, rounds and people."
        ),
        word=_("Set the role"),
        back=person_url(person),
        done=_("The role is set."),
        crumbs=_crumbs(person),
        person=person,
    )


@opens_to(COORDINATOR, fresh=True)
@require_http_methods(["GET", "POST"])
def releaser(request: HttpRequest, pk: int) -> HttpResponse:
    person = _somebody(pk)
    return form_page(
        request,
        filled(request, ReleaserForm, initial={"may_release": person.is_releaser}),
        people.set_releaser,
        title=_("May %(name)s release batches?") % {"name": person.name},
        word=_("Set the mark"),
        back=person_url(person),
        done=_("The mark is set."),
        crumbs=_crumbs(person),
        person=person,
    )


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def invite(request: HttpRequest, pk: int) -> HttpResponse:
    person = _somebody(pk)
    return form_page(
        request,
        filled(request, DeedForm),
        invitations.invite,
        title=_("Invite %(name)s") % {"name": person.name},
        lead=_("A link goes to %(email)s. It works once, for %(days)d days; an earlier one stops working.")
        % {"email": person.email or "–", "days": invitations.INVITATION_DAYS},
        word=_("Send the invitation"),
        back=person_url(person),
        done=_("The invitation is on its way."),
        crumbs=_crumbs(person),
        person=person,
    )


@opens_to(COORDINATOR, fresh=True)
@require_http_methods(["GET", "POST"])
def leave(request: HttpRequest, pk: int) -> HttpResponse:
    person = _somebody(pk)
    return form_page(
        request,
        filled(request, DeedForm),
        people.leave,
        title=_("%(name)s leaves the club") % {"name": person.name},
        lead=_(
            "Name, e-mail, phone, address, sessions, tokens and letters are deleted and cannot be had back. "
            "What was made, handed over and treated stays on record, without the name."
        ),
        word=_("Delete the name and let them go"),
        back=reverse("people"),
        done=_("They have left; their name is gone from the records."),
        crumbs=_crumbs(person),
        tone="rust",
        person=person,
    )


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def sign_out(request: HttpRequest, pk: int) -> HttpResponse:
    person = _somebody(pk)
    return form_page(
        request,
        filled(request, DeedForm),
        people.sign_out_everywhere,
        title=_("Sign %(name)s out everywhere") % {"name": person.name},
        lead=_("For a lost phone. Every browser and shed phone of this person must sign in again."),
        word=_("Sign out everywhere"),
        back=person_url(person),
        done=_("Signed out everywhere."),
        crumbs=_crumbs(person),
        person=person,
    )


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def call(request: HttpRequest, pk: int) -> HttpResponse:
    """What somebody without e-mail is to be told, and what came of ringing them."""
    person = _somebody(pk)
    waiting = notices.for_the_phone(person).get(person, [])
    texts = [notices.lines_of(one) for one in waiting]
    known: dict[str, Any] = {"initial": {"notices": ",".join(str(one.pk) for one in waiting)}}
    return form_page(
        request,
        filled(request, CallForm, **known),
        telling.told_by_phone,
        title=_("Call %(name)s") % {"name": person.name},
        lead=person.phone or _("No phone is known."),
        texts=texts,
        word=_("Note the call"),
        back=person_url(person),
        done=_("The call is noted."),
        crumbs=_crumbs(person),
        person=person,
    )
