"""Short supply, through the API: the figures of worked case (c)."""

import datetime as dt
from typing import Any

import pytest
from django.utils import timezone

from coop.proof import differences
from tests.makers import batches as bench
from tests.makers import members as make
from tests.makers.api import Api
from tests.makers.coop import club, coordinator, member

pytestmark = pytest.mark.django_db

NAMES = [f"M0{number}" for number in range(1, 9)]
HIVES = [1, 2, 3, 5, 8, 12, 20, 2]
ASKS = [1, 2, 3, 5, 6, 12, 20, 2]
DRAWN = [6, 3, 7, 1, 8, 2, 5, 4]
AT_31 = [1, 1, 2, 3, 5, 7, 11, 1]


class Short:
    """Eight keepers; M08 got 1 of 2 last time; 126 strips released, 4 a hive."""

    def __init__(self, m07_asks: int = 20) -> None:
        club()
        self.head = Api(coordinator("Cora"))
        self.kind = bench.hive_kind()
        self.doc = bench.instructions(days=42, doses={self.kind.pk: 4})
        make.basis()
        self.people = [member(name) for name in NAMES]
        for person, hives in zip(self.people, HIVES, strict=True):
            place = Api(person).post("apiaries/add", name=f"Stand of {person.name}")
            body = {"kind": self.kind.pk, "count": hives, "from_on": "2025-04-01"}
            Api(person).post(f"apiaries/{place['id']}/hives/add", **body)
        first, *self.bags = make.released_bags([4, 30, 30, 30, 36])
        self.last_round(first)
        self.round = self.open("Spring")
        asks = [*ASKS[:6], m07_asks, ASKS[7]]
        for person, doses in zip(self.people, asks, strict=True):
            Api(person).post(f"rounds/{self.round}/ask", doses=[{"kind": self.kind.pk, "doses": doses}])
        self.head.post(f"rounds/{self.round}/close")

    def open(self, name: str) -> int:
        ends = (timezone.now() + dt.timedelta(days=9)).isoformat()
        planned = self.head.post("rounds/plan", name=name, instructions=self.doc.pk, closes_at=ends)
        drawn = [{"person": one.pk, "number": number} for one, number in zip(self.people, DRAWN, strict=True)]
        self.head.post(f"rounds/{planned['id']}/open", drawn=drawn, drawn_how="from a hat, at a meeting")
        number: int = planned["id"]
        return number

    def last_round(self, bag: Any) -> None:
        """Only M08 asked, for two; there was one dose. It was collected."""
        earlier = self.open("Autumn")
        m08 = self.people[7]
        Api(m08).post(f"rounds/{earlier}/ask", doses=[{"kind": self.kind.pk, "doses": 2}])
        self.head.post(f"rounds/{earlier}/close")
        self.head.post(f"rounds/{earlier}/share-out", strips=4)
        self.head.post(f"bags/{bag.item.code_id}/hand-over", receiver=m08.pk, cautions=True)
        self.head.post(f"rounds/{earlier}/end")

    def divide(self, **body: Any) -> tuple[dict[str, Any], list[int]]:
        run = self.head.post(f"rounds/{self.round}/share-out", **body)
        doses = {row["person"]: row["doses"] for row in run["shares"]}
        return run, [doses[person.pk] for person in self.people]


def test_thirty_one_doses_two_strips_left_over():
    short = Short()
    run, doses = short.divide()
    assert (run["strips"], run["doses"], run["strips_left"]) == (126, 31, 2)
    assert doses == AT_31
    strips = {row["person"]: row["strips"] for row in run["shares"]}
    packed = [strips[person.pk] for person in short.people]
    assert packed == [4, 4, 8, 12, 20, 28, 44, 4]
    assert sum(packed) == 124
    assert sum(row["asked"] for row in run["shares"]) == 51
    assert run["is_repeatable"]


def test_every_supply_of_the_table_and_the_same_result_for_the_same_input():
    short = Short()
    wanted = {
        (12, False): [0, 0, 1, 1, 2, 3, 5, 0],
        (13, False): [0, 0, 1, 1, 2, 3, 5, 1],
        (26, False): [0, 1, 1, 3, 4, 6, 10, 1],
        (27, False): [1, 1, 1, 3, 4, 6, 10, 1],
        (12, True): [1, 1, 1, 1, 1, 2, 4, 1],
        (13, True): [1, 1, 1, 1, 2, 2, 4, 1],
    }
    digests = set()
    for (supply, floor), doses in wanted.items():
        run, found = short.divide(strips=4 * supply, one_dose_first=floor)
        assert found == doses, (supply, floor)
        digests.add(run["digest"])
    assert len(digests) == len(wanted)
    again, _doses = short.divide(strips=48, one_dose_first=False)
    assert again["digest"] in digests
    why = Api(short.people[0]).get(f"rounds/{short.round}/why")
    assert why["got"] == 0
    assert "before your first one" in " ".join(why["sentences"])


def test_asking_for_more_than_one_keeps_never_helps():
    short = Short(m07_asks=40)
    _run, doses = short.divide()
    assert doses == AT_31
    asks = {row["person"]: row for row in short.head.get(f"rounds/{short.round}/asks")["results"]}
    m07 = asks[short.people[6].pk]
    assert (m07["asked"], m07["doses"]) == (40, 20)


def test_what_a_no_show_leaves_goes_on_by_the_same_rule():
    short = Short()
    short.divide()
    bag = next(one for one in short.bags if one.strips == 36)
    m01 = short.people[0]
    short.head.post(f"bags/{bag.item.code_id}/hand-over", receiver=m01.pk, strips=4, cautions=True)
    run = short.head.post(f"rounds/{short.round}/no-show", people=[short.people[5].pk])
    doses = {row["person"]: row["doses"] for row in run["shares"]}
    assert [doses[person.pk] for person in short.people] == [1, 1, 2, 4, 6, 0, 15, 2]
    assert sum(doses.values()) == 31
    assert run["is_repeatable"]
    assert list(differences()) == []
