"""What a batch costs, by strip and by hive dose, as it follows from what went in (inventory/costs.py)."""

import dataclasses
from fractions import Fraction

from batches.models import Bench, Instructions, Soak
from inventory import costs
from inventory.models import Item


@dataclasses.dataclass(frozen=True)
class DoseCost:
    """Micro-cents of one hive dose for one kind of hive."""

    hive_kind: str
    strips: int
    cost: Fraction


@dataclasses.dataclass(frozen=True)
class SoakCost:
    """Micro-cents: shares of the mixes, what returned solution carries, blanks, and what the strips in bags bear.

    `in_tub` stands in the tub yet and is in no strip; `is_final` once the bench has ended. `a_strip` is None, and
    `doses` empty, while no strip is there to bear it. `written_off` is borne by nothing; on an abandoned bench that is
    all that stands at the tub, as long as nobody puts it back. `is_capped`: more came back than was poured.
    """

    solution: int
    returned: int
    in_tub: int
    blanks: int
    batch: int
    a_strip: Fraction | None
    doses: list[DoseCost]
    written_off: int
    is_capped: bool
    is_final: bool


def of_soak(soak: Soak) -> SoakCost:
    """A fixed number of queries, whatever went in."""
    found = costs.of_ancestry([soak.item_id])
    cost = found[soak.item_id]
    blanks = sum(part for parent, part in cost.by_parent.items() if found[parent].kind == Item.Kind.LOT)
    state, strips = soak.bench.state, cost.strips
    return SoakCost(
        solution=cost.into - blanks,
        returned=cost.returned,
        in_tub=cost.total - strips,
        blanks=blanks,
        batch=strips,
        a_strip=cost.each,
        doses=of_doses(soak.bench.instructions, cost.each),
        written_off=cost.written_off + (cost.waiting if state == Bench.State.ABANDONED else 0),
        is_capped=cost.is_capped,
        is_final=state in (Bench.State.CLOSED, Bench.State.ABANDONED),
    )


def of_doses(instructions: Instructions | None, a_strip: Fraction | None) -> list[DoseCost]:
    """What a hive dose costs by kind of hive, at so much a strip."""
    if instructions is None or a_strip is None:
        return []
    rows = instructions.doses.select_related("hive_kind")
    return [DoseCost(str(dose.hive_kind), dose.strips, a_strip * dose.strips) for dose in rows]
