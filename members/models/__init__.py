"""Models of members' rooms, by subject."""

from members.models.apiaries import Apiary, Hive
from members.models.handovers import HandOver, Return
from members.models.rounds import Ask, Round, RoundKeeper
from members.models.shares import Share, ShareOut
from members.models.treatments import Treatment, TreatmentLine

__all__ = [
    "Apiary",
    "Ask",
    "HandOver",
    "Hive",
    "Return",
    "Round",
    "RoundKeeper",
    "Share",
    "ShareOut",
    "Treatment",
    "TreatmentLine",
]
