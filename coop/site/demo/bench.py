"""How a demo batch is made, from the plan to the closed bench, step by step as volunteers enter it."""

import dataclasses
import datetime as dt
from collections.abc import Sequence
from typing import Any

from django.utils.translation import gettext as _

from batches.commands.bagging import bag, declare_loss, retain_sample, return_solution
from batches.commands.bench import READY, close_bench, start_bench
from batches.commands.equipment import add_equipment, check_equipment
from batches.commands.mixing import pail_check, read, weigh_in
from batches.commands.planning import plan_bench
from batches.commands.recipes import write_instructions, write_recipe
from batches.commands.soaking import lay_strips, lift, look, mark_dry, mark_wet, pour
from batches.models import Bag, Bench, Equipment, Instructions, Mix, Recipe, ReturnedSolution, Soak
from coop.site.demo.people import People, kinds
from coop.site.demo.shelf import GRAM, KG
from coop.site.demo.teller import Teller
from inventory.models import Item

#: ten marked strips, dry, and what each took up in percent of the batch's mean
DRY_MG = (11_700, 11_900, 11_600, 12_000, 11_800, 11_500, 12_100, 11_800, 11_900, 11_700)
UPTAKE_PCT = (101.4, 97.1, 103.0, 98.6, 96.9, 104.1, 100.2, 98.9, 102.2, 97.6)
#: minutes after the pail went into the bath, solution as the thermometer shows it, bath, how it looks
HEATING = (
    (0, 16_800, 41_000, "lumps"),
    (5, 27_900, 55_000, "lumps"),
    (10, 36_400, 60_000, "grains"),
    (15, 43_100, 61_000, "grains"),
    (18, 47_300, 61_000, "cloudy"),
    (21, 50_600, 60_000, "hazy"),
    (24, 52_900, 57_000, "clear"),
    (26, 53_700, 55_000, "clear"),
    (28, 54_200, 54_000, "clear"),
)
GEAR = ["goggles", "gloves", "mask", "apron"]
TARE_MG = 14 * GRAM
WIPED_MG = 8 * GRAM
RESIDUE_MG = 18 * GRAM


@dataclasses.dataclass(frozen=True)
class Workshop:
    """What benches are run with."""

    recipe: Recipe
    instructions: Instructions
    scale: Equipment
    fine_scale: Equipment
    thermometer: Equipment


@dataclasses.dataclass(frozen=True)
class Batch:
    """One batch of the story. `start` is when the bench opened; masses in mg, temperatures in milli-degrees."""

    start: dt.datetime
    recorder: Any
    mate: Any
    strips: int = 110
    bags: Sequence[int] = (25, 25, 25, 25, 8)
    retained: int = 2
    target_mg: int = 5 * KG
    uptake_mg: int = 13_200
    warmer_mc: int = 0
    room: tuple[int, int] = (19_500, 22_500)
    hours: float = 47.5
    unexplained_mg: int = 14 * GRAM
    returned: Sequence[Item] = ()


def equip(teller: Teller, people: People) -> Workshop:
    """Recipe, instructions and instruments. The figures are the invented club's own and no advice to anybody."""
    who, when = people.coordinator, teller.at(230, "20:00")
    source = _("Decided at this invented club's own meeting of %(day)s; a demonstration, not a dose to use.") % {
        "day": teller.day(233).isoformat()
    }
    by_kind = kinds()
    doses = {"nucleus": 2, "single brood": 5, "double brood": 8}
    recipe = teller.did(
        who,
        when,
        write_recipe,
        name=_("Felted card strips"),
        w_ppb=332_000_000,
        uptake_mg=13_200,
        content_low_mg=3_950,
        content_high_mg=4_850,
        tub_mg=5 * KG,
        tub_strips=115,
        u_w_ppb=1_700_000,
        soak_hours=48,
        steps=_("Goggles and gloves for everything wet. Turn the heat down at 52 degrees; nothing above 60."),
        source=source,
    )
    instructions = teller.did(
        who,
        when,
        write_instructions,
        name=_("Strips between the frames"),
        days=45,
        doses={by_kind[name].pk: strips for name, strips in doses.items()},
        source=source,
        supers_text=_("No honey supers on while strips are in."),
        withdrawal_text=_("None named by the club's own decision; local rules come first."),
        text=_("Gloves and goggles on. Hang every strip between two brood frames. Take them all out on the day."),
    )

    def add(name: str, kind: str, resolution: int, capacity: int, u_check: int = 0) -> Equipment:
        facts = {"name": name, "kind": kind, "resolution": resolution, "capacity": capacity, "u_check": u_check}
        made: Equipment = teller.did(who, when, add_equipment, **facts)
        return made

    return Workshop(
        recipe,
        instructions,
        add(_("Bench scale"), "scale", GRAM, 16 * KG),
        add(_("Strip scale"), "scale", 100, 600 * GRAM),
        add(_("Dip thermometer"), "thermometer", 100, 110_000, 200),
    )


