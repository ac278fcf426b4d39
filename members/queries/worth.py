"""What a hive dose of the strips on the shelf costs: the mean of its bags, by strips. It sets no price."""

import datetime as dt
from fractions import Fraction

from batches.models import Instructions
from batches.queries.bags import may_go_out
from batches.queries.cost import DoseCost, of_doses
from inventory import costs


def of_a_dose(day: dt.date, instructions: Instructions) -> list[DoseCost]:
    """By kind of hive, of all that may go out on a local day; empty where nothing may. A fixed number of queries."""
    return of_doses(instructions, of_a_strip(day))


def of_a_strip(day: dt.date) -> Fraction | None:
    """Micro-cents of one strip of all that may go out on a local day, each bag weighing by its strips in store."""
    bags = list(may_go_out(day))
    known = costs.of(bag.item_id for bag in bags)
    each = {pk: cost.each or Fraction(0) for pk, cost in known.items()}
    strips = sum(bag.in_store for bag in bags)  # type: ignore[attr-defined]
    whole = sum((each[bag.item_id] * bag.in_store for bag in bags), Fraction(0))  # type: ignore[attr-defined]
    return whole / strips if strips else None
