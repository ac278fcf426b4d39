"""Collection day: hand a bag over, take one back; and a member passing strips on."""

from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from batches.models import Bag, Soak
from batches.queries import content
from coop import codes, wording
from coop.access import COORDINATOR, MEMBER, opens_to
from coop.models import LegalBasis, Person, the_club
from coop.pages.base import DeedForm, carry_out
from coop.pages.fields import CodeField, MomentField, PiecesField
from coop.pages.form_page import filled, form_page
from coop.parts import Crumb
from inventory.holds import holds_of
from inventory.models import Holding, Place
from members.commands import handing
from members.models import Apiary, HandOver
from members.pages.rooms import BagField, PersonField, bag_by_code, hives_crumbs, me, shareout_crumbs
from members.pages.threads import of_bag
from members.queries import held

BOTH = ["GET", "HEAD", "POST"]
CAUTIONS = gettext_lazy("The cautions were read and understood")


class HandOverForm(DeedForm):
    bag = BagField(label=gettext_lazy("Code on the bag"))
    receiver = PersonField(label=gettext_lazy("Member"))
    strips = PiecesField(
        label=gettext_lazy("Strips, if not the whole bag"),
        required=False,
        unit=gettext_lazy("strips"),
        help_text=gettext_lazy("A part gets a code of its own: write it on the part."),
    )
    code = CodeField(label=gettext_lazy("Printed code for the part, if there is one"), required=False)
    collected_by = PersonField(label=gettext_lazy("Collected by somebody else"), required=False)
    cautions = forms.BooleanField(label=CAUTIONS, required=False)
    happened_at = MomentField()  # type: ignore[assignment]


class PassOnForm(DeedForm):
    receiver = PersonField(label=gettext_lazy("To"))
    strips = PiecesField(label=gettext_lazy("Strips, if not all"), required=False, unit=gettext_lazy("strips"))
    cautions = forms.BooleanField(label=CAUTIONS, required=False)
    is_done = forms.BooleanField(
        label=gettext_lazy("They have them already"),
        required=False,
        help_text=gettext_lazy("Then it is noted whatever else is said: the book must know where strips are."),
    )
    happened_at = MomentField()  # type: ignore[assignment]


class BringBackForm(DeedForm):
    bag = BagField(label=gettext_lazy("Code on the bag"))
    person = PersonField(label=gettext_lazy("Who brings it"))
    strips = PiecesField(
        label=gettext_lazy("Strips, if not all they have"), required=False, unit=gettext_lazy("strips")
    )
    is_unopened = forms.BooleanField(label=gettext_lazy("The bag was never opened"), required=False)
    reason = forms.CharField(label=gettext_lazy("Why"), max_length=200, required=False)
    happened_at = MomentField()  # type: ignore[assignment]


def _cautions() -> dict[str, Any]:
    """What stands over a hand-over: the sheet's own words, the legal basis of today, whom to call."""
    club = the_club()
    basis = LegalBasis.objects.valid_on(LegalBasis.Subject.SUPPLY, club.today()).first()
    return {"basis": basis, "call": reverse("batches:call")}


@require_http_methods(BOTH)
@opens_to(COORDINATOR)
def hand_over(request: HttpRequest) -> HttpResponse:
    """Bag, member, cautions, done. ?bag=, ?to= and ?strips= fill the form from the pick list."""
    asked = request.GET
    initial = {"bag": codes.tidy(asked.get("bag", "")), "receiver": asked.get("to"), "strips": asked.get("strips")}
    form = filled(request, HandOverForm, initial=initial)
    status = 200
    if request.method == "POST":
        done = carry_out(request, form, handing.hand_over)
        if done.done:
            return _handed(request, done.result)
        status = done.status
    known = {"form": form, **_cautions(), "crumbs": shareout_crumbs(Crumb(_("Hand over"))), "place": "shareout"}
    return render(request, "members/hand_over.html", known, status=status)


