"""Trace on pages and in the API: finding, showing, holding, lifting, freeing, and who may see what."""

import pytest
from django.test import Client
from django.urls import reverse

from batches.commands.equipment import hold_from_instrument
from coop.command import new_key
from inventory import holds
from inventory.models import Hold
from tests.makers import batches, inventory
from tests.makers.api import Api
from tests.makers.coop import coordinator, do, member, sign_in, volunteer

pytestmark = pytest.mark.django_db


@pytest.fixture
def room():
    made = batches.room()
    made.soak = batches.released(made)
    return made


def client(person, fresh=True):
    return sign_in(Client(), person, fresh)


def item_url(item):
    return reverse("trace:item", args=[item.code_id])


def test_a_known_code_leads_to_its_page(room):
    answer = client(volunteer()).get("/trace", {"code": room.acid.spaced_code.lower()})
    assert answer.status_code == 302
    assert answer["Location"] == item_url(room.acid)


def test_a_misread_code_is_told_with_near_ones(room):
    code = room.acid.code_id
    place = next(i for i in range(7) if code[i] != code[i + 1])
    swapped = code[:place] + code[place + 1] + code[place] + code[place + 2 :]
    answer = client(volunteer()).get("/trace", {"code": swapped})
    assert answer.status_code == 404
    assert item_url(room.acid).encode() in answer.content
    near = Api(volunteer()).client.get(f"/api/v1/trace/{swapped}")
    assert near.status_code == 404
    assert code in near.json()["facts"]["near"]


def test_an_unknown_code_is_told_without_an_error(room):
    for text in ("34679CDF", "x", "", "\x00", "'", "9" * 500):
        answer = client(volunteer()).get("/trace", {"code": text})
        assert answer.status_code == 404


@pytest.mark.parametrize("what", ["acid", "glycerine", "blanks", "mix", "soak", "bag", "sample", "returned"])
def test_everything_with_a_code_has_a_trace(room, what):
    soak = room.soak
    item = {
        "acid": room.acid,
        "glycerine": room.glycerine,
        "blanks": room.blanks,
        "mix": soak.bench.mixes.get().item,
        "soak": soak.item,
        "bag": soak.bags.first().item,
        "sample": soak.samples.get().item,
        "returned": soak.returned.get().item,
    }[what]
    head = client(coordinator())
    for name in ("item", "upstream", "reach"):
        answer = head.get(reverse(f"trace:{name}", args=[item.code_id]))
        assert answer.status_code == 200, name
        assert item.spaced_code in answer.content.decode()
    assert Api(coordinator()).get(f"trace/{item.code_id}")["code"] == item.code_id


def test_the_table_of_what_it_reaches_can_be_taken_away(room):
    answer = client(volunteer()).get(reverse("trace:reach", args=[room.acid.code_id]), {"as": "csv"})
    rows = answer.content.decode("utf-8-sig").splitlines()
    assert rows[0].startswith("Code")
    assert len(rows) == 1 + 6
    assert answer["Content-Disposition"].endswith('reach.csv"')


def test_a_volunteer_may_hold_at_once_and_everything_made_from_it_is_held(room):
    url = reverse("trace:place_hold", args=[room.acid.code_id])
    helper = client(volunteer(), fresh=False)
    answer = helper.post(url, {"key": new_key(), "reason": "the drum was open"})
    assert answer.status_code == 302
    assert holds.is_held(room.soak.bags.first().item)
    page = helper.get(item_url(room.soak.bags.first().item)).content.decode()
    assert "the drum was open" in page
    assert reverse("trace:lift", args=[Hold.objects.get().pk]) not in page


def test_a_hold_without_a_reason_is_asked_for_one(room):
    url = reverse("trace:place_hold", args=[room.acid.code_id])
    answer = client(volunteer()).post(url, {"key": new_key(), "reason": "  "})
    assert answer.status_code in (200, 422)
    assert not Hold.objects.exists()


def test_lifting_needs_a_coordinator_with_a_fresh_code(room):
    hold = inventory.hold(room.acid)
    url = reverse("trace:lift", args=[hold.pk])
    body = {"key": new_key(), "reason": "the supplier sent the certificate"}
    assert client(volunteer()).post(url, body).status_code == 403
    stale = client(coordinator(), fresh=False).post(url, body)
    assert stale.status_code == 302
    assert "/fresh" in stale["Location"]
    assert Hold.objects.active().count() == 1
    assert client(coordinator()).post(url, body).status_code == 302
    assert not Hold.objects.active().exists()


def test_a_part_is_freed_by_its_code_and_only_that_part(room):
    hold = inventory.hold(room.acid)
    first, second = batches.bags(room.soak)
    url = reverse("trace:free", args=[hold.pk])
    head = client(coordinator())
    assert head.get(url, {"code": first.item.code_id}).status_code == 200
    answer = head.post(url, {"key": new_key(), "item": first.item.spaced_code, "reason": "weighed and titrated"})
    assert answer.status_code == 302
    assert not holds.is_held(first.item)
    assert holds.is_held(second.item)
    page = head.get(reverse("trace:hold", args=[hold.pk])).content.decode()
    assert "weighed and titrated" in page


def test_what_the_hold_does_not_reach_cannot_be_freed_from_it(room):
    hold = inventory.hold(room.acid)
    url = reverse("trace:free", args=[hold.pk])
    for code in (room.glycerine.spaced_code, "34679CDF"):
        answer = client(coordinator()).post(url, {"key": new_key(), "item": code, "reason": "a slip"})
        assert answer.status_code in (200, 422)
    assert not hold.freed.exists()


def test_a_hold_from_an_instrument_names_it(room):
    hold = do(hold_from_instrument, equipment=room.scale, reason="fell from the bench", since=batches.START)
    head = client(coordinator())
    assert room.scale.name in head.get(reverse("trace:hold", args=[hold.pk])).content.decode()
    assert room.scale.name in head.get(reverse("trace:holds")).content.decode()
    assert holds.is_held(room.soak.bags.first().item)


def test_the_trace_is_not_for_members(room):
    for url in ("/trace", item_url(room.acid), reverse("trace:holds"), f"/api/v1/trace/{room.acid.code_id}"):
        assert client(member()).get(url).status_code == 403, url


def test_the_hold_list_filters_by_state(room):
    inventory.hold(room.acid, reason="open one")
    head = client(coordinator())
    assert "open one" in head.get(reverse("trace:holds"), {"open": "open"}).content.decode()
    assert "open one" not in head.get(reverse("trace:holds"), {"open": "lifted"}).content.decode()
    assert "open one" in head.get(reverse("trace:holds"), {"q": room.acid.spaced_code}).content.decode()


def test_queries_do_not_grow_with_what_a_trace_reaches(room, django_assert_max_num_queries):
    head = client(coordinator())
    counts = []
    for _more in range(2):
        with django_assert_max_num_queries(90) as seen:
            head.get(item_url(room.acid))
        counts.append(len(seen))
        batches.bagged(room, batches.lifted(room, batches.poured(room, batches.started(room))))
    assert abs(counts[0] - counts[1]) <= 6
