"""Materials, suppliers and sheds are set up, renamed and closed."""

import pytest

from coop.command import Refused
from inventory.commands import settings as setting
from inventory.commands import stocktaking
from tests.makers import inventory as make
from tests.makers.coop import do

pytestmark = pytest.mark.django_db


def test_the_unit_follows_from_the_kind() -> None:
    assert make.strips().unit == "pieces"
    assert make.acid().unit == "mass"
    assert make.material("other", unit="pieces").unit == "pieces"
    with pytest.raises(Refused) as refusal:
        make.material("strip", unit="mass")
    assert refusal.value.code == "unit"


def test_names_are_taken_once_whatever_the_case() -> None:
    make.material(name="Oxalic acid"), make.supplier(name="Calder"), make.shed(name="Mill")
    for again in (
        lambda: make.material(name="oxalic  ACID"),
        lambda: make.supplier(name="calder"),
        lambda: make.shed(name="MILL"),
        lambda: do(setting.change_shed, shed=make.shed(), name="mill"),
        lambda: do(setting.change_supplier, supplier=make.supplier(), name="CALDER"),
        lambda: make.shed(name="  "),
    ):
        with pytest.raises(Refused) as refusal:
            again()
        assert refusal.value.facts["field"] == "name"


def test_levels_and_lead_days_change_and_the_kind_does_not() -> None:
    acid, supplier = make.acid(), make.supplier()
    do(setting.change_material, material=acid, low_level=2_000_000, supplier=supplier, name=acid.name)
    do(setting.change_supplier, supplier=supplier, lead_days=21, name="Calder")
    acid.refresh_from_db(), supplier.refresh_from_db()
    assert (acid.low_level, acid.supplier, supplier.lead_days, supplier.name) == (2_000_000, supplier, 21, "Calder")
    with pytest.raises(Refused) as refusal:
        do(setting.change_material, material=acid, unit="pieces")
    assert refusal.value.code == "fixed"


def test_a_shed_closes_when_it_is_empty() -> None:
    shed = make.shed()
    assert do(setting.change_shed, shed=shed, is_closed=True).is_closed
    assert not do(setting.change_shed, shed=shed, is_closed=False, name="Hill").is_closed
    make.lot(place=shed)
    with pytest.raises(Refused) as refusal:
        do(setting.change_shed, shed=shed, is_closed=True)
    assert refusal.value.code == "not_empty"


def test_a_shed_stays_open_while_it_is_counted() -> None:
    shed = make.shed()
    take = do(stocktaking.begin_stocktake, place=shed)
    with pytest.raises(Refused) as refusal:
        do(setting.change_shed, shed=shed, is_closed=True)
    assert refusal.value.code == "stocktake"
    do(stocktaking.leave_stocktake, stocktake=take, reason="called away")
    assert do(setting.change_shed, shed=shed, is_closed=True).is_closed


def test_the_range_of_a_material_has_its_ends_in_order() -> None:
    acid = make.acid(least_at_once=500, most_at_once=5_000)
    for changes in ({"least_at_once": 6_000}, {"most_at_once": 400}, {"least_at_once": 2, "most_at_once": 1}):
        with pytest.raises(Refused) as refusal:
            do(setting.change_material, material=acid, **changes)
        assert refusal.value.code == "range"
    with pytest.raises(Refused):
        make.acid(least_at_once=2, most_at_once=1)
    do(setting.change_material, material=acid, least_at_once=None, per_dose=25, holds_on_arrival=True)
    acid.refresh_from_db()
    assert (acid.least_at_once, acid.per_dose, acid.holds_on_arrival) == (None, 25, True)


def test_order_days_are_kept_once_each_and_in_order() -> None:
    supplier = make.supplier(order_weekdays="515")
    assert supplier.order_weekdays == "15"
    for days in ("", "8", "0", "x"):
        with pytest.raises(Refused) as refusal:
            do(setting.change_supplier, supplier=supplier, order_weekdays=days)
        assert refusal.value.code == "weekdays"
