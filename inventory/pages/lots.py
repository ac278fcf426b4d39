"""The page of one lot: what it came from, itself, what became of it, and its papers."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from coop.access import VOLUNTEER, opens_to
from coop.models import the_club
from inventory import certificates, costs, holds, ledger, shelf, threads
from inventory.models import Hold, Material, Movement, Place
from inventory.pages.common import lot, lot_crumbs
from inventory.pages.lot_papers import amendment_words
from inventory.pages.samples import rows_of
from inventory.pages.shelf import lot_state

LATEST = 8


@opens_to(VOLUNTEER)
@require_safe
def lot_page(request: HttpRequest, code: str) -> HttpResponse:
    item = lot(code)
    club = the_club()
    reached = holds.holds_of(item)
    places = shelf.where([item.pk]).get(item.pk, [])
    in_store = [one for one in places if one[0].kind in Place.IN_STORE]
    row = shelf.lot_stock(item, in_store, {item.pk} if reached else set(), club.today())
    movements = Movement.objects.filter(item=item).select_related("source__person", "target__person", "deed__actor")
    known = {
        "item": item,
        "lot": item.lot,
        "title": f"{item.spaced_code}, {item.material.name if item.material else ''}",
        "lead": _lead(row, reached),
        "state": lot_state(row),
        "stops": threads.thread_of(item),
        "holds": reached,
        "whereabouts": [(place.words, ledger.amount(quantity, item)) for place, quantity in places],
        "unit_cost": costs.unit_words(item.lot),
        "received": ledger.amount(item.lot.received_quantity, item),
        "containers": item.lot.containers.select_related("place"),
        "movements": [(one, ledger.amount(one.quantity, item)) for one in movements[:LATEST]],
        "questions": item.questions.filter(settled_by=None),
        "is_strips": item.material is not None and item.material.kind == Material.Kind.STRIP,
        "samples": rows_of(item.lot.samples.select_related("deed__actor")),
        "amendments": amendment_words(item.lot.amendments.select_related("deed__actor")),
        "is_acid": item.material is not None and item.material.kind == Material.Kind.ACID,
        "trace": threads.trace_url(item),
        "hold_url": threads.trace_url(item, "place_hold"),
        "crumbs": lot_crumbs(item),
    }
    return render(request, "inventory/lot.html", known)


def _lead(row: shelf.LotStock, reached: list[Hold]) -> str:
    if reached:
        return _("On hold: %(reason)s") % {"reason": reached[0].reason}
    amount = ledger.amount(row.on_hand, row.item)
    if row.on_hand:
        return _("%(amount)s on hand.") % {"amount": amount}
    return _("Nothing of it is in a shed.")


@opens_to(VOLUNTEER)
@require_safe
def certificate(request: HttpRequest, code: str) -> HttpResponse:
    """The certificate's bytes, as the file it came as."""
    item = lot(code)
    paper = item.lot.certificate
    if paper is None:
        raise Http404
    answer = HttpResponse(bytes(paper.content), content_type=paper.media_type)
    suffix = certificates.SUFFIXES[paper.media_type]
    answer["Content-Disposition"] = f'attachment; filename="certificate-{item.code_id}.{suffix}"'
    answer["X-Content-Type-Options"] = "nosniff"
    return answer
