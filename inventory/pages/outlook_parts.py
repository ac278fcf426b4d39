"""The parts of a material's outlook beside its picture: what to order, what to know, the lots, the last count."""

import datetime as dt
from typing import Any, NamedTuple

from django.urls import NoReverseMatch, reverse
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from coop import wording
from coop.drawing.outlook import lot_bar
from inventory import outlook_words as say
from inventory.amounts import amount
from inventory.models import Count, Hold, Movement
from inventory.outlook import LotNow, Outlook

SOON_DAYS = 60
LOTS_SHOWN = 12


class Lot(NamedTuple):
    """One lot beside the picture."""

    code: str
    amount: str
    bar: SafeString
    shape: str
    word: str
    note: str


def order(found: Outlook) -> dict[str, Any] | None:
    """The strip that says how much by when; None where nothing is to be bought."""
    if not found.projection.buy:
        return None
    by, supplier = found.order_by, found.material.supplier
    is_late = by is not None and by < found.today
    lines = []
    if is_late and by is not None:
        lines.append(_("It was due by %(day)s.") % {"day": wording.day(by, found.today)})
    if supplier is not None:
        lines.append(
            _("%(supplier)s needs %(days)s.")
            % {"supplier": supplier.name, "days": wording.counted(supplier.lead_days, "day")}
        )
    lines.append(say.after_buying(found))
    when = _("order now") if found.is_order_now else ""
    if by is not None and not found.is_order_now:
        when = _("order by %(day)s") % {"day": wording.day(by, found.today)}
    shape = "soon" if found.is_due_soon(found.today) else "waits"
    return {
        "much": say.to_buy(found),
        "shape": "overdue" if is_late else shape,
        "when": when,
        "away": wording.away(by, found.today) if by is not None and not found.is_order_now else "",
        "lines": " ".join(lines),
        "url": _order_url(found),
    }


def _order_url(found: Outlook) -> str:
    try:
        return reverse("inventory:order_new", args=[found.material.pk])
    except NoReverseMatch:
        return ""


def warnings(found: Outlook) -> list[tuple[str, str, str, str]]:
    """What somebody should know about the figures: shape, sentence, and a link (word, address)."""
    said = []
    change = reverse("inventory:material_change", args=[found.material.pk])
    for late_order in found.overdue:
        words = _("%(amount)s ordered for %(day)s have not come, and are not counted.")
        facts = {
            "amount": amount(late_order.quantity, found.material),
            "day": wording.day(late_order.expected_on, found.today),
        }
        said.append(("overdue", words % facts, "", ""))
    for one in found.late:
        words = _("The bench of %(day)s is late. It is counted today.") % {"day": wording.day(one.day, found.today)}
        said.append(("soon", words, _("See the bench"), one.url))
    for one in found.unknown:
        words = _("%(what)s: not counted, since nobody entered what a hive dose takes.") % {"what": one.what}
        said.append(("soon", words, _("Enter it"), change))
    if found.comes_late:
        words = _("What is on order makes up for it, but only after the safety stock is breached. Ask for it sooner.")
        said.append(("soon", words, "", ""))
    if found.projection.buy and found.material.supplier is None:
        said.append(("soon", _("No supplier is chosen, so there is no day to order by."), _("Choose one"), change))
    return said


def shown(found: Outlook) -> list[LotNow]:
    """Lots that count first, in the order in which they are used."""
    return sorted(found.lots, key=lambda lot: bool(lot.reason))[:LOTS_SHOWN]


def lots_title(found: Outlook) -> str:
    count = len({lot.item_id for lot in found.lots})
    return _("%(lots)s on the shelf") % {"lots": wording.counted(count, "lot")} if count else _("No lot on the shelf")


def lot(one: LotNow, found: Outlook, its_holds: list[Hold]) -> Lot:
    wasted = found.projection.wasted.get(one.item_id, 0) if not one.reason else 0
    largest = max(other.quantity for other in found.lots)
    bar = lot_bar(one.quantity, largest, wasted=wasted, is_counted=not one.reason)
    shape, word, note = _lot_state(one, found, wasted, its_holds)
    return Lot(one.code, amount(one.quantity, found.material), bar, shape, word, note)


def _lot_state(lot: LotNow, found: Outlook, wasted: int, its_holds: list[Hold]) -> tuple[str, str, str]:
    best = wording.day(lot.best_before, found.today)
    if lot.reason == "hold":
        since = _("Since %(moment)s: %(reason)s") % {
            "moment": wording.moment(its_holds[0].placed_at),
            "reason": its_holds[0].reason,
        }
        return ("hold", _("on hold, not counted"), since)
    if lot.reason == "quarantine":
        return ("info", _("in quarantine, not counted"), "")
    if lot.reason == "expired":
        return ("overdue", _("past %(day)s, not counted") % {"day": best}, "")
    if lot.reason == "form":
        return ("stop", _("not known as the dihydrate, not counted"), _("It may not be weighed in."))
    if lot.best_before is None:
        return ("fine", _("keeps, no best-before day"), "")
    if wasted:
        return ("soon", _("best before %(day)s") % {"day": best}, _left_over(lot, found, wasted))
    is_soon = (lot.best_before - found.today).days <= SOON_DAYS
    return ("soon", _("best before %(day)s") % {"day": best}, "") if is_soon else (
        "fine", _("in date to %(day)s") % {"day": best}, ""
    )  # fmt: skip


def _left_over(lot: LotNow, found: Outlook, wasted: int) -> str:
    words = _("%(amount)s will be left over.") % {"amount": amount(wasted, found.material)}
    benches = [
        step.day
        for step in found.projection.steps
        if step.key.startswith("bench:") and lot.best_before is not None and step.day <= lot.best_before
    ]
    if benches:
        more = _("A larger batch on %(day)s would use it.") % {"day": wording.day(benches[-1], found.today)}
        return f"{words} {more}"
    return words


def last_count(found: Outlook) -> str:
    """When the lots were last counted, where and by whom."""
    items = [lot.item_id for lot in found.lots]
    row = (
        Count.objects.filter(item__in=items)
        .select_related("stocktake__place", "deed__actor")
        .order_by("-happened_at", "-pk")
        .first()
    )
    moved = (
        Movement.objects.filter(item__in=items, cause=Movement.Cause.COUNT, reverses=None)
        .select_related("source", "target", "deed__actor")
        .order_by("-pk")
        .first()
    )
    if moved is not None and (row is None or moved.happened_at > row.happened_at):
        place = next((one for one in (moved.source, moved.target) if not one.is_boundary), moved.target)
        return _counted(place.words, moved.happened_at, moved.deed.who)
    return _counted(row.stocktake.place.words, row.happened_at, row.deed.who) if row is not None else ""


def _counted(place: str, moment: dt.datetime, who: str) -> str:
    return _("Counted in %(place)s %(moment)s by %(who)s.") % {
        "place": place,
        "moment": wording.moment(moment),
        "who": who,
    }
