"""Hive doses: how many whole ones so many strips make, and what is left loose."""

import dataclasses

from batches.models import Instructions


@dataclasses.dataclass(frozen=True)
class HiveDoses:
    """For one kind of hive: strips a hive, whole doses, loose strips."""

    hive_kind: str
    hive_kind_id: int
    strips_a_hive: int
    doses: int
    loose: int


def hive_doses(instructions: Instructions | None, strips: int) -> list[HiveDoses]:
    """Whole hive doses by kind of hive; a hive gets a whole dose or none. Empty without instructions."""
    if instructions is None:
        return []
    return [
        HiveDoses(str(dose.hive_kind), dose.hive_kind_id, dose.strips, *divmod(strips, dose.strips))
        for dose in instructions.doses.select_related("hive_kind")
    ]
