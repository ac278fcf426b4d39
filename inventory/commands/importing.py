"""Opening stock from a file: handed in, judged row by row, and written all at once or not at all."""

import hashlib

from django.utils.translation import gettext as _

from coop import wording
from coop.command import Refused, command
from coop.models import Deed, Document, the_club
from inventory.files import reading, work, writing
from inventory.files.judging import Judge
from inventory.models import StockFile, StockRow

State = StockFile.State


@command("inventory.hand_in")
def hand_in(deed: Deed, *, name: str, content: bytes) -> StockFile:
    """Keep a file of opening stock, to be read and judged after this. Nothing of it is in the book yet.

    Refused: "too_large" above 5 MB, "empty".
    """
    if len(content) > reading.MOST_BYTES:
        raise Refused(
            _("The file is larger than 5 MB. Keep only the lists of stock in it."), code="too_large", field="file"
        )
    if not content:
        raise Refused(_("The file is empty."), code="empty", field="file")
    plain = " ".join(name.replace("\x00", "").split()).rpartition("/")[2][-120:] or _("opening stock")
    paper = Document.objects.create(
        name=plain,
        media_type="application/octet-stream",
        content=content,
        sha256=hashlib.sha256(content).hexdigest(),
        deed=deed,
    )
    return StockFile.objects.create(name=plain, paper=paper, deed=deed, handed_in_at=deed.happened_at)


@command("inventory.judge_again")
def judge_again(deed: Deed, *, file: StockFile) -> StockFile:
    """Have every row of a file judged once more, against the book as it is now.

    Refused: "written", "writing", "unreadable".
    """
    again = StockFile.objects.filter(pk=file.pk, state__in=[State.READ, State.WAITING])
    if not again.update(state=State.WAITING, judged=0, claimed_at=None):
        file.refresh_from_db()
        if file.state == State.READING:
            return file
        raise _not_open(file)
    StockRow.objects.filter(file=file).update(verdict=StockRow.Verdict.WAITS, sentence="")
    work.ring()
    file.refresh_from_db()
    return file


@command("inventory.ask_to_write")
def ask_to_write(deed: Deed, *, file: StockFile) -> StockFile:
    """Have a large file written in the background, all at once or not at all.

    Refused: "not_right" while a row is not, "not_read" before all are judged, "written", "writing", "unreadable".
    """
    file = StockFile.objects.select_for_update().get(pk=file.pk)
    if file.state != State.READ:
        raise _not_open(file)
    rows = StockRow.objects.filter(file=file)
    if wrong := rows.filter(verdict=StockRow.Verdict.WRONG).count():
        raise _not_right(wrong, file.total)
    file.state, file.written_by, file.claimed_at, file.trouble = State.WRITING, deed, None, ""
    file.save(update_fields=["state", "written_by", "claimed_at", "trouble"])
    work.ring()
    return file


@command("inventory.write_file", gate=True)
def write_file(deed: Deed, *, file: StockFile) -> StockFile:
    """Write every row of a file into the book, in one transaction: materials, suppliers, sheds, lots, opening balances.

    All rows are judged again under the gate first. Refused: "not_right" while one is not, "not_read" before all are
    judged, "written" when it was written before, "unreadable". Lots get codes of their own where they have none; what
    the book has already is left as it is; a balance that differs is set right by name.
    """
    file = StockFile.objects.select_for_update().get(pk=file.pk)
    if file.state not in (State.READ, State.WRITING):
        raise _not_open(file)
    rows = list(StockRow.objects.filter(file=file).order_by("pk"))
    judge = Judge(rows, the_club().today())
    wrong = sum(judged.verdict == StockRow.Verdict.WRONG for judged in judge.verdicts())
    if wrong:
        raise _not_right(wrong, len(rows))
    lots = writing.write(deed, judge.plan, file.name)
    _name_lots(rows, {lot.number: lot.pk for lot in lots})
    file.state, file.written_by, file.claimed_at = State.WRITTEN, deed, None
    file.save(update_fields=["state", "written_by", "claimed_at"])
    return file


def _name_lots(rows: list[StockRow], lots: dict[int, int | None]) -> None:
    """Beside each row of the list of lots stands the lot it became."""
    named = []
    for row in rows:
        if row.sheet == "lots" and row.item_id is None and row.number in lots:
            row.item_id = lots[row.number]
            named.append(row)
    work.keep(named, "item")


def _not_right(wrong: int, rows: int) -> Refused:
    return Refused(
        _("%(wrong)s of %(all)s are not right as the book stands now. Nothing was written. Have it judged again.")
        % {"wrong": wording.figure(wrong), "all": wording.counted(rows, "row")},
        code="not_right",
    )


def _not_open(file: StockFile) -> Refused:
    if file.state == State.WRITTEN:
        return Refused(_("This file is in the book already. It was written once, and is not written again."), "written")
    if file.state == State.WRITING:
        return Refused(_("This file is being written at this moment. Wait for the page to say so."), "writing")
    if file.state == State.UNREADABLE:
        return Refused(_("This file cannot be read. Hand in another one."), "unreadable")
    return Refused(_("Not every row is judged yet. Wait for the page to say so."), "not_read")
