"""The limits in force: science's defaults where the club's settings do not say otherwise; a bench keeps its own."""

from batches.models import Bench
from batches.science.limits import Limits
from coop.models import Club


def in_force() -> Limits:
    """The limits of the club today."""
    club = Club.objects.filter(pk=1).first()
    return Limits.from_dict(club.limits if club else None)


def of_bench(bench: Bench) -> Limits:
    """The limits that were in force when the bench was planned or started."""
    return Limits.from_dict(bench.limits) if bench.limits else in_force()
