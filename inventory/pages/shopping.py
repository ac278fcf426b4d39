"""The shopping list on a page, in a file, and on paper."""

import dataclasses
import datetime as dt
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.decorators.http import require_safe

from coop import printing, wording
from coop.access import VOLUNTEER, opens_to
from coop.command import Refused
from coop.models import the_club
from coop.parts import Crumb
from coop.tables import Column, Table
from inventory import outlook, shopping, what_if
from inventory import outlook_words as say
from inventory.amounts import amount
from inventory.pages.common import State, crumbs, pair
from inventory.shopping import Basket, Line, ShoppingList


def _amount(get: Any) -> Any:
    return lambda row: pair(get(row), row.material.unit, row.material) if get(row) else None


def when_state(line: Line) -> State:
    """When to order, with how much it needs a hand."""
    shape, word = say.state(line.outlook)
    if line.order_by is None or line.is_now:
        return shape, word
    return shape, wording.day(line.order_by, line.outlook.today)


def ordered_already(line: Line) -> str:
    """What is on its way, and what should have come."""
    words = []
    for one in line.on_order:
        facts = {"amount": amount(one.quantity, line.material), "day": wording.day(one.expected_on)}
        if one.expected_on < line.outlook.today:
            words.append(_("%(amount)s due since %(day)s") % facts)
        else:
            words.append(_("%(amount)s expected %(day)s") % facts)
    return ", ".join(words)


SHOPPING = Table(
    "shopping-list",
    columns=(
        Column("supplier", gettext_lazy("Supplier"), lambda row: _supplier(row.supplier), sort="supplier"),
        Column(
            "material",
            gettext_lazy("Material"),
            "material.name",
            sort="material",
            link=lambda row: reverse("inventory:outlook_of", args=[row.material.pk]),
            strong=True,
        ),
        Column("packs", gettext_lazy("Packs"), "packs", "number"),
        Column("pack", gettext_lazy("Pack size"), _amount(lambda row: row.material.pack_size), "amount"),
        Column("amount", gettext_lazy("Buy"), _amount(lambda row: row.quantity), "amount", strong=True),
        Column("order_by", gettext_lazy("Order by"), "order_by", "date", sort="order_by"),
        Column("state", gettext_lazy("Order by"), when_state, "state"),
        Column("cents", gettext_lazy("Expected price"), "cents", "money", sort="cents"),
        Column("on_order", gettext_lazy("On order already"), ordered_already),
        Column(
            "note",
            gettext_lazy("Once ordered"),
            lambda row: _("Note the order"),
            link=lambda row: reverse("inventory:order_new", args=[row.material.pk]),
        ),
    ),
    caption=gettext_lazy("What to buy, by supplier, the most urgent first"),
    nothing=gettext_lazy("Nothing has to be bought."),
)


def _without(*keys: str) -> Table:
    return dataclasses.replace(SHOPPING, columns=[one for one in SHOPPING.columns if one.key not in keys])


#: a file has no links; a page has room for the day to order by once, with its shape
FILE = _without("state", "note")
PAGE = _without("order_by", "pack")
READ = _without("order_by", "pack", "note")


def _supplier(supplier: Any) -> str:
    return _("no supplier set") if supplier is None else str(supplier.name)


@opens_to(VOLUNTEER)
@require_safe
def shopping_page(request: HttpRequest) -> HttpResponse:
    """What to buy from whom by when; the title is the answer. In the address: until."""
    found, trouble = _asked(request)
    table = _table(request).from_request(request, found.lines)
    query = f"?until={found.until.isoformat()}" if found.until != outlook.default_until(found.today) else ""
    known = {
        "title": headline(found),
        "lead": _("To %(day)s, as the outlook stands today.") % {"day": wording.long_day(found.until)},
        "trouble": trouble,
        "table": table,
        "found": found,
        "baskets": [_basket(basket) for basket in found.baskets],
        "paper": reverse("inventory:shopping_paper") + query,
        "crumbs": crumbs(Crumb(_("Shopping list"))),
    }
    return table.file() or render(request, "inventory/shopping.html", known)


