"""What is unlikely about what came in: an amount out of the usual range, and drums whose nets are not the amount.

Amounts are milligrams or pieces. Nothing here refuses: it says what to ask.
"""

from collections.abc import Sequence
from dataclasses import dataclass

#: grams for kilograms and milligrams for grams, either way
STEP = 1_000
#: parts of 100 that the nets of all containers may be away from the amount; common practice, no published source
APART_PERCENT = 3


@dataclass(frozen=True)
class Doubt:
    """An amount outside the usual range. `limit` is the end it passed, `meant` the likely amount, None without one."""

    is_too_much: bool
    limit: int
    meant: int | None


def doubt(quantity: int, least: int | None, most: int | None, *, is_mass: bool) -> Doubt | None:
    """None for an amount inside. A mass may be a slip of the unit: 1000 times as much, or a thousandth, lies inside."""

    def inside(amount: int) -> bool:
        return (least is None or amount >= least) and (most is None or amount <= most)

    if most is not None and quantity > most:
        meant = quantity // STEP
        return Doubt(True, most, meant if is_mass and quantity % STEP == 0 and inside(meant) else None)
    if least is not None and quantity < least:
        meant = quantity * STEP
        return Doubt(False, least, meant if is_mass and inside(meant) else None)
    return None


def nets_apart(quantity: int, nets: Sequence[int | None]) -> int | None:
    """The sum of the nets where every container was weighed and it is more than 3 % from the amount, else None."""
    known = [net for net in nets if net is not None]
    if not nets or len(known) < len(nets):
        return None
    total = sum(known)
    return total if abs(total - quantity) * 100 > APART_PERCENT * quantity else None
