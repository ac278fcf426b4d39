"""The page behind the code on a bag."""

import datetime as dt
import re

import pytest
import time_machine
from django.core.cache import cache
from django.test import Client

from tests.makers import batches, inventory
from tests.makers.coop import member, sign_in, volunteer

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _nobody_asked_before():
    cache.clear()


@pytest.fixture
def bag():
    room = batches.room()
    soak = batches.released(room)
    with time_machine.travel(room.now, tick=False):
        yield room, soak.bags.first()


def test_past_its_date_it_is_not_cleared(bag):
    _room, one = bag
    with time_machine.travel(dt.datetime(2031, 1, 1, tzinfo=dt.UTC)):
        assert b"Do not use" in look(one.item.code_id).content


def look(code):
    return Client().get(f"/c/{code}")


def shape(answer):
    """The page without its words: tags only."""
    return re.sub(r">[^<]*<", "><", answer.content.decode())


def test_a_released_bag_in_date_has_no_hold_known(bag):
    _room, one = bag
    answer = look(one.item.code_id)
    assert answer.status_code == 200
    assert b"No hold known at" in answer.content


def test_anything_else_is_not_cleared(bag):
    room, one = bag
    for code in (room.acid.code_id, one.soak.item.code_id, "34679CDF", "x", "%00", "A" * 200):
        answer = look(code)
        assert answer.status_code == 200
        assert b"Do not use" in answer.content


def test_a_hold_far_above_takes_the_clearance_away(bag):
    room, one = bag
    inventory.hold(room.acid)
    answer = look(one.item.code_id)
    assert b"Do not use" in answer.content
    assert b"certificate" not in answer.content


def test_both_answers_name_nobody_and_are_kept_nowhere(bag):
    _room, one = bag
    for code in (one.item.code_id, "34679CDF"):
        answer = look(code)
        html = answer.content.decode()
        assert "no-store" in answer["Cache-Control"]
        assert "Set-Cookie" not in answer
        assert not any(person in html for person in ("Leader", "Mate", "Ruiz"))
        assert "+33 1 99 00 12 34" in html
        assert "strips left" not in html


def test_both_answers_have_the_same_parts(bag):
    _room, one = bag
    kinds = [re.findall(r"<(h1|dl|dt|dd|main|ul|nav|form)\b", look(code).content.decode())
             for code in (one.item.code_id, "34679CDF")]  # fmt: skip
    assert kinds[0] == kinds[1]


def test_codes_cannot_be_tried_out():
    member()
    answers = [look("34679CDF").status_code for _time in range(32)]
    assert answers[:30] == [200] * 30
    assert answers[30:] == [429, 429]


def test_a_volunteer_is_led_on_to_the_trace():
    answer = sign_in(Client(), volunteer()).get("/c/34679CDF")
    assert b"/trace?code=" in answer.content
    assert b"/trace?code=" not in look("34679CDF").content