@dataclasses.dataclass
class Run:
    """A batch under way: who is at it, and the moments counted from its start."""

    teller: Teller
    workshop: Workshop
    batch: Batch
    bench: Bench

    def did(self, minutes: float, command: Any, **arguments: Any) -> Any:
        """The recorder entered this, so many minutes after the start."""
        when = self.batch.start + dt.timedelta(minutes=minutes)
        return self.teller.did(self.batch.recorder, when, command, **arguments)

    @property
    def lift_at(self) -> float:
        """Minutes from the start to the lift."""
        return POUR_AT + 60 * self.batch.hours


HEAT_AT, POUR_AT = 34, 66


def plan(teller: Teller, people: People, workshop: Workshop, batch: Batch) -> Run:
    """The coordinator plans it some days before."""
    bench = teller.did(
        people.coordinator,
        batch.start - dt.timedelta(days=4, hours=20),
        plan_bench,
        recipe=workshop.recipe,
        instructions=workshop.instructions,
        day=batch.start.date(),
        target_mg=batch.target_mg,
        returned=[{"item": item, "mass_mg": None} for item in batch.returned],
    )
    return Run(teller, workshop, batch, bench)


def mix(run: Run) -> Mix:
    """Open, check the instruments, weigh in, heat until it is clear."""
    batch, workshop = run.batch, run.workshop
    presence = [{"person": person, "gear": GEAR} for person in (batch.recorder, batch.mate)]
    run.did(0, start_bench, bench=run.bench, presence=presence, ready=list(READY), room_mc=batch.room[0] + 1_200)
    check_scales(run, 4)
    run.did(9, check_equipment, equipment=workshop.thermometer, reference=14_200, reading=14_500, bench=run.bench)
    pail: Mix = run.bench.mixes.get()
    order = {"returned": 0, "glycerine": 1, "acid": 2}
    lines = sorted(run.bench.plan["mixes"][0]["lines"], key=lambda line: order[line["role"]])
    total = 0
    for number, line in enumerate(lines):
        net = round(line["mass_mg"], -3)
        total += net
        facts = {"mix": pail, "item": Item.objects.get(pk=line["item"]), "mass_mg": net, "scale": workshop.scale}
        eyes = {"second_eyes": batch.mate} if line["role"] == "acid" else {}
        run.did(14 + 4 * number, weigh_in, **facts, **eyes)
    run.did(31, pail_check, mix=pail, total_mg=total - GRAM, scale=workshop.scale)
    for minute, shown, bath, clarity in HEATING:
        run.did(
            HEAT_AT + minute,
            read,
            mix=pail,
            solution_mc=shown + batch.warmer_mc * minute // 28,
            bath_mc=bath,
            clarity=clarity,
            was_stirred=True,
            thermometer=workshop.thermometer,
        )
    return pail


