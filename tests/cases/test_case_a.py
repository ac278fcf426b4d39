"""A plain batch, entered through the API: the figures of worked case (a)."""

import datetime as dt
from typing import Any

import pytest

from coop.proof import differences
from inventory.models import Movement
from tests.makers import batches as make
from tests.makers import inventory
from tests.makers.api import Api
from tests.makers.coop import club, coordinator, releaser, volunteer
from tests.makers.inventory import KG

pytestmark = pytest.mark.django_db

DRY = ["13.4", "13.9", "13.5", "13.2", "13.8", "13.6", "13.7", "13.3", "13.9", "13.7"]
WET = ["28.1", "29.6", "28.9", "27.4", "29.1", "28.2", "29.3", "27.9", "29.8", "28.4"]
GEAR = ["goggles", "gloves", "mask"]


class Batch:
    """The case as far as the bags, with the codes and ids that the API gave back."""

    def __init__(self) -> None:
        club()
        people = {"leader": volunteer("Lena"), "mate": volunteer("Max"), "head": coordinator("Cora")}
        self.leader, self.head = Api(people["leader"]), Api(people["head"])
        self.releaser_person = releaser("Rosa")
        self.releaser = Api(self.releaser_person)
        self.presence = [{"person": people[one].pk, "gear": GEAR} for one in ("leader", "mate")]
        shed = inventory.shed()
        self.acid = inventory.lot(
            inventory.acid(), shed, quantity=25 * KG, assay_ppb=996_000_000, price_cents=14_500
        ).code_id
        self.glycerine = inventory.lot(inventory.glycerine(), shed, quantity=25 * KG, price_cents=8_500).code_id
        self.blanks = inventory.lot(inventory.strips(), shed, quantity=1000, price_cents=21_000).code_id
        self.now = dt.datetime(2026, 6, 6, 8, 0, tzinfo=dt.UTC)
        self.wait(0)

    def wait(self, minutes: float) -> None:
        self.now += dt.timedelta(minutes=minutes)
        self.leader.now = self.head.now = self.releaser.now = self.now

    def settle(self) -> None:
        """Recipe, instructions and instruments of the case."""
        self.recipe = self.head.post(
            "recipes/new", name="case a", w="0.375", uptake_g="15.0", content_low_g="5.00", content_high_g="6.20",
            tub_g="4800", tub_strips=98, u_w="0.0025",
        )  # fmt: skip
        doses = [{"hive_kind": make.hive_kind().pk, "strips": 4}]
        self.instructions = self.head.post(
            "instructions/new", name="case a", days=42, doses=doses, source="the case's own number"
        )
        self.large, self.small = (
            self.head.post("equipment/new", name=name, kind="scale", resolution=step, capacity=most)["id"]
            for name, step, most in (("large", "1", "15000"), ("small", "0.1", "600"))
        )
        self.thermometer = self.head.post(
            "equipment/new", name="probe", kind="thermometer", resolution="0.1", capacity="110", u_check="0.2"
        )["id"]

    def check_scales(self, bench: int) -> None:
        for scale, mass in ((self.large, "2000"), (self.small, "200")):
            path = f"equipment/{scale}/checks/new"
            assert self.leader.post(path, reference=mass, reading=mass, bench=bench)["verdict"] == "fine"

    def plan(self) -> dict[str, Any]:
        self.bench = self.head.post(
            "benches/plan", recipe=self.recipe["id"], instructions=self.instructions["id"], target_g="4800",
            day="2026-06-06",
        )  # fmt: skip
        plan: dict[str, Any] = self.bench["plan"]
        return plan

    def start(self) -> None:
        bench = self.bench["id"]
        ready = ["water", "eye_wash", "first_aid", "spill_powder"]
        started = self.leader.post(f"benches/{bench}/start", presence=self.presence, ready=ready, room_c="21,5")
        self.mix = started["mixes"][0]
        self.check_scales(bench)
        self.leader.post(f"equipment/{self.thermometer}/checks/new", reference="18.0", reading="18.1", bench=bench)

    def weigh(self) -> dict[str, Any]:
        for item, mass in ((self.glycerine, "2993"), (self.acid, "1 807")):
            self.wait(5)
            path = f"mixes/{self.mix}/weighings/new"
            self.leader.post(path, item=item, mass_g=mass, scale=self.large)
        self.leader.post(f"mixes/{self.mix}/pail-check", total_g="4800", scale=self.large)
        for minutes, temp, clarity in (
            (5, "24", "lumps"),
            (10, "42.5", "grains"),
            (8, "51,5", "clear"),
            (4, "53.0", "clear"),
        ):
            self.wait(minutes)
            path = f"mixes/{self.mix}/readings/new"
            self.leader.post(path, solution_c=temp, clarity=clarity, was_stirred=True, thermometer=self.thermometer)
        answer: dict[str, Any] = self.leader.get(f"mixes/{self.mix}")
        return answer

    def soak(self) -> None:
        self.tub = self.leader.post(f"benches/{self.bench['id']}/soaks/new", strips=98, blanks=self.blanks)["code"]
        self.leader.post(f"soaks/{self.tub}/marked-dry", masses_g=DRY, scale=self.small)
        self.wait(5)
        self.poured = self.leader.post(
            f"mixes/{self.mix}/pour", before_g="5900", after_g="1122", temp_c="52", clarity="clear", covered_mm=12,
            has_lid=True, scale=self.large,
        )  # fmt: skip
        self.wait(14 * 60)
        self.leader.post(f"soaks/{self.tub}/looks/new", min_c="20", max_c="22.5")
        self.wait(34 * 60)
        self.leader.post(f"soaks/{self.tub}/lift", min_c="19.5", max_c="23", clarity="clear", drain_min=10)
        self.leader.post(f"soaks/{self.tub}/marked-wet", masses_g=WET, scale=self.small)

    def bag(self, is_returned: bool = True) -> None:
        for net in (689, 684, 692, 687):
            self.wait(3)
            path = f"soaks/{self.tub}/bags/new"
            self.leader.post(path, strips=24, gross_g=str(net + 11), tare_g="11", scale=self.large)
        self.leader.post(f"soaks/{self.tub}/samples/new", strips=2, net_g="57.2", scale=self.small)
        if is_returned:
            back = {"mass_g": "3272", "container": "can 4", "clarity": "clear", "scale": self.large}
            self.back = self.leader.post(f"soaks/{self.tub}/returned/new", **back)["code"]
        else:
            self.leader.post(f"soaks/{self.tub}/losses/new", mass_g="3272", note="poured away")
        self.leader.post(f"soaks/{self.tub}/losses/new", mass_g="9", note="wiped")
        self.wait(5)
        self.check_scales(self.bench["id"])
        self.leader.post(f"benches/{self.bench['id']}/close")

    def whole(self, is_returned: bool = True) -> dict[str, Any]:
        self.settle()
        self.plan()
        self.start()
        self.weigh()
        self.soak()
        self.bag(is_returned)
        answer: dict[str, Any] = self.leader.get(f"soaks/{self.tub}")
        return answer


