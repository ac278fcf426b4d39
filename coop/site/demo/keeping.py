"""The demo's shelf between deliveries: a stocktake by two, a sample of blanks, and what was ordered."""

from django.utils.translation import gettext as _

from coop.site.demo.people import People
from coop.site.demo.shelf import GRAM, KG, Shelf
from coop.site.demo.teller import Teller
from inventory.commands.containers import open_container
from inventory.commands.ordering import order
from inventory.commands.samples import measure_strips
from inventory.commands.stock import draw
from inventory.commands.stocktaking import begin_stocktake, count_in, end_stocktake
from inventory.models import Item, Order

#: ten blanks of one lot, dry and after two days in solution, in milligrams
DRY = (11_700, 11_900, 11_800, 12_000, 11_600, 11_800, 11_900, 11_700, 11_800, 11_800)
WET = (24_900, 25_200, 24_700, 25_300, 24_600, 25_000, 25_100, 24_800, 25_100, 24_900)


def stocktake(teller: Teller, people: People, shelf: Shelf, lot: Item, ago: int) -> None:
    """The Pump House counted by two. The cans of glycerine are 24 g lighter than the book: looked at twice."""
    first, second = lot.lot.containers.order_by("id")
    teller.did(people.second, teller.at(ago, "10:00"), open_container, container=first)
    cleaning = {"item": lot, "place": shelf.shed, "quantity": 180 * GRAM}
    teller.did(people.second, teller.at(ago, "10:05"), draw, **cleaning, note=_("To rinse the pails."))
    take = teller.did(people.first, teller.at(ago, "10:15"), begin_stocktake, place=shelf.shed)
    there = shelf.shed.holdings.filter(quantity__gt=0).select_related("item").order_by("item")
    for number, holding in enumerate(there):
        who, when = (people.first, people.second)[number % 2], teller.at(ago, f"10:{20 + number:02d}")
        if holding.item != lot:
            teller.did(who, when, count_in, stocktake=take, item=holding.item, quantity=holding.quantity)
            continue
        on_hand = holding.quantity - 24 * GRAM
        in_second = min(on_hand, 6 * KG)
        weighed = [
            {"container": first, "gross_mg": 265 * GRAM + on_hand - in_second},
            {"container": second, "gross_mg": 265 * GRAM + in_second},
        ]
        for counter, moment in ((who, when), (people.releaser, teller.at(ago, "10:50"))):
            teller.did(counter, moment, count_in, stocktake=take, item=lot, weighed=weighed)
    teller.did(people.first, teller.at(ago, "11:05"), end_stocktake, stocktake=take)


def sample(teller: Teller, people: People, lot: Item, ago: int) -> None:
    """Ten blanks of a new lot, dry and wet, before it is used."""
    teller.did(people.second, teller.at(ago, "18:20"), measure_strips, item=lot, dry_mg=DRY, wet_mg=WET)


def ordered(teller: Teller, people: People, shelf: Shelf, ago: int) -> Order:
    """A drum of acid, which came in time."""
    made: Order = teller.did(
        people.coordinator,
        teller.at(ago, "20:00"),
        order,
        material=shelf.acid,
        quantity=5 * KG,
        ordered_on=teller.day(ago),
    )
    return made


def on_the_way(teller: Teller, people: People, shelf: Shelf) -> None:
    """Glycerine comes next week; the mill is two days late with the blanks."""
    who = people.coordinator
    for material, quantity, ago in ((shelf.strips, 400, 30), (shelf.glycerine, 12 * KG, 9)):
        facts = {"material": material, "quantity": quantity, "ordered_on": teller.day(ago)}
        teller.did(who, teller.at(ago, "20:15"), order, **facts)
