"""What the shelf's pages share: the way here, finding a thing by its code, fields in its unit."""

from typing import Any

from django import forms
from django.http import Http404
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from coop import codes
from coop.pages.base import DeedForm
from coop.pages.fields import MassField, MomentField, NumberField, PiecesField
from coop.parts import Crumb
from inventory.models import Item, Material, Place

State = tuple[str, str]


def crumbs(*more: Crumb) -> list[Crumb]:
    return [Crumb(_("Shelf"), reverse("shelf")), *more]


def lot_crumbs(item: Item) -> list[Crumb]:
    """The way to a thing: the shelf, its material if it is a lot."""
    if item.material is None:
        return crumbs()
    return crumbs(Crumb(item.material.name, reverse("inventory:material", args=[item.material.pk])))


def thing(code: str) -> Item:
    """The item with a code, however it was written, or 404."""
    rows = Item.objects.select_related("material", "lot__supplier", "lot__certificate", "deed__actor")
    return get_object_or_404(rows, code=codes.tidy(code))


def lot(code: str) -> Item:
    item = thing(code)
    if item.kind != Item.Kind.LOT:
        raise Http404
    return item


def amount_field(unit: str, **kwargs: Any) -> NumberField:
    """Grams or pieces, as a thing is counted."""
    return MassField(**kwargs) if unit == "mass" else PiecesField(unit=_("pieces"), **kwargs)


def pair(quantity: int, unit: str, material: Material | None = None) -> tuple[int | None, int | None, str]:
    """For a table column of kind "amount": milligrams or pieces, and what the pieces are called."""
    noun = "strip" if material is None or material.kind == Material.Kind.STRIP else "piece"
    return (quantity, None, noun) if unit == "mass" else (None, quantity, noun)


class ShedField(forms.ModelChoiceField):  # type: ignore[type-arg]
    """Sheds in use, quarantine as well if it is asked for."""

    def __init__(self, *, with_quarantine: bool = False, **kwargs: Any) -> None:
        kinds = Place.IN_STORE if with_quarantine else (Place.Kind.SHED,)
        sheds = Place.objects.filter(kind__in=kinds, is_closed=False)
        kwargs.setdefault("label", gettext_lazy("Shed"))
        super().__init__(queryset=sheds, **kwargs)

    def label_from_instance(self, obj: Any) -> str:
        return str(obj.words)


class NoteForm(DeedForm):
    """A deed with a note, and a moment of its own if it was not just now."""

    note = forms.CharField(label=gettext_lazy("Note"), max_length=300, required=False)
    happened_at = MomentField()  # type: ignore[assignment]


def low_word(material: Material) -> str:
    return _("under its level") if material.low_level else _("none")
