"""Makers of the bench, over its commands: a stocked shed, a recipe, and a batch as far as a test wants it."""

import dataclasses
import datetime as dt
from typing import Any

import factory

from batches.commands.bagging import bag, declare_loss, retain_sample, return_solution
from batches.commands.bench import READY, close_bench, start_bench
from batches.commands.deciding import release_soak
from batches.commands.equipment import add_equipment, check_equipment
from batches.commands.mixing import pail_check, read, weigh_in
from batches.commands.planning import plan_bench
from batches.commands.recipes import write_instructions, write_recipe
from batches.commands.soaking import lay_strips, lift, mark_dry, mark_wet, pour
from batches.models import Bag, Bench, Equipment, Instructions, Mix, Recipe, Soak
from batches.tub import left_mg
from coop.models import HiveKind, Person
from inventory.models import Item, Place
from tests.makers import inventory
from tests.makers.coop import club, coordinator, do, releaser, volunteer
from tests.makers.inventory import KG, Done

START = dt.datetime(2026, 3, 14, 9, 0, tzinfo=dt.UTC)
DRY = [13_500, 13_700, 13_600, 13_400, 13_800, 13_600, 13_600, 13_500, 13_700, 13_600]
WET = [28_500, 28_800, 28_600, 28_300, 28_900, 28_700, 28_500, 28_600, 28_700, 28_400]


class RecipeFactory(Done):
    """An invented recipe for tests."""

    class Meta:
        model = Recipe

    name = factory.Sequence(lambda number: f"Recipe {number}")
    w_ppb = 360_000_000
    uptake_mg = 15_000
    content_low_mg = 4_900
    content_high_mg = 6_000
    tub_mg = 4_000_000
    tub_strips = 80
    u_w_ppb = 1_500_000

    @classmethod
    def command(cls) -> Any:
        return write_recipe


class InstructionsFactory(Done):
    class Meta:
        model = Instructions

    name = factory.Sequence(lambda number: f"Instructions {number}")
    days = 40
    source = "an invented leaflet for tests"
    doses = factory.LazyFunction(lambda: {hive_kind().pk: 3})

    @classmethod
    def command(cls) -> Any:
        return write_instructions


class ScaleFactory(Done):
    class Meta:
        model = Equipment

    name = factory.Sequence(lambda number: f"Scale {number}")
    kind = "scale"
    resolution = 100
    capacity = 15 * KG

    @classmethod
    def command(cls) -> Any:
        return add_equipment


class ThermometerFactory(ScaleFactory):
    name = factory.Sequence(lambda number: f"Thermometer {number}")
    kind = "thermometer"
    resolution = 100
    capacity = 110_000
    u_check = 200


def hive_kind(name: str = "full hive") -> HiveKind:
    return HiveKind.objects.get_or_create(name=name)[0]


def recipe(**facts: Any) -> Recipe:
    made: Recipe = RecipeFactory(**facts)
    return made


def instructions(**facts: Any) -> Instructions:
    made: Instructions = InstructionsFactory(**facts)
    return made


def scale(**facts: Any) -> Equipment:
    made: Equipment = ScaleFactory(**facts)
    return made


def thermometer(**facts: Any) -> Equipment:
    made: Equipment = ThermometerFactory(**facts)
    return made


@dataclasses.dataclass
class Room:
    """A shed with everything for a batch: two people, a releaser, lots, a recipe, checked instruments."""

    shed: Place
    leader: Person
    mate: Person
    releaser: Person
    acid: Item
    glycerine: Item
    blanks: Item
    recipe: Recipe
    instructions: Instructions
    scale: Equipment
    thermometer: Equipment
    now: dt.datetime = START

    def do(self, command: Any, by: Person | None = None, after: float = 0, **arguments: Any) -> Any:
        """Run a command as the leader (or `by`), `after` minutes later than what was done last."""
        self.now += dt.timedelta(minutes=after)
        return do(command, by or self.leader, happened_at=self.now, **arguments)


def room(**facts: Any) -> Room:
    """A Room; facts replace what it is made of."""
    club()
    coordinator()
    shed = facts.pop("shed", None) or inventory.shed()
    made = {
        "shed": shed,
        "leader": volunteer("Leader Lund"),
        "mate": volunteer("Mate Moss"),
        "releaser": releaser("Releaser Ruiz"),
        "acid": inventory.lot(inventory.acid(), shed, quantity=10 * KG, assay_ppb=998_000_000),
        "glycerine": inventory.lot(inventory.glycerine(), shed, quantity=20 * KG),
        "blanks": inventory.lot(inventory.strips(), shed, quantity=500, dry_strip_mg=13_600),
        "recipe": recipe(),
        "instructions": instructions(),
        "scale": scale(),
        "thermometer": thermometer(),
    }
    return Room(**{**made, **facts})


