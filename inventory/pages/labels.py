"""Labels to print: for one lot, or for all that a delivery brought. A page of choices, and the sheets as PDF."""

from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_safe

from coop import printing, wording
from coop.access import VOLUNTEER, opens_to
from coop.label_sheets import DEFAULT, MOST_SHIFT, SHEETS, Sheet
from coop.models import the_club
from coop.pages.fields import NumberField, PiecesField
from coop.parts import Crumb
from coop.refusals import Refused
from coop.units import BadUnit
from inventory import labels
from inventory.models import Container, Delivery, Item, Material
from inventory.pages.common import crumbs, lot, lot_crumbs

OWN, EACH, LOT = "own", "each", "lot"
MEASURES = ("width", "height", "columns", "rows", "left", "top", "gap_x", "gap_y")


def _read_mm(text: object) -> Any:
    """Millimetres with comma or point, to a tenth."""
    written = str(text).strip().replace(",", ".").replace("\u2212", "-").removesuffix("mm").strip()
    try:
        value = Decimal(written)
    except ArithmeticError:
        value = Decimal("NaN")
    if not value.is_finite() or abs(value) > 1000:
        raise BadUnit(_("“%(text)s” is no measure in millimetres, such as 63.5.") % {"text": str(text)[:40]})
    return value.quantize(Decimal("0.01")).normalize() + 0


class MmField(NumberField):
    read = staticmethod(_read_mm)
    unit = "mm"


class SheetForm(forms.Form):
    """Which paper, from which label on, how far shifted. `sheet()` may refuse."""

    paper = forms.ChoiceField(label=gettext_lazy("Paper"), initial=DEFAULT)
    copies = PiecesField(label=gettext_lazy("Copies of each"), initial=1, most=labels.MOST)
    first = PiecesField(
        label=gettext_lazy("First free label"),
        initial=1,
        most=999,
        help_text=gettext_lazy("Counted along the rows from the upper left, for a sheet that was used before."),
    )
    right = MmField(label=gettext_lazy("Shift to the right"), initial="0", least=-int(MOST_SHIFT))
    down = MmField(
        label=gettext_lazy("Shift down"),
        initial="0",
        least=-int(MOST_SHIFT),
        help_text=gettext_lazy(
            "Hold a first print on plain paper against the sheet. If it sits too far left, shift it right; a figure "
            "below 0 shifts it back."
        ),
    )
    width = MmField(label=gettext_lazy("Label, width"), required=False)
    height = MmField(label=gettext_lazy("Label, height"), required=False)
    columns = PiecesField(label=gettext_lazy("Labels across"), required=False, most=20)
    rows = PiecesField(label=gettext_lazy("Labels down"), required=False, most=40)
    left = MmField(label=gettext_lazy("Left edge of the paper to the first label"), required=False)
    top = MmField(label=gettext_lazy("Upper edge of the paper to the first label"), required=False)
    gap_x = MmField(label=gettext_lazy("Gap between labels, across"), required=False)
    gap_y = MmField(label=gettext_lazy("Gap between labels, down"), required=False)

    def __init__(self, asked: QueryDict) -> None:
        super().__init__()
        known = [(key, sheet.words) for key, sheet in SHEETS.items()]
        self.fields["paper"].choices = [*known, (OWN, _("Another paper: by the measures below"))]  # type: ignore[attr-defined]
        self.is_bound = "paper" in asked or "as" in asked
        self._asked = asked

    def full_clean(self) -> None:
        """What an address leaves out is as the page first shows it."""
        if self.is_bound:
            usual = {name: str(one.initial) for name, one in self.fields.items() if one.initial is not None}
            self.data = usual | self._asked.dict()
        super().full_clean()

    def clean(self) -> dict[str, Any]:
        data = super().clean() or {}
        if data.get("paper") != OWN:
            return data
        for name in ("width", "height", "columns", "rows"):
            if data.get(name) is None and name not in self.errors:
                self.add_error(name, _("Say this too, for a paper of your own."))
        if not self.errors:
            try:
                self.sheet()
            except Refused as refusal:
                self.add_error("width", refusal.sentence)
        return data

    def sheet(self) -> Sheet:
        chosen = self.cleaned_data["paper"]
        if chosen != OWN:
            return SHEETS[chosen]
        mm = {name: self.cleaned_data[name] or Decimal(0) for name in MEASURES if name not in ("columns", "rows")}
        across, down = self.cleaned_data["columns"], self.cleaned_data["rows"]
        edges = mm["left"], mm["top"], mm["gap_x"], mm["gap_y"]
        return Sheet(mm["width"], mm["height"], across, down, *edges)

    @property
    def papers(self) -> list[Any]:
        """The fields that every print asks for."""
        return [self[name] for name in self.fields if name not in MEASURES]

    @property
    def measures(self) -> list[Any]:
        return [self[name] for name in MEASURES]

    @property
    def is_own(self) -> bool:
        return bool(self["paper"].value() == OWN or any(name in self.errors for name in MEASURES))