@opens_to(VOLUNTEER)
@require_safe
def paper(request: HttpRequest) -> HttpResponse:
    """The list to take along, or to read out on the telephone."""
    found, _trouble = _asked(request)
    return printing.answer(printed(found), f"shopping-list-{found.today.isoformat()}")


def printed(found: ShoppingList) -> bytes:
    return printing.pdf("inventory", "shopping_list", on_paper(found))


def on_paper(found: ShoppingList) -> dict[str, Any]:
    """Everything the printed page shows, in words."""
    facts = {"day": wording.full_day(found.today), "until": wording.full_day(found.until)}
    return {
        "title": _("Shopping list"),
        "lead": _("Of %(day)s, enough to %(until)s with the safety stock kept.") % facts,
        "nothing": "" if found.baskets else _("Nothing has to be bought."),
        "heads": [_("Done"), _("What"), _("Buy"), _("Order by"), _("Expected"), _("On order already")],
        "tick": _("to tick when ordered"),
        "baskets": [_paper_basket(basket) for basket in found.baskets],
        "notes": [_price_note()] if found.baskets else [],
        "total": _("In all: %(sum)s") % {"sum": _sum(found.cents, found.without_price)} if found.baskets else "",
    }


def _paper_basket(basket: Basket) -> dict[str, Any]:
    supplier = basket.supplier
    ways = [supplier.address, supplier.phone, supplier.email] if supplier else []
    return {
        "name": _("No supplier set") if supplier is None else supplier.name,
        "reach": " · ".join(way for way in ways if way),
        "sum": _sum(basket.cents, basket.without_price),
        "rows": [
            [
                line.material.name,
                _much(line),
                _when(line),
                wording.money(line.cents),
                ordered_already(line),
            ]
            for line in basket.lines
        ],
    }


def _much(line: Line) -> str:
    """ "7 packs of 1 000 g, 7 000 g": packs to say on the telephone, and the whole to check it."""
    words = say.to_buy(line.outlook)
    whole = amount(line.quantity, line.material)
    return words if words == whole or line.packs == 1 else f"{words}, {whole}"


def _when(line: Line) -> str:
    if line.order_by is None:
        return wording.NOTHING
    return _("now") if line.is_now else wording.full_day(line.order_by)


def _sum(cents: int, without_price: int) -> str:
    if not without_price:
        return wording.money(cents)
    text = ngettext(
        "%(sum)s and %(count)s thing without a known price",
        "%(sum)s and %(count)s things without a known price",
        without_price,
    )
    return text % {"sum": wording.money(cents), "count": wording.figure(without_price)}


def _price_note() -> str:
    return _("Prices are what was paid last, to this supplier where there was such a lot. Ask for today's.")


def headline(found: ShoppingList) -> str:
    """ "Three things to buy, one of them now"."""
    count, now = len(found.lines), sum(line.is_now for line in found.lines)
    if not count:
        return _("Nothing has to be bought")
    text = ngettext("%(count)s material to buy", "%(count)s materials to buy", count)
    said = text % {"count": wording.spelled(count)}
    if not now:
        return said
    if now == count:
        return _("%(said)s now") % {"said": said}
    return _("%(said)s, %(now)s of them now") % {"said": said, "now": wording.spelled(now).lower()}


def _basket(basket: Basket) -> dict[str, Any]:
    return {"basket": basket, "sum": _sum(basket.cents, basket.without_price)}


def _table(request: HttpRequest) -> Table:
    if "as" in request.GET:
        return FILE
    return PAGE if getattr(request.user, "is_coordinator", False) else READ


def _asked(request: HttpRequest) -> tuple[ShoppingList, str]:
    """The list to the day asked for; what cannot be read is said, and the usual day stands."""
    today = the_club().today()
    until: dt.date | None = None
    trouble = ""
    try:
        until = what_if.read(today, request.GET.get("until", "")).until
    except Refused as refused:
        trouble = refused.sentence
    return shopping.shopping_list(today, until), trouble