def planned(room: Room, **facts: Any) -> Bench:
    facts.setdefault("target_mg", 4 * KG)
    facts.setdefault("instructions", room.instructions)
    bench: Bench = room.do(plan_bench, recipe=room.recipe, day=room.now.date(), **facts)
    return bench


def started(room: Room, **facts: Any) -> Bench:
    """A running bench of leader and mate in full gear, scale and thermometer checked."""
    bench = planned(room, **facts)
    gear = ["goggles", "gloves", "mask"]
    presence = [{"person": person, "gear": gear} for person in (room.leader, room.mate)]
    room.do(start_bench, bench=bench, presence=presence, ready=list(READY), room_mc=21_000)
    check_scale(room, bench)
    room.do(check_equipment, equipment=room.thermometer, reference=18_000, reading=18_200, bench=bench)
    bench.refresh_from_db()
    return bench


def check_scale(room: Room, bench: Bench, reading: int = 2_000_000, **facts: Any) -> None:
    room.do(check_equipment, equipment=room.scale, reference=2_000_000, reading=reading, bench=bench, **facts)


def weighed(room: Room, bench: Bench, mix: Mix | None = None) -> Mix:
    """Everything the plan asks for in one pail weighed in to the milligram, heated, clear twice."""
    mix = mix or bench.mixes.get()
    for line in bench.plan["mixes"][mix.number - 1]["lines"]:
        item = Item.objects.get(pk=line["item"])
        room.do(weigh_in, after=3, mix=mix, item=item, mass_mg=line["mass_mg"], scale=room.scale)
    room.do(pail_check, after=1, mix=mix, total_mg=bench.plan["mixes"][mix.number - 1]["target_mg"])
    for minutes, temp, clarity in ((0, 20, "lumps"), (10, 40, "grains"), (8, 52, "clear"), (3, 54, "clear")):
        room.do(read, after=minutes, mix=mix, solution_mc=temp * 1000, clarity=clarity, was_stirred=True)
    return mix


def poured(room: Room, bench: Bench, strips: int = 60, mix: Mix | None = None) -> Soak:
    """Strips laid, ten marked, everything but 10 g poured hot."""
    mix = mix or weighed(room, bench)
    soak: Soak = room.do(lay_strips, bench=bench, strips=strips, blanks=room.blanks)
    room.do(mark_dry, soak=soak, masses_mg=DRY, scale=room.scale)
    mass = bench.plan["mixes"][mix.number - 1]["target_mg"] - 10_000
    room.do(
        pour, after=5, mix=mix, soak=soak, mass_mg=mass, temp_mc=52_000, clarity="clear", covered_mm=12, has_lid=True
    )
    soak.refresh_from_db()
    return soak


def lifted(room: Room, soak: Soak, hours: float = 48) -> Soak:
    room.do(
        lift,
        after=hours * 60,
        soak=soak,
        min_mc=20_000,
        max_mc=23_000,
        clarity="clear",
        drain_min=10,
        confirmed=hours < 24,
    )
    room.do(mark_wet, after=10, soak=soak, masses_mg=WET, scale=room.scale)
    soak.refresh_from_db()
    return soak


def bagged(room: Room, soak: Soak, net_each_mg: int = 28_600) -> Soak:
    """Two retained, the rest in two bags, solution returned so that the balance closes within a few grams."""
    half = (soak.strips - 2) // 2
    for strips in (half, soak.strips - 2 - half):
        room.do(bag, after=2, soak=soak, strips=strips, net_mg=strips * net_each_mg, scale=room.scale)
    room.do(retain_sample, after=1, soak=soak, strips=2, net_mg=2 * net_each_mg)
    room.do(return_solution, after=1, soak=soak, mass_mg=left_mg(soak) - 12_000, container="can 1", clarity="clear")
    room.do(declare_loss, soak=soak, mass_mg=5_000, note="wiped")
    return soak


def closed(room: Room, **facts: Any) -> Soak:
    """A batch that waits for its release and passes everything."""
    bench = started(room, **facts)
    soak = bagged(room, lifted(room, poured(room, bench)))
    check_scale(room, bench, after=1)
    room.do(close_bench, after=1, bench=bench)
    return Soak.objects.get(pk=soak.pk)


def released(room: Room, **facts: Any) -> Soak:
    soak = closed(room, **facts)
    room.do(release_soak, by=room.releaser, after=60, soak=soak)
    return Soak.objects.get(pk=soak.pk)


def bags(soak: Soak) -> list[Bag]:
    return list(soak.bags.select_related("item").order_by("id"))
