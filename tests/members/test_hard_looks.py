"""The members' rooms looked at by somebody who wants them to fail: earlier days, second taps, odd ids."""

import datetime as dt

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coop.command import Refused, new_key
from coop.models import the_club
from inventory.models import Item
from members.commands.handing import hand_over, pass_on
from members.commands.treating import strips_in
from tests.makers import batches as bench
from tests.makers import members as make
from tests.makers.api import Api
from tests.makers.coop import club, coordinator, do, member, sign_in

pytestmark = pytest.mark.django_db

DAY = dt.timedelta(days=1)


@pytest.fixture
def lotte():
    club()
    coordinator("Cora")
    return member("Lotte")


def refused(code, receiver, command=hand_over, **arguments):
    with pytest.raises(Refused) as refusal:
        do(command, receiver=receiver, cautions=True, **arguments)
    assert refusal.value.code == code


def test_an_earlier_day_does_not_let_an_expired_bag_out(lotte):
    make.basis()
    bag = make.shelf_bags([20])[0]
    Item.objects.filter(pk=bag.item_id).update(best_before=the_club().today() - DAY)
    refused("expired", lotte, bag=bag, happened_at=timezone.now() - 3 * DAY)


def test_an_earlier_day_does_not_bring_an_ended_legal_basis_back(lotte):
    make.basis(valid_until=the_club().today() - DAY)
    bag = make.shelf_bags([20])[0]
    refused("no_basis", lotte, bag=bag, happened_at=timezone.now() - 3 * DAY)


def test_nor_does_a_basis_of_today_reach_back_before_it_began(lotte):
    make.basis(valid_from=the_club().today())
    bag = make.shelf_bags([20])[0]
    refused("no_basis", lotte, bag=bag, happened_at=timezone.now() - 3 * DAY)


def test_passing_on_is_judged_on_the_day_it_is_asked_too(lotte):
    make.basis()
    bag, mia = make.shelf_bags([20])[0], member("Mia")
    make.handed(bag, lotte)
    Item.objects.filter(pk=bag.item_id).update(best_before=the_club().today() - DAY)
    refused("expired", mia, pass_on, by=lotte, bag=bag, happened_at=timezone.now() - 3 * DAY)


def twice(person, url, **body):
    client, body = sign_in(Client(), person), {"key": new_key(), **body}
    first, second = client.post(url, body), client.post(url, body)
    assert (first.status_code, second.status_code) == (302, 302)
    assert first["Location"] == second["Location"]


def test_a_second_tap_on_passing_on_is_told_that_it_was_done(lotte):
    make.basis()
    bag, mia = make.shelf_bags([20])[0], member("Mia")
    make.handed(bag, lotte)
    twice(lotte, reverse("members:pass_on", args=[bag.item.code_id]), receiver=mia.pk, cautions="on")


def test_a_second_tap_on_strips_taken_out_is_told_that_it_was_done(lotte):
    make.basis()
    bag = make.shelf_bags([20])[0]
    make.handed(bag, lotte)
    inside = do(strips_in, lotte, apiary=make.apiary(lotte), instructions=bench.instructions())
    line = inside.lines.first()
    twice(lotte, reverse("members:some_out", args=[inside.pk]), **{f"out_{line.pk}": line.strips_in})
    line.refresh_from_db()
    assert line.strips_out == line.strips_in


@pytest.mark.parametrize("odd", ["²", "①", "9" * 5000, 10**30, -1, 1.5, "NaN", [], {}, True, ""])
def test_an_id_that_is_no_number_is_a_sentence(lotte, odd):
    bag, api = make.shelf_bags([20])[0], Api(coordinator("Clara"))
    answer = api.send(f"bags/{bag.item.code_id}/hand-over", receiver=odd, cautions=True)
    assert (answer.status_code, answer.json()["code"]) == (400, "invalid")
    answer = api.send("benches/plan", recipe=odd, day="2026-03-14")
    assert (answer.status_code, answer.json()["code"]) == (400, "invalid")


@pytest.mark.parametrize("odd", ["0001-01-01", "0001-01-01T00:00:00Z", "9999-12-31T23:59:59-14:00", "9999-12-31"])
def test_a_moment_off_the_calendar_is_a_sentence(lotte, odd):
    answer = Api(lotte).send("apiaries/add", name="Long Field", happened_at=odd)
    assert (answer.status_code, answer.json()["code"]) == (400, "invalid")


@pytest.mark.parametrize("odd", ["0001-01-01T00:00", "9999-12-31T23:59"])
def test_nor_does_a_form_take_one(lotte, odd):
    client = sign_in(Client(), coordinator("Clara"))
    typed = {"key": new_key(), "bag": make.shelf_bags([20])[0].item.code_id, "receiver": lotte.pk, "happened_at": odd}
    answer = client.post(reverse("members:hand_over"), typed)
    assert "Look at the year" in answer.content.decode()
