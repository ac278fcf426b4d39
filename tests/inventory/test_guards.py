"""What the database refuses by itself, on both engines: each trigger is there and bites."""

import pytest
from django.db import IntegrityError, connection, transaction

from coop import triggers
from inventory.models import Holding, Movement, Place
from tests.makers import inventory as make

pytestmark = pytest.mark.django_db


def refused(statement: str, *values: object) -> bool:
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(statement, values)
    except IntegrityError:
        return True
    return False


def test_the_guards_stand() -> None:
    assert triggers.missing() == []


def test_movements_are_append_only() -> None:
    make.lot()
    assert refused("UPDATE inventory_movement SET quantity = quantity + 1")
    assert refused("UPDATE inventory_movement SET note = 'x'")
    assert refused("DELETE FROM inventory_movement")


def test_a_boundary_holds_nothing() -> None:
    item = make.lot()
    supplier = Place.objects.get(kind="supplier")
    assert refused(
        "INSERT INTO inventory_holding (item_id, place_id, quantity) VALUES (%s, %s, 1)", item.pk, supplier.pk
    )
    assert refused("UPDATE inventory_holding SET place_id = %s", supplier.pk)


def test_a_place_and_an_item_stay_what_they_are() -> None:
    item = make.lot()
    assert refused("UPDATE inventory_place SET kind = 'found' WHERE kind = 'shed'")
    assert refused("UPDATE inventory_item SET unit = 'pieces'")
    assert refused("UPDATE inventory_item SET kind = 'bag'")
    assert not refused("UPDATE inventory_item SET note = 'dented' WHERE id = %s", item.pk)


def test_no_holding_is_below_zero_and_no_movement_is_of_nothing() -> None:
    item = make.lot()
    assert refused("UPDATE inventory_holding SET quantity = -1")
    holding = Holding.objects.get(item=item)
    with pytest.raises(IntegrityError), transaction.atomic():
        Movement.objects.create(
            item=item,
            source=Place.objects.get(kind="supplier"),
            target=holding.place,
            quantity=0,
            cause="receive",
            deed=item.deed,
            happened_at=item.made_at,
        )
    with pytest.raises(IntegrityError), transaction.atomic():
        Movement.objects.create(
            item=item,
            source=holding.place,
            target=holding.place,
            quantity=1,
            cause="transfer",
            deed=item.deed,
            happened_at=item.made_at,
        )
