"""What members ask for beyond the strips there are or will be: open asks, net of what planned benches cover."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator
from typing import NamedTuple

from django.urls import reverse
from django.utils.translation import gettext as _

from batches.demands import strips_to_come
from batches.models import InstructionsDose
from batches.queries.bags import may_go_out
from coop import registry, wording
from coop.models import the_club
from inventory import holds
from inventory.models import Material
from inventory.outlook import Demand
from members.models import Ask, Round
from members.queries import supply

#: what a hive dose is made of; other materials count only when somebody entered what a dose takes of them
OF_A_DOSE = (Material.Kind.ACID, Material.Kind.GLYCERINE, Material.Kind.STRIP)


class Short(NamedTuple):
    """What the strips there are and will be do not cover of a round: strips, and hive doses rounded up."""

    round: Round
    strips: int
    doses: int


@registry.demands.register("rounds")
def open_asks(day: dt.date, until: dt.date) -> Iterator[Demand]:
    """Uncovered hive doses times what a dose takes of each material, on the day the round closes.

    A strip material of which nobody entered that takes the strips themselves, where it is the only one. Any other comes
    with a quantity of 0: nobody can tell.
    """
    shorts = not_covered(day)
    if not shorts:
        return
    club = the_club()
    materials = list(Material.objects.order_by("pk"))
    bare_strips = [one.pk for one in materials if one.kind == Material.Kind.STRIP and one.per_dose is None]
    for round, strips, doses in shorts:
        words = _("%(doses)s more asked for, %(round)s") % {
            "doses": wording.counted(doses, "hive dose"),
            "round": round.name,
        }
        on = max(club.day_of(round.closes_at), day)
        address = reverse("members:round", args=[round.pk])
        for material in materials:
            quantity = 0
            if material.per_dose is not None:
                quantity = doses * material.per_dose
            elif bare_strips == [material.pk]:
                quantity = strips
            elif material.kind not in OF_A_DOSE:
                continue
            yield Demand(material.pk, on, quantity, words, f"round:{round.pk}", address)


def not_covered(day: dt.date) -> list[Short]:
    """Rounds that are not shared out yet, in order of closing, with what is asked for beyond the strips to be had.

    Each strip covers once: released and not promised, waiting for a release, in the tub, or planned.
    """
    rounds = list(Round.objects.filter(state__in=[Round.State.OPEN, Round.State.CLOSED]).order_by("closes_at", "pk"))
    asked = _asked(rounds)
    if not asked:
        return []
    released = sum(bag.in_store for bag in may_go_out(day))  # type: ignore[attr-defined]
    left = max(0, released - supply.promised() + strips_to_come(holds.held_ids()))
    found = []
    for round in rounds:
        strips, doses = asked.get(round.pk, (0, 0))
        short = strips - min(left, strips)
        left -= strips - short
        if short:
            found.append(Short(round, short, -(-short * doses // strips)))
    return found


def _asked(rounds: list[Round]) -> dict[int, tuple[int, int]]:
    """Round to the strips and hive doses asked for in it."""
    per_dose = {
        (instructions, kind): strips
        for instructions, kind, strips in InstructionsDose.objects.filter(
            instructions__in={round.instructions_id for round in rounds}
        ).values_list("instructions_id", "hive_kind_id", "strips")
    }
    strips: dict[int, int] = defaultdict(int)
    doses: dict[int, int] = defaultdict(int)
    rows = Ask.objects.filter(round__in=rounds, doses__gt=0).order_by()
    for round, instructions, kind, count in rows.values_list(
        "round_id", "round__instructions_id", "hive_kind_id", "doses"
    ):
        one = per_dose.get((instructions, kind))
        if one:
            strips[round] += one * count
            doses[round] += count
    return {round: (strips[round], doses[round]) for round in strips}
