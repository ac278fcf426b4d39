"""Returned solution of another strength, through the API: the figures of worked case (b)."""

import datetime as dt

import pytest

from tests.makers import batches as make
from tests.makers import inventory
from tests.makers.api import Api
from tests.makers.coop import club, coordinator, volunteer
from tests.makers.inventory import KG

pytestmark = pytest.mark.django_db


class Shelf:
    def __init__(self, acid_g: int = 10_000) -> None:
        club(can_titrate=True)
        self.head = Api(coordinator("Cora"))
        self.leader, self.mate = volunteer("Lena"), volunteer("Max")
        self.shed = inventory.shed()
        self.acid = inventory.lot(inventory.acid(), self.shed, quantity=acid_g * 1000, assay_ppb=996_000_000).code_id
        self.glycerine = inventory.lot(inventory.glycerine(), self.shed, quantity=20 * KG).code_id
        self.recipe = make.recipe(w_ppb=375_000_000, tub_mg=4_800_000, tub_strips=98)

    def solution(self, mass_g: str, w: str, is_titrated: bool = True) -> str:
        answer = self.head.post(
            "solutions/new", place=self.shed.pk, mass_g=mass_g, w=w, reuse=1, reheats=1, is_titrated=is_titrated
        )
        code: str = answer["code"]
        return code

    def planning(self, **facts: object) -> dict[str, object]:
        return {"recipe": self.recipe.pk, "day": "2026-06-06", **facts}

    def weighed(self, bench: dict, *masses: tuple[str, str]) -> str:
        """Start the bench and weigh in; the code of the mix."""
        presence = [{"person": one.pk, "gear": ["goggles", "gloves"]} for one in (self.leader, self.mate)]
        api = Api(self.leader)
        ready = ["water", "eye_wash", "first_aid", "spill_powder"]
        mix: str = api.post(f"benches/{bench['id']}/start", presence=presence, ready=ready)["mixes"][0]
        for item, mass in masses:
            api.post(f"mixes/{mix}/weighings/new", item=item, mass_g=mass)
        return mix


def test_acid_corrects_a_weak_returned_solution():
    shelf = Shelf()
    back = shelf.solution("2140", "0.341")
    bench = shelf.head.post("benches/plan", **shelf.planning(target_g="5200", returned=[{"item": back}]))
    plan = bench["plan"]
    assert round(float(plan["acid_g"]), 2) == 1225.16
    assert round(float(plan["glycerine_g"]), 2) == 1834.84
    assert plan["returned_g"] == "2140"
    mix = shelf.weighed(bench, (back, "2140"), (shelf.glycerine, "1835"), (shelf.acid, "1225"))
    strength = shelf.head.get(f"mixes/{mix}")["strength"]
    assert round(float(strength["w"]), 6) == 0.374969
    assert (strength["reuse"], strength["reheats"]) == (2, 2)


def test_the_trap_of_the_nominal_strength_shows_once_it_is_titrated():
    shelf = Shelf()
    back = shelf.solution("2140", "0.375", is_titrated=False)
    bench = shelf.head.post("benches/plan", **shelf.planning(target_g="5200", returned=[{"item": back}]))
    acid, glycerine = bench["plan"]["acid_g"], bench["plan"]["glycerine_g"]
    assert round(float(acid), 2) == 1152.11
    mix = shelf.weighed(bench, (back, "2140"), (shelf.glycerine, glycerine), (shelf.acid, acid))
    assert round(float(shelf.head.get(f"mixes/{mix}")["strength"]["w"]), 6) == 0.375
    shelf.head.post(f"items/{back}/titrations/new", w="0.341", u_w="0.002", method="NaOH 0.1 M, twice 25 mL")
    w = float(shelf.head.get(f"mixes/{mix}")["strength"]["w"])
    assert round(w, 6) == 0.361008
    assert round(100 * (w - 0.375) / 0.375, 2) == -3.73


def test_too_little_acid_says_how_much_is_short_and_the_most_that_can_be_made():
    shelf = Shelf(acid_g=600)
    back = shelf.solution("2140", "0.341")
    answer = shelf.head.refused("benches/plan", "short", **shelf.planning(target_g="5200", returned=[{"item": back}]))
    said = answer["detail"].replace("\u202f", "")
    assert "625.2g oxalic acid dihydrate short" in said
    assert "with 600g the most you can make is 3539.6g (glycerine 799.6g)" in said
    assert answer["facts"]["what"] == "acid"


def test_a_stronger_one_is_used_up_with_glycerine_only():
    shelf = Shelf()
    back = shelf.solution("1500", "0.402")
    plan = shelf.head.post("benches/plan", **shelf.planning(use_up=back))["plan"]
    assert float(plan["target_g"]) == 1608.0
    assert float(plan["glycerine_g"]) == 108.0
    assert float(plan["acid_g"]) == 0


def test_all_of_a_stronger_one_in_too_small_a_charge_is_refused_with_what_fits():
    shelf = Shelf()
    back = shelf.solution("1500", "0.402")
    body = shelf.planning(target_g="1550", returned=[{"item": back}])
    answer = shelf.head.refused("benches/plan", "too_strong", **body)
    said = answer["detail"].replace("\u202f", "")
    assert "use 1445.9g of the returned solution, no acid, 104.1g glycerine" in said
    assert answer["facts"]["acid_mg"] == -21_837


def test_a_draw_of_solution_with_crystals_is_asked_about():
    shelf = Shelf()
    back = shelf.head.post(
        "solutions/new", place=shelf.shed.pk, mass_g="2140", w="0.341", clarity="crystals", best_before="2030-01-01"
    )["code"]
    bench = shelf.head.post("benches/plan", **shelf.planning(target_g="5200", returned=[{"item": back}]))
    mix = shelf.weighed(bench)
    api = Api(shelf.leader)
    api.refused(f"mixes/{mix}/weighings/new", "crystals", item=back, mass_g="2140")
    api.post(f"mixes/{mix}/weighings/new", item=back, mass_g="2140", confirmed=True)
    assert dt.date.fromisoformat(bench["day"]) == dt.date(2026, 6, 6)
