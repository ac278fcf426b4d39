"""The Share-out and the Hives through the API: whose is whose, what is answered, how many queries a list takes."""

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from coop.command import new_key
from coop.models import Person
from members.commands import sharing, treating
from members.models import Apiary, Treatment
from tests.makers import batches as bench
from tests.makers import members as make
from tests.makers.api import Api
from tests.makers.coop import club, coordinator, do, member, releaser, volunteer

pytestmark = pytest.mark.django_db


class Cast:
    """A keeper with strips in, a stranger with hives of their own, and a coordinator."""

    def __init__(self) -> None:
        club()
        self.head = coordinator("Cora")
        self.ada, self.bo = member("Ada"), member("Bo")
        self.doc = bench.instructions()
        make.basis()
        self.bag, self.spare = make.shelf_bags([6, 9], self.doc)
        self.apiary = make.apiary(self.ada, hives=2)
        self.other = make.apiary(self.bo, hives=2)
        make.handed(self.bag, self.ada)

    def treated(self) -> Treatment:
        treatment: Treatment = do(treating.strips_in, self.ada, apiary=self.apiary)
        return treatment


@pytest.fixture
def cast() -> Cast:
    return Cast()


def status(who: Person, path: str, /, **body: Any) -> int:
    return int(Api(who).send(path, **body).status_code)


def test_what_is_anothers_is_not_there(cast):
    treatment, hives = cast.treated(), make.hives(cast.apiary)
    deeds = {
        f"apiaries/{cast.apiary.pk}/change": {"name": "Mine now"},
        f"apiaries/{cast.apiary.pk}/hives/add": {"kind": bench.hive_kind().pk},
        f"apiaries/{cast.apiary.pk}/strips-in": {},
        f"hives/{hives[0].pk}/split": {},
        f"treatments/{treatment.pk}/strips-out": {},
        f"treatments/{treatment.pk}/in-date": {"in_on": "2026-01-01"},
        f"bags/{cast.bag.item.code_id}/pass-on": {"receiver": cast.bo.pk, "cautions": True},
    }
    for path, body in deeds.items():
        assert status(cast.bo, path, **body) == 404, path
    assert status(cast.bo, "hives/end", hives=[hives[0].pk], ending="lost") == 400
    assert Api(cast.bo).client.get(f"/api/v1/treatments/{treatment.pk}").status_code == 404
    assert Apiary.objects.get(pk=cast.apiary.pk).name == "Long Field"
    assert Treatment.objects.get().out_on is None


def test_the_keeper_and_a_coordinator_may(cast):
    assert status(cast.ada, f"apiaries/{cast.apiary.pk}/strips-in") == 201
    treatment = Treatment.objects.get()
    assert status(cast.head, f"treatments/{treatment.pk}/in-date", in_on="2026-01-01") == 201
    assert status(cast.ada, f"treatments/{treatment.pk}/strips-out") == 201
    assert status(cast.ada, "apiaries/add", name="Hill") == 201
    assert status(cast.ada, "apiaries/add", name="Hill", keeper=cast.bo.pk) == 404
    assert status(cast.head, "apiaries/add", name="Hill", keeper=cast.bo.pk) == 201


@pytest.mark.parametrize("make_person", [member, volunteer, releaser])
def test_rounds_and_hand_overs_are_the_coordinators(cast, make_person):
    person, round = make_person(), make.opened(cast.doc)
    end = (timezone.now() + make.DAY).isoformat()
    deeds: dict[str, dict[str, Any]] = {
        "rounds/plan": {"name": "Mine", "instructions": cast.doc.pk, "closes_at": end},
        f"rounds/{round.pk}/open": {},
        f"rounds/{round.pk}/close": {},
        f"rounds/{round.pk}/reopen": {"closes_at": end},
        f"rounds/{round.pk}/share-out": {},
        f"rounds/{round.pk}/no-show": {"people": [cast.ada.pk]},
        f"rounds/{round.pk}/end": {},
        f"bags/{cast.spare.item.code_id}/hand-over": {"receiver": person.pk, "cautions": True},
        f"bags/{cast.bag.item.code_id}/bring-back": {"person": cast.ada.pk, "is_unopened": True},
    }
    for path, body in deeds.items():
        assert status(person, path, **body) == 403, path
    assert Api(person).client.get(f"/api/v1/rounds/{round.pk}/keepers").status_code == 403
    assert Api(person).client.get(f"/api/v1/rounds/{round.pk}/runs").status_code == 403


