"""Four more outlooks with their working, through the API and what makes the figures."""

import datetime as dt
from collections.abc import Iterator
from typing import Any

import pytest
import time_machine

from inventory.commands.correcting import correct
from inventory.commands.stock import draw
from inventory.models import Material, Order, Place, Supplier
from tests.makers import batches as bench
from tests.makers import inventory as shelf
from tests.makers.api import Api
from tests.makers.coop import club, coordinator, deed, do

pytestmark = pytest.mark.django_db
GRAM = 1000


@pytest.fixture(autouse=True)
def today() -> Iterator[None]:
    """Monday 15 February 2027; the outlook goes to 31 August."""
    with time_machine.travel(dt.datetime(2027, 2, 15, 9, 0, tzinfo=dt.UTC), tick=False):
        yield


class Stock:
    """Acid of one supplier, glycerine enough; benches at w = 0.5 take half of their target as acid."""

    def __init__(self, lead_days: int, weekdays: str = "12345", **facts: Any) -> None:
        club()
        self.head = Api(coordinator("Cora"))
        self.shed: Place = shelf.shed()
        self.supplier: Supplier = shelf.supplier(lead_days=lead_days)
        Supplier.objects.filter(pk=self.supplier.pk).update(order_weekdays=weekdays)
        self.acid: Material = shelf.acid(supplier=self.supplier, **facts)
        shelf.lot(shelf.glycerine(), self.shed, quantity=50 * shelf.KG)
        self.recipe = bench.recipe(w_ppb=500_000_000)

    def lot(self, grams: int, best: str | None = None, **facts: Any) -> Any:
        best_before = dt.date.fromisoformat(best) if best else None
        return shelf.lot(self.acid, self.shed, quantity=grams * GRAM, best_before=best_before, **facts)

    def plan(self, day: str, grams: int) -> None:
        planned = self.head.post("benches/plan", recipe=self.recipe.pk, day=day, target_g=str(2 * grams))
        assert planned["plan"]["acid_g"] == str(grams)

    def ordered(self, grams: int, expected: str) -> None:
        Order.objects.create(
            material=self.acid,
            supplier=self.supplier,
            quantity=grams * GRAM,
            ordered_on=dt.date(2027, 1, 4),
            expected_on=dt.date.fromisoformat(expected),
            deed=deed(),
        )

    def outlook(self, **asks: Any) -> dict[str, Any]:
        answer: dict[str, Any] = self.head.get(f"materials/{self.acid.pk}/outlook", **asks)
        return answer


def balances(answer: dict[str, Any]) -> list[tuple[str, str, str]]:
    return [(step["day"][5:], step["change_g"], step["balance_g"]) for step in answer["steps"]]


def test_what_is_on_its_way_counts_on_its_day_and_the_rest_is_bought_in_packs() -> None:
    """Start 3000, safety 1000, 14 days, packs of 750 g.

    03-06: 3000 - 1600 = 1400. 03-13: the order, + 1000 = 2400. 04-10: - 2000 = 400, under 1000: breached on Sat 04-10.
    Less 14 days is Sat 03-27, back to Fri 03-26. 05-01: - 900 = -500: run out. At the end 1000 - (-500) = 1500 short,
    two packs exactly. The order of 5000 g expected on 02-01 did not come and counts nowhere.
    """
    stock = Stock(14, low_level=1000 * GRAM, pack_size=750 * GRAM)
    stock.lot(3000)
    stock.plan("2027-03-06", 1600)
    stock.plan("2027-04-10", 2000)
    stock.plan("2027-05-01", 900)
    stock.ordered(1000, "2027-03-13")
    stock.ordered(5000, "2027-02-01")
    found = stock.outlook()
    assert balances(found) == [
        ("03-06", "-1600", "1400"),
        ("03-13", "1000", "2400"),
        ("04-10", "-2000", "400"),
        ("05-01", "-900", "-500"),
    ]
    assert (found["breached_on"], found["runs_out_on"], found["order_by"]) == (
        "2027-04-10", "2027-05-01", "2027-03-26",
    )  # fmt: skip
    assert (found["short_g"], found["packs"], found["buy_g"]) == ("1500", 2, "1500")
    assert len(found["overdue_orders"]) == 1


