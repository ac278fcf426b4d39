"""The bench through the API: who may, what is answered, how many queries a list takes."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from batches.models import Bench, Deviation, Recipe
from coop.command import new_key
from tests.makers import batches as make
from tests.makers.api import Api
from tests.makers.coop import coordinator, member

pytestmark = pytest.mark.django_db


@pytest.fixture
def room():
    return make.room()


def plan(room, **facts):
    return {"recipe": room.recipe.pk, "day": "2026-06-06", "target_g": "4000", **facts}


def test_the_same_key_does_a_deed_once_and_other_figures_under_it_are_a_conflict(room):
    api, key = Api(coordinator()), new_key()
    first, again = (api.send("benches/plan", key=key, **plan(room)) for _time in range(2))
    assert first.status_code == again.status_code == 201
    assert first.json() == again.json()
    assert Bench.objects.count() == 1
    other = api.send("benches/plan", key=key, **plan(room, target_g="3000"))
    assert (other.status_code, other.json()["code"]) == (409, "key_used")


def test_a_coordinator_plans_and_a_volunteer_does_not(room):
    assert Api(room.leader).send("benches/plan", **plan(room)).status_code == 403
    assert Api(coordinator()).send("benches/plan", **plan(room)).status_code == 201


def test_a_bench_is_there_for_volunteers_and_releasers_only(room):
    bench = make.planned(room)
    for path in ("benches", f"benches/{bench.pk}", "soaks", "bags", "deviations"):
        assert Api(room.mate).client.get(f"/api/v1/{path}").status_code == 200
        assert Api(room.releaser).client.get(f"/api/v1/{path}").status_code == 200
        assert Api(member()).client.get(f"/api/v1/{path}").status_code == 404


def test_a_release_asks_for_a_fresh_code(room):
    soak = make.closed(room)
    path = f"soaks/{soak.item.code_id}/release"
    stale = Api(room.releaser, fresh=False).send(path)
    assert (stale.status_code, stale.json()["code"]) == (403, "fresh_code")
    assert Api(room.mate).send(path).status_code == 403
    assert Api(room.releaser).send(path).status_code == 201


def test_a_deviation_is_decided_by_a_releaser_who_is_a_plain_member(room):
    bench = make.started(room)
    opened = Api(room.leader).post(f"benches/{bench.pk}/deviations/new", kind="other", text="lid off", reason="wind")
    path = f"deviations/{opened['id']}/decide"
    assert Api(member()).send(path, is_accepted=True).status_code == 404
    assert Api(room.releaser).post(path, is_accepted=True)["is_accepted"] is True
    assert Deviation.objects.get().decided.actor == room.releaser


def test_what_cannot_be_read_is_told_field_by_field(room):
    mix = make.started(room).mixes.get()
    answer = Api(room.leader).send(f"mixes/{mix.item.code_id}/weighings/new", item="AAAA", mass_g="1.807,5")
    assert answer.status_code == 400
    assert set(answer.json()["errors"]) == {"item", "mass_g"}


def test_an_unknown_code_is_not_found(room):
    assert Api(room.leader).send("mixes/XXXXXXXX/pail-check", total_g="1").status_code == 404
    assert Api(room.leader).client.get("/api/v1/soaks/XXXXXXXX").status_code == 404


def test_a_question_to_the_typist_is_answered_with_confirmed(room):
    mix = make.started(room).mixes.get()
    path, body = f"mixes/{mix.item.code_id}/weighings/new", {"item": room.acid.code_id, "mass_g": "14,41"}
    said = Api(room.leader).refused(path, "did_you_mean", **body)
    assert said["facts"]["mass"] == 14_410
    assert Api(room.leader).post(path, confirmed=True, **body)["mass_g"] == "14.41"


def test_a_part_of_a_bag_and_a_bag_split_off(room):
    whole = make.bags(make.released(room))[0]
    part = Api(room.leader).post(f"bags/{whole.item.code_id}/parts/new", strips=9)
    assert (part["part_of"], part["strips"], part["state"]) == (whole.item.code_id, 9, "released")
    assert Api(room.leader).post(f"bags/{whole.item.code_id}/split-off", reason="wet")["is_split_off"]
    assert Api(room.leader).get(f"bags/{part['code']}")["is_split_off"]
    listed = Api(room.leader).get("bags", soak=whole.soak.item.code_id)["results"]
    assert {one["code"] for one in listed} >= {part["code"], whole.item.code_id}


def test_a_doubted_scale_holds_what_it_weighed(room):
    soak = make.poured(room, make.started(room))
    since = soak.bench.started_at.isoformat()
    hold = Api(room.mate).post(f"equipment/{room.scale.pk}/hold", reason="dropped", since=since)
    assert set(hold["items"]) == {soak.item.code_id, soak.bench.mixes.get().item.code_id}
    assert Api(room.mate).get(f"soaks/{soak.item.code_id}")["is_held"]


def test_recipes_are_listed_by_their_newest_version(room):
    make.recipe(name=room.recipe.name, w_ppb=340_000_000)
    listed = Api(room.mate).get("recipes")["results"]
    assert [(one["name"], one["version"], one["w"]) for one in listed] == [(room.recipe.name, 2, "0.34")]
    assert Recipe.objects.count() == 2
    assert Api(room.mate).get(f"recipes/{room.recipe.pk}")["w"] == "0.36"
    assert Api(room.mate).get("instructions")["results"][0]["doses"][0]["strips"] == 3


LISTS = ("benches", "soaks", "bags", "deviations?is_open=true", "recipes", "instructions", "equipment")


def test_a_list_of_three_takes_the_queries_of_a_list_of_one(room):
    api = Api(room.mate)

    def more():
        bench = make.closed(room).bench
        bench.deviations.create(kind="other", text="x", opened=bench.deed, soak=bench.soaks.get())
        make.recipe()
        make.instructions()
        make.scale()

    def queries(path):
        with CaptureQueriesContext(connection) as caught:
            response = api.client.get(f"/api/v1/{path}")
        assert response.status_code == 200
        return len(caught), len(response.json()["results"])

    more()
    before = {path: queries(path) for path in LISTS}
    more()
    more()
    for path in LISTS:
        (for_one, rows), (for_three, more_rows) = before[path], queries(path)
        assert more_rows > rows >= 1, path
        assert for_three == for_one, path