class LotForm(SheetForm):
    """The same, and which containers of the lot."""

    which = forms.ChoiceField(label=gettext_lazy("Labels for"), initial=EACH)
    field_order = ("which",)

    def __init__(self, asked: QueryDict, item: Item) -> None:
        super().__init__(asked)
        self.containers: list[Container] = list(item.lot.containers.all())
        standing = [one for one in self.containers if one.emptied_on is None]
        choices = [(str(one.pk), one.name) for one in self.containers]
        if standing:
            choices.insert(0, (EACH, _("each container that is not empty: %(count)d") % {"count": len(standing)}))
        choices.append((LOT, _("the lot, without naming a container")))
        self.fields["which"].choices = choices  # type: ignore[attr-defined]
        if not standing:
            self.fields["which"].initial = LOT

    def chosen(self) -> list[Container | None]:
        which = self.cleaned_data["which"]
        if which == EACH:
            return [one for one in self.containers if one.emptied_on is None]
        if which == LOT:
            return [None]
        return [one for one in self.containers if str(one.pk) == which]


@opens_to(VOLUNTEER)
@require_safe
def lot_labels(request: HttpRequest, code: str) -> HttpResponse:
    """Labels of one lot: for each container, for one of them, or for the lot."""
    item = lot(code)
    form = LotForm(request.GET, item)
    title = _("Labels for %(code)s") % {"code": item.spaced_code}
    return _page(
        request,
        form,
        lambda: labels.labels_of(item, form.chosen()),
        title=title,
        lead=item.material.name if item.material else "",
        name=f"labels-{item.code_id}",
        back=reverse("inventory:lot", args=[item.code_id]),
        crumbs=[*lot_crumbs(item), Crumb(item.spaced_code, reverse("inventory:lot", args=[item.code_id]))],
        items=[item],
    )


@opens_to(VOLUNTEER)
@require_safe
def delivery_labels(request: HttpRequest, pk: int) -> HttpResponse:
    """Labels for every container of every lot that one delivery brought."""
    delivery = get_object_or_404(Delivery.objects.select_related("supplier"), pk=pk)
    rows = Item.objects.filter(lot__delivery=delivery).select_related("material", "lot").order_by("pk")
    items = list(rows.prefetch_related("lot__containers"))
    form = SheetForm(request.GET)
    day = wording.full_day(the_club().day_of(delivery.arrived_at))
    return _page(
        request,
        form,
        lambda: labels.for_lots(items),
        title=_("Labels for a delivery"),
        lead=f"{delivery.supplier.name}, {day}",
        name=f"labels-{day.replace(' ', '-')}",
        back=reverse("shelf"),
        crumbs=crumbs(),
        items=items,
    )


def _page(
    request: HttpRequest,
    form: SheetForm,
    make: Callable[[], list[labels.Label]],
    *,
    title: str,
    name: str,
    items: Sequence[Item],
    **known: Any,
) -> HttpResponse:
    """The choices; with `?as=pdf` the sheets, or the choices again with what was wrong."""
    status = 200
    if form.is_bound:
        status = 422
        if form.is_valid():
            try:
                content = _print(form, make(), title)
            except Refused as refusal:
                form.add_error(refusal.facts.get("field"), refusal.sentence)
            else:
                return printing.answer(content, name)
    club = the_club()
    is_acid = any(item.material and item.material.kind == Material.Kind.ACID for item in items)
    known |= {"form": form, "title": title, "is_empty": not items}
    known |= {"misses_hazard": is_acid and not (club.signal_word and club.hazard_text), "is_acid": is_acid}
    return render(request, "inventory/labels.html", known, status=status)


def _print(form: SheetForm, made: list[labels.Label], title: str) -> bytes:
    data = form.cleaned_data
    copies = [label for label in made for _copy in range(data["copies"])][: labels.MOST + 1]
    return labels.pdf(
        copies, form.sheet(), title=title, first=data["first"], right_mm=data["right"], down_mm=data["down"]
    )
