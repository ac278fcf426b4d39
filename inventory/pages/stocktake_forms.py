"""What is filled in at a stocktake: one thing counted, a code sought, an end."""

from typing import Any

from django import forms
from django.db.models import Q
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from coop.pages.base import DeedForm
from coop.pages.fields import CodeField, MassField, MomentField
from inventory import ledger
from inventory.models import Container, Item, Stocktake
from inventory.pages.common import amount_field
from inventory.pages.stock import ConfirmField


class BeginForm(DeedForm):
    note = forms.CharField(label=gettext_lazy("Note"), max_length=120, required=False)
    happened_at = MomentField()  # type: ignore[assignment]


class LeaveForm(DeedForm):
    reason = forms.CharField(label=gettext_lazy("Why it is given up"), max_length=200)


class EndForm(DeedForm):
    leave_uncounted = forms.BooleanField(
        label=gettext_lazy("What is not counted stays as the book has it"), required=False
    )
    note = forms.CharField(label=gettext_lazy("Note"), max_length=120, required=False)

    def __init__(self, *args: Any, has_left: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not has_left:
            self.fields["leave_uncounted"].widget = forms.HiddenInput()


class SoughtForm(forms.Form):
    """Something that is not on the list, by its code."""

    code = CodeField(label=gettext_lazy("Count something else: its code"))


class CountInForm(DeedForm):
    """What is there of one thing: a figure, or a box for each drum and one for what is loose. No figure of the book."""

    confirmed = ConfirmField()
    note = forms.CharField(label=gettext_lazy("Note"), max_length=300, required=False)
    happened_at = MomentField()  # type: ignore[assignment]

    def __init__(self, *args: Any, item: Item, stocktake: Stocktake, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.drums = self._drums(item, stocktake) if item.unit == "mass" and item.kind == Item.Kind.LOT else {}
        for drum in self.drums.values():
            self._ask_for(drum, item)
        if self.drums:
            self.fields["loose"] = MassField(
                label=_("Loose, without its drum"), required=False, least=0, help_text=_("A bag, a jar, a heap.")
            )
        else:
            self.fields["quantity"] = amount_field(
                item.unit, label=_("How much is there"), required="absent" not in self.data, least=0
            )
        names = [f"{what}_{pk}" for pk in self.drums for what in ("drum", "gone")]
        self.order_fields([*names, "loose", "quantity", "confirmed", "note", "happened_at"])

    def _drums(self, item: Item, stocktake: Stocktake) -> dict[int, Container]:
        """Those that stand here by the book, and those of which nobody knows where they stand."""
        texts = {name.partition("_")[2] for name in self.data if name.startswith(("drum_", "gone_"))}
        posted = [int(text) for text in texts if text.isascii() and text.isdigit() and len(text) < 12]
        near = Q(emptied_on=None) & (Q(place=stocktake.place) | Q(place=None))
        drums = Container.objects.filter(near | Q(pk__in=posted), lot_id=item.pk)
        return {one.pk: one for one in drums}

    def _ask_for(self, drum: Container, item: Item) -> None:
        if drum.tare_mg is not None:
            tare = _("Tare %(tare)s.") % {"tare": ledger.amount(drum.tare_mg, item)}
            self.fields[f"drum_{drum.pk}"] = MassField(
                label=_("%(name)s, gross") % {"name": drum.name},
                required=False,
                least=0,
                help_text=tare if drum.place_id else f"{tare} {_('Leave it empty if it does not stand here.')}",
            )
        if drum.place_id:
            self.fields[f"gone_{drum.pk}"] = forms.BooleanField(
                label=_("“%(name)s” is not here") % {"name": drum.name},
                required=False,
                help_text=""
                if drum.tare_mg is not None
                else _("It has no tare: weigh what is in it, and write it under loose."),
            )

    @property
    def asked(self) -> list[Any]:
        """The boxes that everybody fills in."""
        return [one for one in self.visible_fields() if one.name not in ("note", "happened_at")]

    @property
    def more(self) -> list[Any]:
        return [self["note"], self["happened_at"]]

    def arguments(self) -> dict[str, Any]:
        """With the button “It is not here” there is nothing, whatever stands in the boxes."""
        found = super().arguments()
        kept = {name: found[name] for name in ("confirmed", "note")}
        if "absent" in self.data:
            return {**kept, "quantity": 0}
        if not self.drums:
            return {**kept, "quantity": found["quantity"]}
        weighed, absent = [], []
        for pk, drum in self.drums.items():
            if found.get(f"drum_{pk}") is not None:
                weighed.append({"container": drum, "gross_mg": found[f"drum_{pk}"]})
            if found.get(f"gone_{pk}"):
                absent.append(drum)
        return {**kept, "weighed": weighed, "absent": absent, "loose": found["loose"]}
