"""Whether the sender is alive: each scheduled job claims its Pulse row, runs, and notes when it finished.

The claim is a conditional update, so of two schedulers one runs and the other passes by. A claim whose worker died is
free again after five minutes. A job that fails gives its claim back and is tried at the next tick.
"""

import contextlib
import dataclasses
import datetime as dt
from collections.abc import Iterator

from django.db.models import Q
from django.utils import timezone

from coop.models import Club, Pulse

LEASE = dt.timedelta(minutes=5)
STALE = dt.timedelta(minutes=10)
SENDER = "sender"
PROVE = "prove"
NIGHT_HOUR = 3


@dataclasses.dataclass
class Claim:
    """Whether this process may run the job now; `note` is kept for people to read."""

    is_mine: bool
    note: str = ""


@contextlib.contextmanager
def beat(name: str, now: dt.datetime) -> Iterator[Claim]:
    """Claim a job that runs at every tick."""
    with _claimed(name, now, Q()) as claim:
        yield claim


@contextlib.contextmanager
def nightly(name: str, now: dt.datetime) -> Iterator[Claim]:
    """Claim a job that runs once a local day, from three in the morning on; a missed night is made up for by day."""
    club = Club.objects.filter(pk=1).first()
    if club is None or now.astimezone(club.tz).hour < NIGHT_HOUR:
        yield Claim(False)
        return
    local = now.astimezone(club.tz)
    night = local.replace(hour=NIGHT_HOUR, minute=0, second=0, microsecond=0)
    with _claimed(name, now, Q(finished_at=None) | Q(finished_at__lt=night)) as claim:
        yield claim


@contextlib.contextmanager
def _claimed(name: str, now: dt.datetime, wanted: Q) -> Iterator[Claim]:
    Pulse.objects.bulk_create([Pulse(name=name)], ignore_conflicts=True)
    free = Q(claimed_at=None) | Q(claimed_at__lt=now - LEASE)
    claim = Claim(bool(Pulse.objects.filter(wanted, free, name=name).update(claimed_at=now)))
    if not claim.is_mine:
        yield claim
        return
    mine = Pulse.objects.filter(name=name, claimed_at=now)
    try:
        yield claim
    except BaseException as trouble:
        mine.update(claimed_at=None, note=f"failed: {trouble}"[:300])
        raise
    mine.update(claimed_at=None, finished_at=timezone.now(), note=claim.note[:300])


def last_ran(name: str = SENDER) -> dt.datetime | None:
    """When the job last finished; None when it never did."""
    found: dt.datetime | None = Pulse.objects.filter(name=name).values_list("finished_at", flat=True).first()
    return found


def is_sender_alive(now: dt.datetime) -> bool:
    """Finished within ten minutes; a server that has only just been set up is given ten minutes to begin."""
    finished = last_ran(SENDER)
    if finished is None:
        club = Club.objects.filter(pk=1).first()
        finished = club.created_at if club else now
    return now - finished < STALE
