"""The shelf itself, one material, and what stands in one shed."""

import dataclasses

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_safe

from coop import wording
from coop.access import VOLUNTEER, opens_to
from coop.models import the_club
from coop.parts import Crumb
from coop.tables import Column, Table
from inventory import holds, shelf, stocktakes, threads
from inventory.models import Holding, Item, Material, Place, Question
from inventory.pages.common import State, crumbs, pair
from inventory.pages.orders import orders_of


def stock_state(row: shelf.Stock) -> State:
    """The one thing to know of a material: run out, low, on hold, or fine."""
    if row.material.low_level is not None and row.usable <= 0:
        return "overdue", _("nothing to use")
    if row.is_low:
        return "soon", _("low")
    if row.held and not row.usable:
        return "hold", _("on hold")
    return ("fine", _("enough")) if row.material.low_level is not None else ("info", _("no level set"))


def lot_state(row: shelf.LotStock) -> State:
    """Of one lot: on hold, past its date, of a form that may not be used, soon, or fine."""
    best = row.item.best_before
    if row.is_held:
        return "hold", _("on hold, not counted")
    if row.is_expired and best:
        return "overdue", _("best before %(day)s, not counted") % {"day": wording.day(best)}
    if row.lot.form == row.lot.Form.UNKNOWN:
        return "stop", _("form unknown, may not be used")
    if row.lot.form == row.lot.Form.ANHYDROUS:
        return "stop", _("anhydrous, may not be used")
    if row.is_soon and best:
        return "soon", _("best before %(day)s") % {"day": wording.day(best)}
    return "fine", _("in date to %(day)s") % {"day": wording.day(best)} if best else _("keeps")


def _from(row: shelf.LotStock) -> str:
    return f"{row.lot.supplier.name} {row.lot.supplier_lot}".strip()


def _material_url(row: shelf.Stock) -> str:
    return reverse("inventory:material", args=[row.material.pk])


MATERIALS = Table(
    "shelf",
    columns=(
        Column("material", gettext_lazy("Material"), "material.name", sort="name", link=_material_url, strong=True),
        Column(
            "usable",
            gettext_lazy("Can be used"),
            lambda row: pair(row.usable, row.material.unit, row.material),
            "amount",
        ),
        Column(
            "held",
            gettext_lazy("On hold"),
            lambda row: pair(row.held, row.material.unit, row.material) if row.held else None,
            "amount",
        ),
        Column("lots", gettext_lazy("Lots"), "lots", "number", sort="lots"),
        Column("expiry", gettext_lazy("Next best before"), "next_expiry", "date", sort="next_expiry"),
        Column(
            "level",
            gettext_lazy("Safety stock"),
            lambda row: (
                None
                if row.material.low_level is None
                else pair(row.material.low_level, row.material.unit, row.material)
            ),
            "amount",
        ),
        Column("state", gettext_lazy("State"), stock_state, "state"),
    ),
    caption=gettext_lazy("Materials on the shelf"),
)
LOTS = Table(
    "lots",
    columns=(
        Column(
            "code",
            gettext_lazy("Lot"),
            "item.code_id",
            "code",
            link=lambda row: reverse("inventory:lot", args=[row.item.code_id]),
        ),
        Column(
            "hand",
            gettext_lazy("On hand"),
            lambda row: pair(row.on_hand, row.item.unit, row.item.material),
            "amount",
            strong=True,
        ),
        Column("where", gettext_lazy("Where"), lambda row: wording.listed(place.words for place, _q in row.places)),
        Column("from", gettext_lazy("From, their lot"), _from, sort="supplier"),
        Column("state", gettext_lazy("State"), lot_state, "state"),
    ),
    caption=gettext_lazy("Lots, first expiring first"),
    nothing=gettext_lazy("Nothing of it is on the shelf."),
)


@opens_to(VOLUNTEER)
@require_safe
def shelf_page(request: HttpRequest) -> HttpResponse:
    """Every material with what of it can be used; the title is the answer."""
    rows = shelf.stock(the_club().today())
    table = MATERIALS.from_request(request, rows)
    known = {
        "table": table,
        "rows": rows,
        "title": _headline(rows),
        "questions": Question.objects.filter(settled_by=None).count(),
        "sheds": Place.objects.filter(kind=Place.Kind.SHED, is_closed=False),
    }
    return table.file() or render(request, "inventory/shelf.html", known)


