"""Every address of the site, by every method, knocked at by every kind of person.

A new address without a mark fails here, and so does one whose parameters this walk cannot fill.
"""

import functools
import re

import pytest
from django.core.cache import cache
from django.test import Client
from django.urls import resolve

from coop import access
from coop.command import new_key
from coop.site.api import patterns
from tests.makers.coop import sign_in
from tests.makers.world import PERSONAS, World

pytestmark = [pytest.mark.django_db, pytest.mark.slow]
METHODS = ("GET", "POST", "HEAD OPTIONS", "PUT PATCH", "DELETE")

#: what belongs to the owner: for another member it is not there
OWNED = re.compile(
    r"(api/v1/)?(me/tokens/<|tokens/<|hives/<|hives/treatment/|hives/strips/|apiaries/<|treatments/<"
    r"|bags/<str:code>/pass-on|share-out/<int:pk>/ask/)"
)


@functools.cache
def every() -> tuple[str, ...]:
    return tuple(path for path, _pattern in patterns())


def mark_of(url: str) -> access.Mark | None:
    match = resolve(url)
    return access.mark_of(match.func, match.view_name)


def ask(client: Client, method: str, url: str):
    cache.clear()
    body = "" if method in ("GET", "HEAD") else "{}"
    return client.generic(method, url, body, "application/json", headers={"Idempotency-Key": new_key()})


def clients(world, fresh=True):
    return {
        name: (Client if person is None else functools.partial(_signed, person, fresh))
        for name, person in world.people.items()
    }


def _signed(person, fresh):
    return sign_in(Client(raise_request_exception=False), person, fresh)


def test_every_address_has_a_mark_and_can_be_filled_in():
    world = World()
    for pattern in every():
        assert isinstance(mark_of(world.path(pattern)), access.Mark), pattern


@pytest.mark.parametrize("methods", METHODS)
def test_nobody_gets_past_a_mark_and_nothing_breaks(methods):
    world = World()
    wrong = [line for method in methods.split() for line in walk(world, method)]
    assert wrong == []


def walk(world, method):
    """What went wrong when everybody asked every address by one method."""
    wrong = []
    for name, come in clients(world).items():
        if method == "HEAD" and name not in ("nobody", "other"):
            continue  # runs the same code as GET; the marks are what is asked here
        client = come()
        for pattern in every():
            if "sign-out" in pattern:
                client = come()
            url = world.path(pattern)
            answer = ask(client, method, url)
            trouble = judge(name, world, pattern, url, method, answer)
            if trouble:
                wrong.append(f"{method} {url} as {name}: {answer.status_code}, {trouble}")
            if "sign-out" in pattern:
                client = come()
    return wrong


def judge(name, world, pattern, url, method, answer):
    """What is wrong with an answer, or "" ."""
    if answer.status_code >= 500:
        return "broke"
    person, mark = world.people[name], mark_of(url)
    allowed = access.allows(mark, person)
    is_api = pattern.startswith("api/v1/") and pattern != "api/v1/docs"
    if allowed:
        if answer.status_code in (401, 403) and not (is_api and method not in ("GET", "HEAD")):
            return "shut out though the mark opens"
        if answer.status_code == 302 and "/sign-in" in answer["Location"] and mark.who is not access.NOBODY:
            return "sent to sign in though signed in"
        return ""
    if is_api:
        return "" if answer.status_code in (401, 403, 404, 405) else "the API let them in"
    if person is None:
        return "" if answer.status_code == 302 and "/sign-in" in answer["Location"] else "not sent to sign in"
    return "" if answer.status_code == 403 else "let in past the mark"


@pytest.mark.parametrize("method", ["GET", "POST"])
def test_what_is_anothers_is_not_there(method):
    world = World()
    owner, other = _signed(world.people["owner"], True), _signed(world.people["other"], True)
    wrong = []
    for pattern in filter(OWNED.match, every()):
        url = world.path(pattern)
        theirs, own = ask(other, method, url).status_code, ask(owner, method, url).status_code
        if theirs not in (404, 405) and not (theirs == own == 400):  # an unreadable body says nothing about the thing
            wrong.append(f"{method} {url} as another member: {theirs}")
        if own == 404:
            wrong.append(f"{method} {url} as the owner: 404")
    assert wrong == []


def test_deep_deeds_ask_for_a_fresh_code():
    world = World()
    client = _signed(world.people["coordinator"], False)
    sign_release = _signed(world.people["releaser"], False)
    for pattern in every():
        url = world.path(pattern)
        mark = mark_of(url)
        if not mark.fresh:
            continue
        asker = sign_release if mark.who is access.RELEASER else client
        answer = ask(asker, "POST", url)
        if pattern.startswith("api/"):
            assert answer.status_code in (403, 405), url
            if answer.status_code == 403:
                assert answer.json()["code"] == "fresh_code", url
        else:
            assert answer.status_code == 302, url
            assert answer["Location"].startswith("/fresh"), url


def test_an_address_that_does_not_exist_says_the_same_to_everybody():
    world = World()
    for name in PERSONAS:
        client = clients(world)[name]()
        assert client.get("/no/such/place").status_code == 404