@pytest.fixture
def batch() -> Batch:
    return Batch()


def test_the_plan_says_what_to_weigh_in(batch):
    batch.settle()
    plan = batch.plan()
    assert round(float(plan["acid_g"]), 1) == 1807.2
    assert round(float(plan["glycerine_g"]), 1) == 2992.8
    assert plan["strips"] == 98
    assert [line["item"] for line in plan["mixes"][0]["lines"]] == [batch.glycerine, batch.acid]


def test_the_strength_is_that_of_what_was_weighed_in(batch):
    batch.settle()
    batch.plan()
    batch.start()
    mix = batch.weigh()
    assert mix["strength"]["w"] == "0.3749525"
    assert mix["strength"]["u_w"] == "0.0025"
    assert mix["strength"]["source"] == "computed"


def test_content_by_soak_and_by_bag(batch):
    soak = batch.whole()
    assert batch.poured["mass_g"] == "4778"
    content = soak["content"]
    assert round(content["uptake_g"], 4) == 15.0667
    assert round(content["mean_g"], 4) == 5.6493
    assert [round(bag["content_g"], 4) for bag in soak["bags"]] == [5.6649, 5.5868, 5.7118, 5.6337]
    dose = soak["hive_doses"][0]
    assert (dose["doses"], dose["loose"], round(dose["content_g"], 3)) == (24, 0, 22.597)


def test_uncertainty_and_the_guarded_band(batch):
    soak = batch.whole()
    content = soak["content"]
    assert round(content["u_uptake_g"], 4) == 0.0779
    assert round(content["u_g"], 4) == 0.0477
    assert round(content["expanded_u_g"], 3) == 0.095
    row = next(row for row in soak["table"] if row["key"] == "content")
    assert row["verdict"] == "pass"
    assert round(5.00 + content["expanded_u_g"], 3) == 5.095
    assert round(6.20 - content["expanded_u_g"], 3) == 6.105


def test_balance_and_uniformity(batch):
    soak = batch.whole()
    balance = soak["balance"]
    assert (balance["poured_g"], balance["dry_g"], balance["bags_g"]) == (4778.0, 1332.8, 2752.0)
    assert (balance["retained_g"], balance["returned_g"], balance["losses_g"]) == (57.2, 3272.0, 9.0)
    assert balance["unexplained_g"] == 20.6
    assert round(balance["unexplained_percent"], 3) == 0.431
    uniformity = soak["uniformity"]
    assert (round(uniformity["mean"], 4), round(uniformity["s"], 4)) == (100.4667, 3.8496)
    assert round(uniformity["av"], 3) == 9.239


def test_somebody_else_releases_it_and_the_books_prove(batch):
    soak = batch.whole()
    assert {row["verdict"] for row in soak["table"]} == {"pass"}
    answer = batch.releaser.post(f"soaks/{batch.tub}/release", note="all in order")
    assert answer["verdict"] == "released"
    assert batch.leader.get(f"soaks/{batch.tub}")["state"] == "released"
    assert list(differences()) == []


def test_the_pail_keeps_what_was_not_poured_as_a_loss(batch):
    batch.whole()
    left = Movement.objects.get(item__code=batch.mix, cause=Movement.Cause.LOSS, note="left in the pail")
    assert left.quantity == 22_000