def _headline(rows: list[shelf.Stock]) -> str:
    low = [row.material.name for row in rows if row.is_low]
    if not rows:
        return _("The shelf")
    if not low:
        return _("Nothing is low")
    if len(low) <= 2:
        return _("Low: %(names)s") % {"names": wording.listed(low)}
    return _("%(count)s materials are low") % {"count": wording.spelled(len(low))}


@opens_to(VOLUNTEER)
@require_safe
def material_page(request: HttpRequest, pk: int) -> HttpResponse:
    """One material by its lots, first expiring first; used up ones with ?all=1."""
    material = get_object_or_404(Material.objects.select_related("supplier"), pk=pk)
    today = the_club().today()
    everything = request.GET.get("all") == "1"
    table = LOTS.from_request(request, shelf.lots_of(material, today, everything))
    row = shelf.stock(today, [material])[0]
    known = {
        "material": material,
        "row": row,
        "usable": wording.amount(*pair(row.usable, material.unit, material)),
        "level": None
        if material.low_level is None
        else wording.amount(*pair(material.low_level, material.unit, material)),
        "pack": None
        if material.pack_size is None
        else wording.amount(*pair(material.pack_size, material.unit, material)),
        "held": wording.amount(*pair(row.held, material.unit, material)) if row.held else "",
        "expired": wording.amount(*pair(row.expired, material.unit, material)) if row.expired else "",
        "unusable": wording.amount(*pair(row.unusable, material.unit, material)) if row.unusable else "",
        "state": stock_state(row),
        "orders": orders_of(material, today),
        "table": table,
        "everything": everything,
        "crumbs": crumbs(),
    }
    return table.file() or render(request, "inventory/material.html", known)


@dataclasses.dataclass(frozen=True)
class InShed:
    item: Item
    quantity: int
    words: str
    is_held: bool


IN_SHED = Table(
    "in-shed",
    columns=(
        Column(
            "code",
            gettext_lazy("Code"),
            "item.code_id",
            "code",
            sort="code",
            link=lambda row: threads.url_of(row.item),
        ),
        Column("what", gettext_lazy("What"), lambda row: row.words),
        Column("kind", gettext_lazy("Kind"), lambda row: row.item.get_kind_display(), sort="kind"),
        Column(
            "quantity",
            gettext_lazy("Book says"),
            lambda row: pair(row.quantity, row.item.unit, row.item.material),
            "amount",
            strong=True,
        ),
        Column("best", gettext_lazy("Best before"), "item.best_before", "date", sort="best"),
        Column("state", gettext_lazy("State"), lambda row: ("hold", _("on hold")) if row.is_held else None, "state"),
    ),
    caption=gettext_lazy("What is in the shed by the book"),
    nothing=gettext_lazy("By the book the shed is empty."),
)


#: while a shed is being counted nobody who counts reads what the book says
BEING_COUNTED = dataclasses.replace(
    IN_SHED, columns=tuple(column for column in IN_SHED.columns if column.key != "quantity")
)


@opens_to(VOLUNTEER)
@require_safe
def shed_page(request: HttpRequest, pk: int) -> HttpResponse:
    """What is in one shed by the book; without amounts while it is being counted."""
    shed = get_object_or_404(Place, pk=pk, kind__in=Place.IN_STORE)
    take = stocktakes.open_in(shed)
    rows = list(Holding.objects.filter(place=shed, quantity__gt=0).select_related("item__material"))
    items = [row.item for row in rows]
    words, held = stocktakes.blind_words(items) if take else threads.words_of(items), holds.held_ids()
    things = [InShed(row.item, row.quantity, words[row.item.pk], row.item.pk in held) for row in rows]
    table = (BEING_COUNTED if take else IN_SHED).from_request(
        request, sorted(things, key=lambda one: (one.item.kind, one.words))
    )
    way = crumbs(Crumb(_("Sheds"), reverse("inventory:sheds")))
    known = {"shed": shed, "take": take, "table": table, "crumbs": way}
    return table.file() or render(request, "inventory/shed.html", known)