def _handed(request: HttpRequest, done: HandOver) -> HttpResponse:
    words = _("%(strips)s handed to %(name)s: bag %(code)s.") % {
        "strips": wording.counted(done.strips),
        "name": done.receiver.name,
        "code": done.item.spaced_code,
    }
    messages.success(request, words)
    if Bag.objects.filter(item=done.item, parent__isnull=False, deed=done.deed_id).exists():
        messages.warning(request, _("This is a part of a bag: write %(code)s on it.") % {"code": done.item.spaced_code})
    if done.share is not None:
        return redirect("members:pack", done.share.round_id)
    return redirect("members:hand_over")


@require_http_methods(BOTH)
@opens_to(COORDINATOR)
def bring_back(request: HttpRequest) -> HttpResponse:
    return form_page(
        request,
        filled(request, BringBackForm, initial={"bag": request.GET.get("bag"), "person": request.GET.get("from")}),
        handing.bring_back,
        title=_("Strips come back"),
        lead=_("Gloves on. They go into quarantine, apart from the shelf, until somebody decides about them."),
        word=_("Take them back"),
        back=reverse("shareout"),
        done=_("They are in quarantine."),
        crumbs=shareout_crumbs(Crumb(_("Strips come back"))),
    )


def _my_bag(request: HttpRequest, code: str) -> Bag:
    """A bag that somebody has or had; of others' bags there is nothing. A coordinator sees every bag."""
    bag, person = bag_by_code(code), me(request)
    had = HandOver.objects.filter(item=bag.item).filter(receiver=person).exists()
    if had or person.is_coordinator or held_by(bag, person):
        return bag
    raise Http404


def held_by(bag: Bag, person: Person) -> int:
    rows = Holding.objects.filter(item=bag.item, place__kind=Place.Kind.MEMBER, place__person=person)
    return int(rows.values_list("quantity", flat=True).first() or 0)


@require_safe
@opens_to(MEMBER)
def bag_page(request: HttpRequest, code: str) -> HttpResponse:
    """A bag as the member who has it reads it: what is in it, whether anything is against it, what to do next."""
    bag, person = _my_bag(request, code), me(request)
    found = content.of_bag(bag)
    holds = holds_of(bag.item)
    clear = bag.soak.state == Soak.State.RELEASED and not bag.is_split_off and not holds
    club = the_club()
    is_late = bag.item.best_before is not None and bag.item.best_before < club.today()
    known = {
        "bag": bag,
        "item": bag.item,
        "here": held_by(bag, person),
        "content_mg": round(found.found.content_mg) if found else None,
        "instructions": held.instructions_for(person, [bag.item]),
        "stops": of_bag(bag, person),
        "holds": holds,
        "is_clear": clear and not is_late,
        "is_late": is_late,
        "apiaries": Apiary.objects.filter(keeper=person),
        "crumbs": hives_crumbs(Crumb(_("Bag"))),
        "place": "hives",
    }
    return render(request, "members/strips.html", known)


@require_http_methods(BOTH)
@opens_to(MEMBER)
def pass_on(request: HttpRequest, code: str) -> HttpResponse:
    bag, person = _my_bag(request, code), me(request)
    here = held_by(bag, person)
    if not here and not person.is_coordinator and request.method != "POST":
        raise Http404  # a second tap finds them gone, and must still hear that it was done
    form = filled(request, PassOnForm)
    status = 200
    if request.method == "POST":
        done = carry_out(request, form, handing.pass_on, bag=bag)
        if done.done:
            messages.success(
                request,
                _("%(strips)s are with %(name)s now: bag %(code)s.")
                % {
                    "strips": wording.counted(done.result.strips),
                    "name": done.result.receiver.name,
                    "code": done.result.item.spaced_code,
                },
            )
            return redirect("hives")
        status = done.status
    known = {
        "form": form,
        "bag": bag,
        "here": here,
        **_cautions(),
        "crumbs": hives_crumbs(Crumb(_("Bag"), reverse("members:strips", args=[code])), Crumb(_("Pass on"))),
        "place": "hives",
    }
    return render(request, "members/pass_on.html", known, status=status)
