"""Acid that is not known as the dihydrate may not be weighed in: the shelf, its level and its letter leave it out."""

import pytest
from django.test import Client
from django.utils import timezone

from coop.models import the_club
from inventory import shelf
from inventory.commands.lots import change_lot
from inventory.models import Material, Place
from inventory.notices import stock_low
from tests.makers import inventory as make
from tests.makers.coop import coordinator, do, sign_in

pytestmark = pytest.mark.django_db
KG = make.KG


@pytest.fixture
def shed() -> Place:
    coordinator("Ida Holm")
    return make.shed()


@pytest.fixture
def acid(shed: Place) -> Material:
    return make.acid(name="Oxalic acid dihydrate", low_level=2 * KG)


def keys() -> list[str]:
    return [one.key for one in stock_low.wanted(timezone.now())]


@pytest.mark.parametrize("form", ["unknown", "anhydrous"])
def test_what_may_not_be_weighed_in_is_not_counted_as_usable(acid: Material, shed: Place, form: str) -> None:
    first = make.lot(acid, shed, quantity=1 * KG)
    make.lot(acid, shed, quantity=9 * KG, form=form, certificate_names_form=False)
    row = shelf.stock(the_club().today(), [acid])[0]
    assert (row.usable, row.unusable, row.is_low) == (1 * KG, 9 * KG, True)
    assert keys() == [f"stock-low:{acid.pk}:{first.movements.get().pk}"]
    assert any("not known as the dihydrate" in words for words in stock_low.not_counted(row))


def test_a_form_that_is_set_right_arms_and_crosses(acid: Material, shed: Place) -> None:
    lot = make.lot(acid, shed, quantity=9 * KG)
    assert keys() == []
    first = do(change_lot, item=lot, form="anhydrous", reason="the paper says so")
    assert keys() == [f"stock-low:{acid.pk}:form-{first.pk}"]
    do(change_lot, item=lot, form="unknown", reason="another paper says otherwise")
    assert keys() == [f"stock-low:{acid.pk}:form-{first.pk}"]
    do(change_lot, item=lot, form="dihydrate", reason="the supplier called")
    assert keys() == []
    again = do(change_lot, item=lot, form="anhydrous", reason="it was the other lot")
    assert keys() == [f"stock-low:{acid.pk}:form-{again.pk}"]


def test_the_pages_say_so(acid: Material, shed: Place) -> None:
    make.lot(acid, shed, quantity=9 * KG, form="anhydrous", certificate_names_form=False)
    page = sign_in(Client(), coordinator()).get(f"/shelf/materials/{acid.pk}").content.decode()
    assert "Not known as the dihydrate" in page
    assert "anhydrous, may not be used" in page
