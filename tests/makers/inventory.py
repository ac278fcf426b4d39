"""Makers of the shelf, over the commands: materials, suppliers, sheds and lots with valid defaults."""

from typing import Any

import factory

from coop.command import new_key
from inventory.commands.holding import place_hold
from inventory.commands.receiving import open_delivery, receive
from inventory.commands.settings import add_material, add_shed, add_supplier
from inventory.models import Delivery, Hold, Item, Material, Place, Supplier
from tests.makers.coop import club, do

KG = 1_000_000


class Done(factory.Factory):
    """Makes a row through a command, as a coordinator unless `by` says who."""

    class Meta:
        abstract = True

    @classmethod
    def _create(cls, model_class: Any, *args: Any, **kwargs: Any) -> Any:
        club()
        return do(cls.command(), kwargs.pop("by", None), **kwargs)

    @classmethod
    def command(cls) -> Any:
        raise NotImplementedError


class SupplierFactory(Done):
    class Meta:
        model = Supplier

    name = factory.Sequence(lambda number: f"Supplier {number}")
    lead_days = 10

    @classmethod
    def command(cls) -> Any:
        return add_supplier


class ShedFactory(Done):
    class Meta:
        model = Place

    name = factory.Sequence(lambda number: f"Shed {number}")

    @classmethod
    def command(cls) -> Any:
        return add_shed


class MaterialFactory(Done):
    class Meta:
        model = Material

    name = factory.Sequence(lambda number: f"Material {number}")
    kind = "acid"

    @classmethod
    def command(cls) -> Any:
        return add_material


class LotFactory(Done):
    """A lot of 5 kg (1000 pieces of strips), of dihydrate if it is acid, in a shed of its own unless said."""

    class Meta:
        model = Item

    material = factory.SubFactory(MaterialFactory)
    supplier = factory.SubFactory(SupplierFactory)
    place = factory.SubFactory(ShedFactory)
    quantity = factory.LazyAttribute(lambda made: 5 * KG if made.material.unit == "mass" else 1000)
    form = factory.LazyAttribute(lambda made: "dihydrate" if made.material.kind == "acid" else "none")
    certificate_names_form = factory.LazyAttribute(lambda made: made.material.kind == "acid")
    containers: Any = ()
    best_before: Any = None
    #: drums of any weight, and any date, will do where a test is not about them
    confirmed = factory.LazyAttribute(lambda made: bool(made.containers or made.best_before))

    @classmethod
    def command(cls) -> Any:
        return receive


def supplier(**facts: Any) -> Supplier:
    made: Supplier = SupplierFactory(**facts)
    return made


def shed(**facts: Any) -> Place:
    made: Place = ShedFactory(**facts)
    return made


def material(kind: str = "acid", **facts: Any) -> Material:
    made: Material = MaterialFactory(kind=kind, **facts)
    return made


def acid(**facts: Any) -> Material:
    return material("acid", **facts)


def glycerine(**facts: Any) -> Material:
    return material("glycerine", **facts)


def strips(**facts: Any) -> Material:
    return material("strip", **facts)


def lot(material: Material | None = None, place: Place | None = None, **facts: Any) -> Item:
    """A received lot. Facts go to the receive command: quantity, best_before, containers, hold_reason ..."""
    if material is not None:
        facts["material"] = material
    if place is not None:
        facts["place"] = place
    made: Item = LotFactory(**facts)
    return made


def delivery(*, lots: int = 1, **facts: Any) -> Delivery:
    """A delivery begun, with so many lots of acid in it; facts go to each lot."""
    made: Delivery = do(open_delivery, supplier=facts.setdefault("supplier", supplier()))
    for _number in range(lots):
        lot(delivery=made, **facts)
    return made


def hold(*items: Item, reason: str = "the certificate does not name the form", **facts: Any) -> Hold:
    made: Hold = do(place_hold, items=list(items), reason=reason, **facts)
    return made


__all__ = ["KG", "acid", "delivery", "glycerine", "hold", "lot", "material", "new_key", "shed", "strips", "supplier"]
