"""Day or night, kept in a cookie of this device."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_safe

from coop.access import NOBODY, opens_to
from coop.context import THEMES

YEAR_S = 365 * 24 * 3600


@opens_to(NOBODY)
@require_safe
def choose_theme(request: HttpRequest, theme: str) -> HttpResponse:
    """Keep the theme for a year and go back to where the person was."""
    if theme not in THEMES:
        raise Http404
    back = request.GET.get("next", "/")
    if not url_has_allowed_host_and_scheme(back, {request.get_host()}, require_https=request.is_secure()):
        back = "/"
    answer = redirect(back)
    answer.set_cookie("theme", theme, max_age=YEAR_S, samesite="Lax", secure=request.is_secure())
    return answer