def test_one_asks_for_oneself_and_a_coordinator_for_anybody(cast):
    round = make.opened(cast.doc)
    path, body = f"rounds/{round.pk}/ask", {"doses": [{"kind": bench.hive_kind().pk, "doses": 2}]}
    assert status(cast.ada, path, **body) == 201
    assert status(cast.ada, path, person=cast.bo.pk, **body) == 404
    assert status(cast.head, path, person=cast.bo.pk, **body) == 201
    assert Api(cast.ada).get(f"rounds/{round.pk}/asks")["count"] == 1
    assert Api(cast.head).get(f"rounds/{round.pk}/asks")["count"] == 2


def test_a_draft_is_not_there_for_a_member(cast):
    draft = make.draft(cast.doc)
    assert Api(cast.ada).client.get(f"/api/v1/rounds/{draft.pk}").status_code == 404
    assert Api(cast.ada).get("rounds")["count"] == 0
    assert Api(cast.head).get("rounds")["count"] == 1


def test_shares_and_reasons_are_ones_own(cast):
    round = make.asked(make.opened(cast.doc), (cast.ada, 2), (cast.bo, 2))
    do(sharing.share_out, round=round)
    assert [row["person"] for row in Api(cast.bo).get(f"rounds/{round.pk}/shares")["results"]] == [cast.bo.pk]
    assert Api(cast.head).get(f"rounds/{round.pk}/shares")["count"] == 2
    why = Api(cast.bo).get(f"rounds/{round.pk}/why")
    assert "You keep 2 hives" in why["sentences"][0].replace("\u202f", " ")
    assert Api(member()).client.get(f"/api/v1/rounds/{round.pk}/why").status_code == 404


def test_a_double_tap_does_it_once(cast):
    key = new_key()
    path = f"apiaries/{cast.apiary.pk}/strips-in"
    answers = [Api(cast.ada).send(path, key=key).json() for _tap in range(2)]
    assert answers[0] == answers[1]
    assert Treatment.objects.count() == 1


def test_a_refusal_is_a_problem_document_with_a_sentence(cast):
    problem = Api(cast.head).refused(
        f"bags/{cast.spare.item.code_id}/hand-over", "cautions", receiver=cast.bo.pk, cautions=False
    )
    assert "cautions" in problem["detail"]


def test_what_one_holds_is_told(cast):
    held = Api(cast.ada).get("strips-held")
    assert held == [{"code": cast.bag.item.code_id, "strips": 6, "best_before": None}]
    assert Api(cast.bo).get("strips-held") == []


def test_what_cannot_be_read_is_told_field_by_field(cast):
    path = f"apiaries/{cast.apiary.pk}/strips-in"
    other = make.hives(cast.other)[0]
    answer = Api(cast.ada).send(path, lines=[{"hive": other.pk, "bag": "XXXX XXXX", "strips": 0}])
    assert answer.status_code == 400
    assert set(answer.json()["errors"]) == {"lines.0.hive", "lines.0.bag", "lines.0.strips"}


def count(api: Api, path: str) -> int:
    with CaptureQueriesContext(
        connection,
    ) as queries:
        api.get(path)
    return len(queries)


def test_lists_take_as_many_queries_for_three_rows_as_for_one(cast):
    api = Api(cast.head)
    cast.treated()
    paths = ("rounds", "apiaries", "hives", "treatments", "hand-overs")
    make.opened(cast.doc)
    before = {path: count(api, path) for path in paths}
    for name in ("Hill", "Mill"):
        make.opened(cast.doc)
        place = make.apiary(cast.ada, hives=1, name=name)
        bag = make.shelf_bags([3], cast.doc)[0]
        make.handed(bag, cast.ada)
        do(treating.strips_in, cast.ada, apiary=place)
    assert {path: count(api, path) for path in paths} == before


def test_the_lists_of_a_round_take_as_many_queries_for_three_rows_as_for_one(cast):
    api, found = Api(cast.head), []
    people = [(cast.ada, 1)]
    for size in (1, 3):
        while len(people) < size:
            person = member()
            make.apiary(person, hives=1)
            people.append((person, 1))
        round = make.asked(make.opened(cast.doc), *people)
        do(sharing.share_out, round=round, strips=0)
        found.append({name: count(api, f"rounds/{round.pk}/{name}") for name in ("keepers", "asks", "shares", "runs")})
    assert found[0] == found[1]
