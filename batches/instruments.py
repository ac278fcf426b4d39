"""What an instrument's checks say about its readings."""

import datetime as dt
import math

from batches.models import Equipment, EquipmentCheck
from batches.science.instruments import temperature, u_of_step

UNCHECKED_MC = 1_000


def last_check(equipment: Equipment, moment: dt.datetime) -> EquipmentCheck | None:
    return equipment.checks.before(moment).order_by("-happened_at", "-id").first()


def corrected(thermometer: Equipment | None, shown_mc: int, moment: dt.datetime) -> tuple[int, int]:
    """A reading corrected by the last check before it, and its U (k = 2), in milli-degrees.

    Contributions (JCGM 100:2008): the step of the thermometer in the reading and in its check, d / sqrt(12) each, and
    the uncertainty entered for its checks. Without a thermometer named, or without a check, one degree is taken for
    the check, by bench judgement.
    """
    if thermometer is None:
        return shown_mc, 2 * UNCHECKED_MC
    check = last_check(thermometer, moment)
    if check is None:
        found = temperature(shown_mc, 0, thermometer.resolution, UNCHECKED_MC)
    else:
        u_check = math.hypot(u_of_step(thermometer.resolution), thermometer.u_check)
        found = temperature(shown_mc, check.deviation, thermometer.resolution, u_check)
    return found.value, round(found.expanded)
