"""What the pages of both rooms share: the way here, forms for people, finding what is one's own."""

from typing import Any

from django import forms
from django.http import HttpRequest
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _

from batches.models import Bag
from coop import codes
from coop.models import Person
from coop.parts import Crumb
from members.models import Apiary, Round, Treatment


def me(request: HttpRequest) -> Person:
    """Whoever is signed in; the access marks have seen to that."""
    assert isinstance(request.user, Person)
    return request.user


def shareout_crumbs(*more: Crumb) -> list[Crumb]:
    return [Crumb(_("Share-out"), reverse("shareout")), *more]


def round_crumbs(round: Round) -> list[Crumb]:
    return shareout_crumbs(Crumb(round.name, reverse("members:round", args=[round.pk])))


def hives_crumbs(*more: Crumb) -> list[Crumb]:
    return [Crumb(_("Hives"), reverse("hives")), *more]


def apiary_crumbs(apiary: Apiary) -> list[Crumb]:
    return hives_crumbs(Crumb(apiary.name, reverse("members:apiary", args=[apiary.pk])))


def my_round(request: HttpRequest, pk: int) -> Round:
    rows = Round.objects.visible_to(me(request)).select_related("instructions")
    return get_object_or_404(rows, pk=pk)


def my_apiary(request: HttpRequest, pk: int) -> Apiary:
    return get_object_or_404(Apiary.objects.visible_to(me(request)).for_list(), pk=pk)


def my_treatment(request: HttpRequest, pk: int) -> Treatment:
    rows = Treatment.objects.visible_to(me(request)).select_related("apiary__keeper", "apiary__place", "instructions")
    return get_object_or_404(rows, pk=pk)


def bag_by_code(code: str) -> Bag:
    return get_object_or_404(Bag.objects.for_list(), item__code=codes.tidy(code))


class PersonField(forms.ModelChoiceField):  # type: ignore[type-arg]
    """Somebody who is in the club."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(queryset=Person.objects.here().order_by("name"), **kwargs)

    def label_from_instance(self, obj: Any) -> str:
        return str(obj.name)


class BagField(forms.CharField):
    """A bag by its code, typed, pasted or scanned with a reader that types; the bag itself."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 40)
        super().__init__(**kwargs)
        self.widget.attrs.update({"autocapitalize": "characters", "autocomplete": "off", "spellcheck": "false"})

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if not text:
            return None
        bag = Bag.objects.for_list().filter(item__code=codes.tidy(text)).first()
        if bag is not None:
            return bag
        near = [codes.spaced(one) for one in codes.near_codes(text)]
        hint = _("Did you mean %(near)s?") % {"near": ", ".join(near)} if near else ""
        raise forms.ValidationError((_("No bag has the code “%(code)s”.") % {"code": text[:20]} + " " + hint).strip())
