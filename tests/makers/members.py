"""Makers of the members' rooms, over their commands: keepers with hives, released bags, a legal basis, rounds."""

import datetime as dt
from collections.abc import Sequence
from typing import Any

from django.utils import timezone

from batches.commands.bagging import bag, declare_loss, retain_sample, return_solution
from batches.commands.bench import close_bench
from batches.commands.deciding import release_soak
from batches.models import Bag, Bench, Instructions, Soak
from batches.tub import left_mg
from coop.commands.legal import note_legal_basis
from coop.models import HiveKind, LegalBasis, Person
from inventory.commands.receiving import receive
from members.commands.apiaries import add_apiary, add_hives
from members.commands.handing import hand_over
from members.commands.rounds import ask, close_round, open_round, plan_round
from members.models import Apiary, HandOver, Hive, Round
from tests.makers import batches as bench
from tests.makers import brew, inventory
from tests.makers.coop import deed, do, member

STRIP_MG = 28_600
DAY = dt.timedelta(days=1)


def basis(**facts: Any) -> LegalBasis:
    """A legal basis for supply, valid from long ago to long ahead unless said."""
    known = {
        "subject": "supply",
        "rule": "an invented rule for tests",
        "reference": "section 0",
        "checked_by": "nobody",
        "valid_from": dt.date(2020, 1, 1),
        "valid_until": dt.date(2035, 1, 1),
        **facts,
    }
    noted: LegalBasis = do(note_legal_basis, **known)
    return noted


def apiary(keeper: Person | None = None, hives: int = 2, kind: HiveKind | None = None, **facts: Any) -> Apiary:
    """An apiary of a keeper with so many hives of a kind, there for long."""
    facts.setdefault("name", "Long Field")
    found: Apiary = do(add_apiary, keeper or member(), **facts)
    if hives:
        do(
            add_hives,
            found.keeper,
            apiary=found,
            kind=kind or bench.hive_kind(),
            count=hives,
            from_on=dt.date(2025, 4, 1),
        )
    return found


def hives(apiary: Apiary) -> list[Hive]:
    return list(apiary.hives.order_by("id"))


def released_bags(strips: Sequence[int], room: bench.Room | None = None, **facts: Any) -> list[Bag]:
    """Released bags of so many strips each, of one soak made some days ago; facts go to the plan."""
    room = room or bench.room(now=timezone.now() - 12 * DAY)
    soaked = sum(strips) + 2
    if soaked > 400:
        do(
            receive,
            material=room.blanks.material,
            supplier=room.blanks.lot.supplier,
            place=room.shed,
            quantity=soaked,
            dry_strip_mg=13_600,
        )
    running = bench.started(room, target_mg=max(4_000_000, soaked * 52_000), **facts)
    soak = bench.lifted(room, bench.poured(room, running, strips=soaked))
    made = [
        room.do(bag, after=1, soak=soak, strips=count, net_mg=count * STRIP_MG, scale=room.scale) for count in strips
    ]
    room.do(retain_sample, after=1, soak=soak, strips=2, net_mg=2 * STRIP_MG)
    room.do(return_solution, after=1, soak=soak, mass_mg=left_mg(soak) - 12_000, container="can 1", clarity="clear")
    room.do(declare_loss, soak=soak, mass_mg=5_000, note="wiped")
    bench.check_scale(room, running, after=1)
    room.do(close_bench, after=1, bench=running)
    room.do(release_soak, by=room.releaser, after=60, soak=soak)
    return made


def draft(instructions: Instructions | None = None, **facts: Any) -> Round:
    facts.setdefault("name", "Spring round")
    facts.setdefault("closes_at", timezone.now() + 10 * DAY)
    made: Round = do(plan_round, instructions=instructions or bench.instructions(), **facts)
    return made


def opened(instructions: Instructions | None = None, **facts: Any) -> Round:
    made: Round = do(open_round, round=draft(instructions, **facts))
    return made


def asked(round: Round, *doses: tuple[Person, int], kind: HiveKind | None = None) -> Round:
    """Asks entered, then closed."""
    for person, count in doses:
        do(ask, person, round=round, doses={(kind or bench.hive_kind()).pk: count})
    closed: Round = do(close_round, round=round)
    return closed


def handed(bag: Bag, receiver: Person, **facts: Any) -> HandOver:
    done: HandOver = do(hand_over, bag=bag, receiver=receiver, cautions=True, **facts)
    return done


def shelf_bags(strips: Sequence[int], instructions: Instructions | None = None, state: str = "released") -> list[Bag]:
    """Bags on a shelf without a bench day behind them: quick, for tests that only ask where strips go."""
    shed, made = inventory.shed(), deed()
    acid, blanks = inventory.lot(place=shed), inventory.lot(inventory.strips(), shed, quantity=sum(strips) + 10)
    mix = brew.mix((acid, shed, 1_000_000))
    soak_item = brew.soak((mix, 1_000_000), blanks=(blanks, shed, sum(strips)))
    now = timezone.now() - 2 * DAY
    running = Bench.objects.create(
        day=now.date(),
        state="closed",
        recipe=bench.recipe(),
        instructions=instructions,
        place=shed,
        deed=made,
        closed_at=now,
    )
    soak = Soak.objects.create(
        item=soak_item,
        bench=running,
        number=1,
        state=state,
        blanks=blanks,
        strips=sum(strips),
        laid_at=now,
        deed=made,
    )
    return [
        Bag.objects.create(
            item=brew.bag(soak_item, shed, count, count * 15_000 // 100),
            soak=soak,
            strips=count,
            net_mg=count * STRIP_MG,
            deed=made,
            happened_at=now,
        )
        for count in strips
    ]