def soak(run: Run, pail: Mix) -> Soak:
    """Strips laid, ten of them weighed dry, the pail poured over."""
    batch, workshop = run.batch, run.workshop
    tub: Soak = run.did(52, lay_strips, bench=run.bench, strips=batch.strips, pack_mg=batch.strips * 11_800)
    run.did(58, mark_dry, soak=tub, masses_mg=list(DRY_MG), scale=workshop.fine_scale)
    run.did(
        POUR_AT,
        pour,
        mix=pail,
        soak=tub,
        mass_mg=_in_pail(pail) - RESIDUE_MG,
        temp_mc=53_000 + batch.warmer_mc // 2,
        clarity="clear",
        covered_mm=14,
        has_lid=True,
        scale=workshop.scale,
    )
    return tub


def glance(run: Run, tub: Soak, hours: float) -> None:
    """The look between pour and lift."""
    low, high = run.batch.room
    facts = {"min_mc": low + 400, "max_mc": high - 300}
    run.did(POUR_AT + 60 * hours, look, soak=tub, is_covered=True, has_crystals=False, **facts)


def lift_and_bag(run: Run, tub: Soak) -> ReturnedSolution:
    """Lift, weigh the marked strips wet, bag, keep a sample, put the solution back, check the scales, close."""
    batch, workshop, at = run.batch, run.workshop, run.lift_at
    run.did(at, lift, soak=tub, min_mc=batch.room[0], max_mc=batch.room[1], clarity="clear", drain_min=11)
    tub.refresh_from_db()
    wet = [dry + round(batch.uptake_mg * pct / 100, -2) for dry, pct in zip(DRY_MG, UPTAKE_PCT, strict=True)]
    run.did(at + 14, mark_wet, soak=tub, masses_mg=[round(one) for one in wet], scale=workshop.fine_scale)
    taken = 0
    for number, strips in enumerate(batch.bags):
        net = _net(strips, batch.uptake_mg, (number % 3 - 1) * 2 * GRAM)
        taken += net - _dry(strips)
        gross = {"gross_mg": net + TARE_MG, "tare_mg": TARE_MG}
        run.did(at + 24 + 3 * number, bag, soak=tub, strips=strips, **gross, scale=workshop.scale)
    net = _net(batch.retained, batch.uptake_mg, 0)
    taken += net - _dry(batch.retained)
    facts = {"soak": tub, "strips": batch.retained, "net_mg": net}
    run.did(at + 44, retain_sample, **facts, scale=workshop.fine_scale)
    poured = sum(tub.pours.values_list("mass_mg", flat=True))
    back = round(poured - taken - WIPED_MG - batch.unexplained_mg, -3)
    returned: ReturnedSolution = run.did(
        at + 50,
        return_solution,
        soak=tub,
        mass_mg=back,
        container=_("lidded pail"),
        clarity="clear",
        scale=workshop.scale,
    )
    run.did(at + 56, declare_loss, soak=tub, mass_mg=WIPED_MG, note=_("wiped from tub and grid"))
    check_scales(run, at + 60)
    run.did(at + 70, close_bench, bench=Bench.objects.get(pk=run.bench.pk))
    return returned


def check_scales(run: Run, minutes: float) -> None:
    """Both scales against a check mass near the load."""
    for equipment, reference, reading in (
        (run.workshop.scale, 5 * KG, 5_002 * GRAM),
        (run.workshop.fine_scale, 50 * GRAM, 50 * GRAM),
    ):
        run.did(minutes, check_equipment, equipment=equipment, reference=reference, reading=reading, bench=run.bench)


def bags_of(tub: Soak) -> list[Bag]:
    return list(Bag.objects.filter(soak=tub, parent=None).select_related("item").order_by("id"))


def _in_pail(pail: Mix) -> int:
    return sum(pail.weighings.values_list("mass_mg", flat=True))


def _dry(strips: int) -> int:
    return sum(DRY_MG) * strips // len(DRY_MG)


def _net(strips: int, uptake_mg: int, more_mg: int) -> int:
    """Net of a bag to the gram; larger bags differ a little from the batch."""
    more = more_mg if strips >= 20 else 0
    return round(_dry(strips) + strips * uptake_mg + more, -3)
