"""The demo's shelf: materials, suppliers, lots in their containers, a stocktake, a hold on arrival."""

import dataclasses
from typing import Any

from django.utils.translation import gettext as _

from coop.site.demo.people import People
from coop.site.demo.teller import Teller
from inventory.commands.holding import lift_hold, place_hold
from inventory.commands.incidents import note_incident, spill
from inventory.commands.receiving import open_delivery, receive
from inventory.commands.settings import add_material, add_shed, add_supplier
from inventory.commands.stock import discard, transfer
from inventory.models import Hold, Item, Material, Place, Supplier

GRAM = 1_000
KG = 1_000 * GRAM


@dataclasses.dataclass(frozen=True)
class Shelf:
    """Sheds, suppliers and materials of the story."""

    shed: Place
    loft: Place
    chandler: Supplier
    mill: Supplier
    acid: Material
    glycerine: Material
    strips: Material
    bags: Material


def furnish(teller: Teller, people: People) -> Shelf:
    """Two sheds, two suppliers, four materials with their levels."""
    who, when = people.coordinator, teller.at(232, "10:00")
    shed = teller.did(who, when, add_shed, name=_("Pump House"))
    loft = teller.did(who, when, add_shed, name=_("Loft at Edda's"))
    chandler = teller.did(
        who,
        when,
        add_supplier,
        name="Reed & Rushby Chandlers",
        address=_("9 Quay Street, Eelport (invented)"),
        phone="01632 960201",
        email="orders@chandler.example",
        lead_days=16,
    )
    mill = teller.did(who, when, add_supplier, name="Withy Board Mill", phone="01632 960202", lead_days=28)

    def material(
        name: str, kind: str, low: int, pack: int, usual: tuple[int, int], supplier: Supplier, **more: Any
    ) -> Material:
        made: Material = teller.did(
            who,
            when,
            add_material,
            name=name,
            kind=kind,
            low_level=low,
            pack_size=pack,
            least_at_once=usual[0],
            most_at_once=usual[1],
            supplier=supplier,
            **more,
        )
        return made

    return Shelf(
        shed,
        loft,
        chandler,
        mill,
        material(
            _("Oxalic acid dihydrate"),
            "acid",
            1_600 * GRAM,
            5 * KG,
            (500 * GRAM, 12 * KG),
            chandler,
            per_dose=21_500,
        ),
        material(_("Glycerine"), "glycerine", 3 * KG, 12 * KG, (1 * KG, 30 * KG), chandler, per_dose=40 * GRAM),
        material(_("Strip blanks"), "strip", 240, 400, (50, 1_500), mill),
        material(_("Zip bags with a label field"), "other", 40, 100, (20, 500), mill, unit="pieces"),
    )


def first_deliveries(teller: Teller, people: People, shelf: Shelf) -> dict[str, Item]:
    """What the season began with. The glycerine came without its paper and was on hold until that was sent on."""
    who, when = people.coordinator, teller.at(226, "11:15")
    came = teller.did(who, teller.at(226, "11:10"), open_delivery, supplier=shelf.chandler, paper_number="D 1187")
    facts: dict[str, Any] = {"assay": 994_000_000, "best_before": -520, "price": 6_150, "delivery": came}
    hold_reason = _("Came without the supplier's paper.")
    lots: dict[str, Item] = {
        "acid": acid(teller, people, shelf, 226, "RR-0418", **facts),
        "blanks": blanks(teller, people, shelf, 224, "W 31", best_before=-900),
        "glycerine": glycerine(teller, people, shelf, 226, "GV-77", hold=hold_reason, delivery=came),
    }
    hold = Hold.objects.active().get(seeds__item=lots["glycerine"])
    reason = _("The paper was sent on: same lot number, refined, food grade.")
    teller.did(who, teller.at(219, "17:40"), lift_hold, hold=hold, reason=reason)
    lots["bags"] = teller.did(
        who,
        when,
        receive,
        material=shelf.bags,
        supplier=shelf.mill,
        quantity=100,
        place=shelf.loft,
        price_cents=1_900,
    )
    move = {"item": lots["bags"], "source": shelf.loft, "target": shelf.shed}
    teller.did(people.first, teller.at(201, "09:00"), transfer, **move, quantity=50)
    spoilt = {"item": lots["bags"], "place": shelf.shed, "quantity": 6}
    teller.did(people.first, teller.at(150, "12:00"), discard, **spoilt, note=_("Zips torn."))
    return lots


