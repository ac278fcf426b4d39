"""The page behind the code on a bag, for whoever has the bag in hand. It names nobody and counts nothing."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe
from rest_framework.throttling import SimpleRateThrottle

from coop import codes, registry, wording
from coop.access import NOBODY, opens_to
from coop.models import the_club
from inventory import holds
from inventory.models import Item


class AskingRate(SimpleRateThrottle):
    """So many codes a minute from one address, counted where all processes see it: codes cannot be tried out."""

    scope = "stranger"

    def get_cache_key(self, request: HttpRequest, view: object) -> str:  # type: ignore[override]
        return f"stranger:{self.get_ident(request)}"  # type: ignore[arg-type]


@opens_to(NOBODY)
@never_cache
@require_safe
def stranger_page(request: HttpRequest, code: str) -> HttpResponse:
    """ "No hold known at 14:05" for what is released, in date and not on hold; the same page with another word else.

    Unknown codes, lots, tubs and what is not released look alike, so that nothing can be learnt from trying.
    """
    if not AskingRate().allow_request(request, None):  # type: ignore[arg-type]
        answer = render(request, "429.html", status=429)
        answer["Retry-After"] = "60"
        return _shy(answer)
    now = timezone.now()
    tidy = codes.tidy(code)[:40]
    club = the_club()
    clear = is_cleared(tidy, club.day_of(now))
    known = {
        "is_clear": clear,
        "title": _("No hold known at %(clock)s") % {"clock": wording.clock(now)} if clear else _("Not cleared"),
        "now": now,
        "code": tidy if codes.is_valid(tidy) else "",
        "may_trace": getattr(request.user, "is_volunteer", False),
    }
    return _shy(render(request, "members/stranger.html", known))


def is_cleared(code: str, day: object) -> bool:
    """Released, in date on that local day, and not on hold. The same questions are asked of every code there is."""
    item = Item.objects.filter(code=code).first() if codes.is_valid(code) else None
    if item is None:
        return False
    may_be_used = any(ask(item, day) for _name, ask in registry.clearances.items())
    return not holds.holds_of(item) and may_be_used


def _shy(answer: HttpResponse) -> HttpResponse:
    answer["Cache-Control"] = "no-store"
    answer["X-Robots-Tag"] = "noindex, nofollow"
    answer["Referrer-Policy"] = "no-referrer"
    return answer