def test_a_lot_that_expires_between_two_benches_is_lost_on_the_day_after() -> None:
    """B1 2000 to 04-10, B2 1000 to 05-20, B3 1500 for good; safety 0, order by = run-out less 7 days.

    03-20: 1500 of B1, 3000 left. B1's 500 are lost on 04-11: 2500. 05-20, the last day of B2: its 1000 and 200 of B3:
    1300. Nothing of B2 is left to lose on 05-21. 07-10: 1300 - 1400 = -100: run out; Sat 07-10 less 7 is Sat 07-03,
    back to Fri 07-02. 100 short, bare, since no pack size is entered.
    """
    stock = Stock(7)
    stock.lot(1500)
    stock.lot(1000, "2027-05-20")
    first = stock.lot(2000, "2027-04-10")
    stock.plan("2027-03-20", 1500)
    stock.plan("2027-05-20", 1200)
    stock.plan("2027-07-10", 1400)
    found = stock.outlook()
    assert balances(found) == [
        ("03-20", "-1500", "3000"),
        ("04-11", "-500", "2500"),
        ("05-20", "-1200", "1300"),
        ("05-21", "0", "1300"),
        ("07-10", "-1400", "-100"),
    ]
    assert {lot["code"]: lot["wasted_g"] for lot in found["lots"] if lot["wasted_g"] != "0"} == {first.code_id: "500"}
    assert (found["breached_on"], found["runs_out_on"]) == ("2027-07-10", "2027-07-10")
    assert (found["order_by"], found["packs"], found["buy_g"]) == ("2027-07-02", None, "100")


def test_a_supplier_that_takes_orders_on_tuesdays_and_thursdays() -> None:
    """Safety 2000; 2500 - 800 = 1700 on Mon 04-12. Less 21 days is Mon 03-22, back to Thu 03-18 (Tue is 03-16).

    With 60 days it is Thu 02-11: past by four days, so it is time to order now.
    """
    stock = Stock(21, "24", low_level=2000 * GRAM, pack_size=2500 * GRAM)
    stock.lot(2500)
    stock.plan("2027-04-12", 800)
    assert stock.outlook()["order_by"] == "2027-03-18"
    assert not stock.outlook()["is_order_now"]
    Supplier.objects.update(lead_days=60)
    late = stock.outlook()
    assert (late["order_by"], late["is_order_now"], late["buy_g"]) == ("2027-02-11", True, "2500")


def test_last_season_counts_month_by_month_where_nothing_is_planned() -> None:
    """Drawn last year: Sat 04-11 700, Sat 05-09 900 (set right from 950), Sat 05-23 300; a bench is planned for 04-24.

    52 weeks on they are 04-10, 05-08 and 05-22. April has a bench, so its 700 do not count; May has none.
    Lot: 6000 - 700 - 900 - 300 = 4100 now. 04-24: - 1000 = 3100. 05-08: - 900 = 2200. 05-22: - 300 = 1900.
    """
    stock = Stock(21)
    item = stock.lot(6000, happened_at=dt.datetime(2026, 1, 5, 12, tzinfo=dt.UTC))
    used = {
        day: do(
            draw,
            item=item,
            place=stock.shed,
            quantity=grams * GRAM,
            happened_at=dt.datetime(2026, *day, 12, tzinfo=dt.UTC),
        )
        for day, grams in (((4, 11), 700), ((5, 9), 950), ((5, 23), 300))
    }
    do(correct, movement=used[5, 9], quantity=900 * GRAM, note="the tare was forgotten")
    stock.plan("2027-04-24", 1000)
    found = stock.outlook()
    assert found["counted_g"] == "4100"
    assert balances(found) == [("04-24", "-1000", "3100"), ("05-08", "-900", "2200"), ("05-22", "-300", "1900")]
    assert [step["key"] for step in found["steps"][1:]] == ["season", "season"]
