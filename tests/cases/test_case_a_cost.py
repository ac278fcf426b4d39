"""What the batch of worked case (a) costs, through the API and on the pages, and what its solution takes along."""

import pytest
from django.test import Client
from django.urls import reverse

from batches.models import Instructions
from coop.proof import differences
from inventory.models import Lot
from tests.cases.test_case_a import Batch
from tests.makers import members
from tests.makers.coop import coordinator, member, sign_in, volunteer

pytestmark = pytest.mark.django_db


@pytest.fixture
def batch() -> Batch:
    return Batch()


def four(text: str) -> str:
    return f"{float(text):.4f}"


def page(person, name, *args):
    answer = sign_in(Client(), person).get(reverse(name, args=args))
    assert answer.status_code == 200
    return answer.content.decode()


def test_every_figure_of_the_cost_through_the_api(batch):
    cost = batch.whole()["cost"]
    assert four(cost["solution"]) == "20.6568"
    assert four(cost["returned"]) == "14.0811"
    assert four(cost["strips"]) == "20.5800"
    assert four(cost["batch"]) == "27.1557"
    assert [(dose["strips"], four(dose["cost"])) for dose in cost["hive_doses"]] == [(4, "1.1315")]
    assert (cost["written_off"], cost["in_tub"], cost["is_capped"], cost["is_final"]) == ("0", "0", False, True)


def test_by_item_it_sums_to_the_last_digit(batch):
    soak = batch.whole()
    costs = {bag["code"]: batch.leader.get(f"items/{bag['code']}/cost") for bag in soak["bags"]}
    assert [one["unit"] for one in costs.values()] == ["piece"] * 4
    assert [four(one["each"]) for one in costs.values()] == ["0.2829"] * 4
    tub = batch.leader.get(f"items/{batch.tub}/cost")
    micro = {name: round(float(tub[name]) * 10**8) for name in ("into", "returned", "carried", "total")}
    assert sum(round(float(one["total"]) * 10**8) for one in costs.values()) == micro["carried"] == micro["total"]
    assert micro["into"] == micro["returned"] + micro["carried"]
    mix = batch.leader.get(f"items/{batch.mix}/cost")
    assert {part["code"]: four(part["cost"]) for part in mix["parts"]} == {
        batch.acid: "10.4806", batch.glycerine: "10.1762",
    }  # fmt: skip
    assert (four(mix["total"]), mix["written_off"]) == ("20.6568", "0")
    assert four(batch.leader.get(f"items/{batch.back}/cost")["total"]) == "14.0811"
    assert batch.leader.get(f"items/{batch.acid}/cost")["each"] == "0.0058"


def test_solution_that_is_poured_away_makes_the_dose_dearer(batch):
    cost = batch.whole(is_returned=False)["cost"]
    assert cost["returned"] == "0"
    assert four(cost["hive_doses"][0]["cost"]) == "1.7182"


def test_the_same_figures_stand_on_the_pages(batch):
    soak = batch.whole()
    reader = volunteer("Vera")
    tub = page(reader, "batches:soak", batch.tub)
    for figure in ("20.6568", "14.0811", "20.5800", "27.1557", "0.2829", "1.1315"):
        assert f"{figure}\u202fEUR" in tub
    bag = page(reader, "batches:bag", soak["bags"][0]["code"])
    assert "6.7889\u202fEUR" in bag
    assert "1.1315\u202fEUR" in bag
    mix = page(reader, "batches:mix", batch.mix)
    for figure in ("10.4806", "10.1762", "20.6568", "4.3035"):
        assert f"{figure}\u202fEUR" in mix
    assert "14.0811\u202fEUR" in page(reader, "batches:returned", batch.back)
    lot = page(reader, "inventory:lot", batch.acid)
    assert "145.00\u202fEUR, 5.8000\u202fEUR a kilogram" in lot
    assert "0.2100\u202fEUR each" in page(reader, "inventory:lot", batch.blanks)


def test_a_releaser_who_is_no_volunteer_reads_no_cost(batch):
    batch.whole()
    assert batch.releaser.get(f"soaks/{batch.tub}")["cost"] is None
    text = page(batch.releaser_person, "batches:release", batch.tub)
    assert "EUR" not in text
    assert batch.releaser.client.get(f"/api/v1/items/{batch.tub}/cost").status_code == 403


def test_the_coordinator_of_a_round_reads_what_a_dose_costs_and_a_member_does_not(batch):
    batch.whole()
    batch.releaser.post(f"soaks/{batch.tub}/release", note="all in order")
    keeper = member("Mia")
    members.basis()
    members.apiary(keeper, hives=3)
    round = members.opened(Instructions.objects.get(pk=batch.instructions["id"]))
    sentence = "A hive dose of this stock costs 1.1315\u202fEUR for a full hive."
    assert sentence in page(coordinator("Cleo"), "members:round", round.pk)
    assert "EUR" not in page(keeper, "members:round", round.pk)


def test_a_second_generation_takes_its_share_of_the_first(batch):
    """2000 g of 3272 g: 2000 x 20.6568 / 4800 = 8.6070; acid 1100 g 6.38; glycerine 1700 g 5.78; 20.7670 for 4800 g."""
    batch.whole()
    batch.plan()
    batch.start()
    for item, mass in ((batch.back, "2000"), (batch.glycerine, "1700"), (batch.acid, "1100")):
        batch.leader.post(f"mixes/{batch.mix}/weighings/new", item=item, mass_g=mass, confirmed=True)
    mix = batch.leader.get(f"items/{batch.mix}/cost")
    assert {part["code"]: four(part["cost"]) for part in mix["parts"]} == {
        batch.back: "8.6070", batch.glycerine: "5.7800", batch.acid: "6.3800",
    }  # fmt: skip
    assert four(mix["total"]) == "20.7670"
    assert mix["waiting"] == mix["total"]
    back = batch.leader.get(f"items/{batch.back}/cost")
    assert (four(back["carried"]), four(back["kept"])) == ("8.6070", "5.4741")


def test_a_corrected_weighing_and_a_price_that_comes_late_are_in_it_at_once(batch):
    batch.settle()
    batch.plan()
    batch.start()
    mix = batch.weigh()
    weighing = next(one for one in mix["weighings"] if one["item"] == batch.acid)
    batch.leader.post(f"weighings/{weighing['id']}/correct", mass_g="1000", reason="misread", confirmed=True)
    assert four(batch.leader.get(f"items/{batch.mix}/cost")["total"]) == "15.9762"
    Lot.objects.filter(item__code=batch.acid).update(price_cents=0)
    assert four(batch.leader.get(f"items/{batch.mix}/cost")["total"]) == "10.1762"
    assert list(differences()) == []
