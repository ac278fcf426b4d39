"""Files that wait are read and judged: a piece at a time, by whoever claims one, in the background or at a page.

The claim is a conditional update; a claim whose worker died is free again after a minute and taken up where it stands.
"""

import datetime as dt
import logging

from celery import current_app
from django.db import OperationalError, transaction
from django.db.models import Q, QuerySet
from django.utils import timezone

from coop.command import Refused
from coop.models import the_club
from inventory.files import reading
from inventory.files.judging import Judge
from inventory.models import StockFile, StockRow

log = logging.getLogger("coop.files")

State = StockFile.State
LEASE = dt.timedelta(minutes=1)
#: rows judged between two looks at the bar
PIECE = 250
#: up to these a file is done within the request that brings it
SMALL_BYTES, SMALL_ROWS = 100_000, 200
#: up to so many are written within the request: about a second; more are written in the background
WRITTEN_AT_ONCE = 1000
TASK = "inventory.tasks.judge_files"


def ring() -> None:
    """Once the transaction stands, wake a worker. A broker that is away costs a minute: the tick looks as well."""
    transaction.on_commit(_ring, robust=True)


def _ring() -> None:
    try:
        current_app.send_task(TASK, expires=55, retry=False, ignore_result=True)
    except (OSError, OperationalError, current_app.connection_for_write().connection_errors) as trouble:
        log.warning("the bell cannot be rung, the next tick will judge: %s", trouble)


def is_small(file: StockFile) -> bool:
    """Whether it may be done within a request."""
    if file.total:
        return file.total <= SMALL_ROWS
    return len(file.paper.content) <= SMALL_BYTES


def do_waiting() -> int:
    """Do every file that waits or whose worker died; returns how many this process has done."""
    done = 0
    while (file := _free().order_by("pk").first()) is not None and do(file):
        done += 1
    return done


def do(file: StockFile, *, only_small: bool = False) -> bool:
    """Read and judge one file. False where another process has it, or where it is too large for `only_small`."""
    claim = _claim(file)
    if claim is None:
        return False
    try:
        if not StockRow.objects.filter(file=file).exists() and not _read(file, claim):
            return True
        file.refresh_from_db()
        if only_small and file.total > SMALL_ROWS:
            _mine(file, claim).update(state=State.WAITING, claimed_at=None)
            return False
        return _judge(file, claim)
    except BaseException:
        _mine(file, claim).update(state=State.WAITING, claimed_at=None)
        raise


def _free(now: dt.datetime | None = None) -> "QuerySet[StockFile]":
    stale = Q(state=State.READING, claimed_at__lt=(now or timezone.now()) - LEASE)
    return StockFile.objects.filter(Q(state=State.WAITING) | stale)


def _claim(file: StockFile) -> dt.datetime | None:
    now = timezone.now()
    is_mine = _free(now).filter(pk=file.pk).update(state=State.READING, claimed_at=now)
    return now if is_mine else None


def _mine(file: StockFile, claim: dt.datetime) -> "QuerySet[StockFile]":
    return StockFile.objects.filter(pk=file.pk, state=State.READING, claimed_at=claim)


def _read(file: StockFile, claim: dt.datetime) -> bool:
    """The file's rows, or the sentence why there are none. False where it ends here."""
    try:
        book = reading.read(bytes(file.paper.content))
    except Refused as trouble:
        _mine(file, claim).update(state=State.UNREADABLE, trouble=trouble.sentence[:300], claimed_at=None)
        return False
    rows = [StockRow(file=file, sheet=row.sheet, number=row.number, cells=row.cells) for row in book.rows]
    with transaction.atomic():
        if not _mine(file, claim).update(total=len(rows), judged=0, trouble=" ".join(book.notes)[:300]):
            return False
        StockRow.objects.bulk_create(rows, batch_size=PIECE)
    return True


def _judge(file: StockFile, claim: dt.datetime) -> bool:
    """Every row's verdict, kept piece by piece. Stops where another has taken the file over."""
    rows = list(StockRow.objects.filter(file=file).order_by("pk"))
    judge = Judge(rows, the_club().today())
    waiting: list[StockRow] = []
    for number, (row, judged) in enumerate(zip(rows, judge.verdicts(), strict=True), start=1):
        row.verdict, row.sentence, row.item_id = judged.verdict, judged.sentence, judged.item_id
        waiting.append(row)
        if len(waiting) == PIECE or number == len(rows):
            now = timezone.now()
            with transaction.atomic():
                if not _mine(file, claim).update(judged=number, claimed_at=now):
                    return False
                keep(waiting, "verdict", "sentence", "item")
            claim, waiting = now, []
    return bool(_mine(file, claim).update(state=State.READ, claimed_at=None))


def keep(rows: list[StockRow], *fields: str) -> None:
    """What was found out about rows that stand already, written over them: much quicker than an update by cases."""
    StockRow.objects.bulk_create(
        rows, batch_size=PIECE, update_conflicts=True, unique_fields=["id"], update_fields=fields
    )
