"""Deeds in words, and what one of them made."""

from collections.abc import Iterator
from typing import Any, NamedTuple

from django.urls import NoReverseMatch, reverse
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from coop import registry, wording
from coop.models import Deed
from inventory import threads
from inventory.models import Delivery, Hold, Incident, Item, Order, Question, StockFile, Stocktake


class Made(NamedTuple):
    """Something that a deed made: what it is, in words, and its page or ""."""

    what: str
    words: str
    url: str


@registry.moving_deeds.register("inventory")
def moving() -> dict[str, str | Promise]:
    return {
        "inventory.receive": gettext_lazy("lot received"),
        "inventory.receive_delivery": gettext_lazy("delivery received"),
        "inventory.write_file": gettext_lazy("file of opening stock written"),
        "inventory.draw": gettext_lazy("drawn"),
        "inventory.transfer": gettext_lazy("moved"),
        "inventory.move_container": gettext_lazy("container moved"),
        "inventory.discard": gettext_lazy("discarded"),
        "inventory.spill": gettext_lazy("spilt"),
        "inventory.find": gettext_lazy("found"),
        "inventory.count": gettext_lazy("counted"),
        "inventory.count_by_weight": gettext_lazy("counted by weighing"),
        "inventory.end_stocktake": gettext_lazy("stocktake ended"),
        "inventory.correct": gettext_lazy("set right"),
    }


def kinds() -> dict[str, str | Promise]:
    """Every kind of deed that moves stock, in words, by room."""
    return {verb: words for _room, name in registry.moving_deeds.items() for verb, words in name().items()}


def words_of(deed: Deed) -> str:
    """What was done, in few words."""
    return str(kinds().get(deed.verb) or deed.verb.partition(".")[2].replace("_", " ") or deed.verb)


def made_by(deed: Deed) -> list[Made]:
    """What a deed made beside its movements, as far as the shelf knows it. One question for each kind of row."""
    return [*_things(deed), *_rows(deed)]


def _things(deed: Deed) -> Iterator[Made]:
    rows = list(Item.objects.filter(deed=deed).select_related("material").order_by("pk")[:100])
    words = threads.words_of(rows)
    for item in rows:
        yield Made(item.get_kind_display(), f"{item.spaced_code}, {words[item.pk]}", threads.url_of(item))


def _rows(deed: Deed) -> Iterator[Made]:
    for delivery in Delivery.objects.filter(deed=deed).select_related("supplier"):
        yield Made(_("Delivery"), str(delivery.supplier), _page("delivery", delivery.pk))
    for order in Order.objects.filter(deed=deed).select_related("material"):
        yield Made(_("Order"), str(order.material), _page("order", order.pk))
    for take in Stocktake.objects.filter(begun_by=deed).select_related("place"):
        yield Made(_("Stocktake begun"), take.place.words, _page("stocktake", take.pk))
    for take in Stocktake.objects.filter(ended_by=deed).select_related("place"):
        yield Made(_("Stocktake ended"), take.place.words, _page("stocktake", take.pk))
    for incident in Incident.objects.filter(deed=deed):
        yield Made(_("Incident book"), incident.what, _page("incident", incident.pk))
    for question in Question.objects.filter(deed=deed).order_by("pk"):
        yield Made(_("Question"), question.text, _page("question", question.pk))
    for hold in Hold.objects.filter(placed_by=deed):
        yield Made(_("Hold"), hold.reason, "")
    for file in StockFile.objects.filter(written_by=deed):
        yield Made(_("File of opening stock"), wording.day(deed.happened_at), _page("stock_file", file.pk))


def _page(name: str, pk: Any) -> str:
    try:
        return reverse(f"inventory:{name}", args=[pk])
    except NoReverseMatch:
        return ""