def acid(
    teller: Teller,
    people: People,
    shelf: Shelf,
    ago: int,
    their_lot: str,
    *,
    assay: int,
    best_before: int,
    price: int,
    **more: Any,
) -> Item:
    """Five kilograms of acid in one drum, the form named on its certificate."""
    lot: Item = teller.did(
        people.coordinator,
        teller.at(ago, "11:20"),
        receive,
        material=shelf.acid,
        supplier=shelf.chandler,
        quantity=5 * KG,
        place=shelf.shed,
        supplier_lot=their_lot,
        grade=_("pure"),
        form="dihydrate",
        assay_ppb=assay,
        certificate_names_form=True,
        best_before=teller.day(best_before),
        containers=[{"name": _("drum"), "tare_mg": 412 * GRAM, "gross_mg": 5 * KG + 412 * GRAM}],
        price_cents=price,
        **more,
    )
    return lot


def glycerine(
    teller: Teller, people: People, shelf: Shelf, ago: int, their_lot: str, hold: str = "", **more: Any
) -> Item:
    """Twelve kilograms in two cans."""
    cans = [{"name": name, "tare_mg": 265 * GRAM, "gross_mg": 6_265 * GRAM} for name in (_("can 1"), _("can 2"))]
    lot: Item = teller.did(
        people.coordinator,
        teller.at(ago, "11:30"),
        receive,
        material=shelf.glycerine,
        supplier=shelf.chandler,
        quantity=12 * KG,
        place=shelf.shed,
        supplier_lot=their_lot,
        grade=_("refined"),
        best_before=teller.day(-480 - ago),
        containers=cans,
        price_cents=4_380,
        hold_reason=hold,
        **more,
    )
    return lot


def blanks(teller: Teller, people: People, shelf: Shelf, ago: int, their_lot: str, best_before: int) -> Item:
    """A carton of strip blanks; dry mass and uptake belong to the lot."""
    lot: Item = teller.did(
        people.coordinator,
        teller.at(ago, "16:05"),
        receive,
        material=shelf.strips,
        supplier=shelf.mill,
        quantity=400,
        place=shelf.shed,
        supplier_lot=their_lot,
        best_before=teller.day(best_before),
        price_cents=7_200,
        dry_strip_mg=11_800,
        uptake_mg=13_200,
    )
    return lot


def mishaps(teller: Teller, people: People, shelf: Shelf, lot: Item) -> None:
    """A cup of glycerine over the table, and a splash: both are in the incident book."""
    can = lot.lot.containers.order_by("-id")[0]
    facts = {"item": lot, "place": shelf.shed, "quantity": 40 * GRAM, "container": can}
    what, done = _("The measuring jug tipped over on the table."), _("Wiped up with paper, the table washed.")
    teller.did(people.first, teller.at(78, "10:20"), spill, **facts, what=what, done=done)
    what, done = _("A splash of warm solution on a sleeve while pouring."), _("Sleeve off, arm rinsed for ten minutes.")
    who = _("One helper; the skin stayed clear.")
    teller.did(people.second, teller.at(39, "11:45"), note_incident, what=what, people=who, done=done, place=shelf.shed)


def doubt(teller: Teller, people: People, lot: Item, ago: int) -> Hold:
    """The acid that came damp: on hold with all that was made of it, until the supplier answers."""
    reason = _("Caked and damp under a torn seal; the titration came out low. The supplier was asked.")
    hold: Hold = teller.did(people.coordinator, teller.at(ago, "20:30"), place_hold, items=[lot], reason=reason)
    return hold
