"""What is done of files outside a request: reading and judging piece by piece, writing as one transaction.

A write is asked for by a person and done under a key made from that deed, so that two workers write it once. One that
is refused leaves nothing; the file is judged again and says why.
"""

import datetime as dt
import logging

from django.db import OperationalError
from django.db.models import Q, QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _

from coop.command import Refused
from coop.models import Deed
from inventory.commands.importing import write_file
from inventory.files import work
from inventory.models import StockFile

log = logging.getLogger("coop.files")

State = StockFile.State
#: longer than 20 000 rows take on a busy machine; a claim that is broken all the same does no harm, by the key
LEASE = dt.timedelta(minutes=3)


def do_waiting() -> None:
    """Judge every file that waits, and write every one that was asked for."""
    work.do_waiting()
    passed: set[int] = set()
    while (file := _free().exclude(pk__in=passed).order_by("pk").first()) is not None:
        passed.add(file.pk)
        write(file)
    if passed:
        work.do_waiting()


def do(file: StockFile) -> None:
    """What this file waits for, here and now."""
    if file.state == State.WRITING:
        write(file)
        file.refresh_from_db()
    if file.state in (State.WAITING, State.READING):
        work.do(file)


def write(file: StockFile) -> bool:
    """Write one file that somebody asked for. False where another process has it, or where it was refused."""
    now = timezone.now()
    if not _free().filter(pk=file.pk).update(claimed_at=now):
        return False
    mine = StockFile.objects.filter(pk=file.pk, state=State.WRITING, claimed_at=now)
    asked = StockFile.objects.select_related("written_by__actor").get(pk=file.pk).written_by
    assert asked is not None, "what is being written was asked for"
    try:
        write_file(actor=asked.actor, key=f"write-{asked.pk}", door=Deed.Door.TASK, file=file)
    except Refused as trouble:
        _give_back(mine, trouble.sentence)
        return False
    except OperationalError:
        mine.update(claimed_at=None)  # the database is away or busy: the next tick tries again
        raise
    except Exception:
        log.exception("a file of stock could not be written")
        _give_back(mine, _("It could not be written, and nothing of it was. Try again, or ask whoever looks after us."))
        return False
    return True


def _give_back(mine: "QuerySet[StockFile]", why: str) -> None:
    mine.update(state=State.WAITING, judged=0, claimed_at=None, written_by=None, trouble=why[:300])


def _free() -> "QuerySet[StockFile]":
    stale = Q(claimed_at=None) | Q(claimed_at__lt=timezone.now() - LEASE)
    return StockFile.objects.filter(stale, state=State.WRITING)
