"""What every page knows: the club's name, the theme, and the places this person has."""

from typing import Any, NamedTuple

from django.http import HttpRequest
from django.urls import NoReverseMatch, reverse
from django.utils.translation import gettext as _

from coop.models import Club
from coop.models.people import Person

THEMES = ("day", "night")


class Place(NamedTuple):
    name: str
    url: str
    current: bool
    key: str


def everywhere(request: HttpRequest) -> dict[str, Any]:
    """`places`: the rooms of the person signed in, none for a stranger; the `club` and the `theme`."""
    person = getattr(request, "user", None)
    return {
        "places": _places_of(person, request.path) if isinstance(person, Person) else [],
        "club": Club.objects.filter(pk=1).first(),
        "theme": theme_of(request),
        "night_url": _address("theme", "night"),
        "day_url": _address("theme", "day"),
        "account_url": _address("account"),
        "sign_out_url": _address("account_logout"),
    }


def theme_of(request: HttpRequest) -> str:
    """ "day" or "night" as chosen, "" to follow the device."""
    chosen = request.COOKIES.get("theme", "")
    return chosen if chosen in THEMES else ""


def _places_of(person: Person, path: str) -> list[Place]:
    names = {
        "today": _("Today"),
        "shelf": _("Shelf"),
        "bench": _("Bench"),
        "shareout": _("Share-out"),
        "hives": _("Hives"),
        "trace": _("Trace"),
    }
    has = set(names) if person.is_volunteer else {"today", "shareout", "hives"}
    found = []
    for key in names:
        url = _address(key) if key in has else ""
        if url:
            found.append(Place(names[key], url, _is_in(path, url), key))
    return found


def _is_in(path: str, url: str) -> bool:
    return path == url or (url != "/" and path.startswith(url))


def _address(name: str, *arguments: str) -> str:
    try:
        return reverse(name, args=arguments)
    except NoReverseMatch:
        return ""
