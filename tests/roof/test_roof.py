"""Today, the API's root, its document and the page that shows it."""

import re

import pytest
from django.test import Client
from django.urls import reverse

from coop.site.today import headline
from coop.today import Task, Urgency
from tests.makers import inventory
from tests.makers.api import Api
from tests.makers.coop import coordinator, member, sign_in, volunteer

pytestmark = pytest.mark.django_db


def page(person, url):
    return sign_in(Client(), person).get(url)


def test_today_asks_for_a_sign_in_first(client):
    member()
    answer = client.get("/")
    assert answer.status_code == 302
    assert reverse("account_request_login_code") in answer["Location"]


def test_today_of_an_empty_club_says_what_to_do_first():
    answer = page(coordinator(), "/")
    assert b"Receive the first lot" in answer.content
    assert b"Nothing is on hold" in answer.content


def test_a_member_sees_nothing_of_the_shelf_on_today():
    inventory.hold(inventory.lot())
    answer = page(member(), "/")
    assert answer.status_code == 200
    assert b"certificate" not in answer.content
    assert b"Nothing needs a hand today" in answer.content


def test_a_hold_stands_on_the_coordinators_today():
    inventory.hold(inventory.lot())
    answer = page(coordinator(), "/")
    assert b"the certificate does not name the form" in answer.content


def test_the_headline_counts_and_warns():
    late, soon = Task(Urgency.OVERDUE, "a"), Task(Urgency.SOON, "b")
    assert headline([late, soon]) == "Two things need a hand. The first cannot wait."
    assert headline([soon]) == "One thing needs a hand."
    assert headline([]) == "Nothing needs a hand today."


def test_the_root_lists_only_what_one_may_reach():
    def paths(person):
        return {door["path"] for door in Api(person).get("")["doors"]}

    of_member, of_volunteer, of_coordinator = paths(member()), paths(volunteer()), paths(coordinator())
    assert "/api/v1/me" in of_member
    assert "/api/v1/people" not in of_volunteer
    assert "/api/v1/trace/<str:code>" in of_volunteer - of_member
    assert of_member < of_volunteer < of_coordinator


def test_the_root_is_closed_to_strangers(client):
    assert client.get("/api/v1/").status_code in (401, 403)


def test_the_document_describes_every_address_of_the_api():
    from coop.site.api import doors

    document = sign_in(Client(), member()).get("/api/v1/schema", {"format": "json"}).json()
    assert document["openapi"].startswith("3.")
    written = {re.sub(r"{[^}]*}", "<>", path) for path in document["paths"]}
    assert {re.sub(r"<[^>]*>", "<>", door.path) for door in doors()} - written <= {"/api/v1/schema"}


def test_the_page_of_the_document_needs_nothing_inline_and_nothing_from_elsewhere():
    answer = page(member(), "/api/v1/docs")
    html = answer.content.decode()
    assert answer.status_code == 200
    assert "swagger-ui-bundle.js" in html
    assert "<style" not in html
    assert "style=" not in html
    assert html.count("<script") == html.count("<script src=") + html.count('<script type="module" src=')
    assert "http://" not in html.replace("http://testserver", "").replace("http://www.w3.org", "")
    assert "unsafe" not in answer["Content-Security-Policy"]
