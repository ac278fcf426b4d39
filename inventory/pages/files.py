"""Files in and out: a file of opening stock from the hand-in to the book, and everything as one file."""

from typing import Any

from django import forms
from django.contrib import messages
from django.db.models import Case, Count, IntegerField, QuerySet, Value, When
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from coop import sheets, wording
from coop.access import COORDINATOR, opens_to
from coop.pages.base import DeedForm, carry_out
from coop.parts import Crumb
from coop.pulse import is_sender_alive
from coop.tables import Column, Filter, Shown, Table
from inventory.commands import importing
from inventory.files import background, everything, reading, work
from inventory.models import StockFile, StockRow
from inventory.pages.common import State as Mark
from inventory.pages.common import crumbs

State, Verdict = StockFile.State, StockRow.Verdict
SHAPES = {
    Verdict.WAITS: "waits",
    Verdict.NEW: "info",
    Verdict.ALREADY: "fine",
    Verdict.CHANGE: "soon",
    Verdict.WRONG: "overdue",
}
FILE_SHAPES = {State.WRITTEN: "fine", State.UNREADABLE: "overdue", State.READ: "info"}


class FileForm(DeedForm):
    file = forms.FileField(
        label=gettext_lazy("File of stock"),
        help_text=gettext_lazy("CSV, XLSX, ODS, or CSV files in a zip; at most 5 MB and 20 000 rows."),
        allow_empty_file=True,
    )

    def arguments(self) -> dict[str, Any]:
        file = self.cleaned_data["file"]
        # a file beyond the limit is not taken into memory, only far enough to be refused
        return {"name": file.name, "content": file.read(reading.MOST_BYTES + 1)}


def _cells(row: StockRow) -> str:
    return "; ".join(f"{word}: {text}" for word, text in row.cells.items())


def _lot_url(row: StockRow) -> str:
    return reverse("inventory:lot", args=[row.item.code_id]) if row.item else ""


#: what became of a row once its file was written
DONE = {Verdict.NEW: gettext_lazy("added"), Verdict.CHANGE: gettext_lazy("changed")}


def _verdict(row: StockRow) -> str:
    is_written = row.file.state == StockFile.State.WRITTEN
    return str(DONE.get(Verdict(row.verdict), row.get_verdict_display()) if is_written else row.get_verdict_display())


ROWS = Table(
    "verdicts",
    columns=(
        Column("sheet", gettext_lazy("List"), "sheet", sort="sheet"),
        Column("number", gettext_lazy("Row"), "number", "number", sort="number"),
        Column(
            "verdict",
            gettext_lazy("Verdict"),
            lambda row: (SHAPES[Verdict(row.verdict)], _verdict(row)),
            "state",
            sort="verdict",
        ),
        Column("sentence", gettext_lazy("Why"), "sentence", strong=True),
        Column("cells", gettext_lazy("As it stands in the file"), _cells),
        Column("lot", gettext_lazy("Lot"), lambda row: row.item.code_id if row.item else None, "code", link=_lot_url),
    ),
    filters=(Filter("verdict", gettext_lazy("Verdict"), "verdict", Verdict.choices),),
    search=("sentence", "cells"),
    caption=gettext_lazy("Rows of the file"),
)
FILES = Table(
    "stock-files",
    columns=(
        Column(
            "name",
            gettext_lazy("File"),
            "name",
            sort="name",
            link=lambda row: reverse("inventory:stock_file", args=[row.pk]),
            strong=True,
        ),
        Column("when", gettext_lazy("Handed in"), "handed_in_at", "moment", sort="handed_in_at"),
        Column("rows", gettext_lazy("Rows"), "total", "number", sort="total"),
        Column("state", gettext_lazy("State"), lambda row: file_mark(row), "state", sort="state"),
    ),
    order="-when",
    caption=gettext_lazy("Files that were handed in"),
)


def file_mark(file: StockFile) -> Mark:
    return FILE_SHAPES.get(State(file.state), "waits"), str(file.get_state_display())


def _files() -> "QuerySet[StockFile]":
    return StockFile.objects.select_related("deed__actor", "written_by__actor")


def _way() -> list[Crumb]:
    return crumbs(Crumb(_("Files in and out"), reverse("inventory:files")))


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def files(request: HttpRequest) -> HttpResponse:
    """Hand a file in, take an empty one, take everything out; what was handed in before."""
    form = FileForm(request.POST, request.FILES) if request.method == "POST" else FileForm()
    if request.method == "POST":
        outcome = carry_out(request, form, importing.hand_in)
        if outcome.done:
            return _go_on(outcome.result)
    table = FILES.from_request(request, StockFile.objects.all())
    known = {"form": form, "table": table, "crumbs": crumbs(), "kinds": everything.KINDS}
    known["cut"] = everything.cut_words() if everything.left_out() else ""
    return table.file() or render(request, "inventory/files.html", known, status=422 if form.errors else 200)


def _go_on(file: StockFile) -> HttpResponse:
    """A small file is judged at once; for a large one the bell is rung and the page shows how far it is."""
    if not work.is_small(file) or not work.do(file, only_small=True):
        work.ring()
    return redirect("inventory:stock_file", pk=file.pk)


@opens_to(COORDINATOR)
@require_safe
def stock_file(request: HttpRequest, pk: int) -> HttpResponse:
    """One file: how far it is, then every row's verdict, the wrong ones first."""
    file = get_object_or_404(_files(), pk=pk)
    first = Case(When(verdict=Verdict.WRONG, then=Value(0)), default=Value(1), output_field=IntegerField())
    rows = StockRow.objects.filter(file=file).select_related("item", "file").order_by(first, "pk")
    table: Shown = ROWS.from_request(request, rows)
    counts = dict(
        StockRow.objects.filter(file=file).order_by().values_list("verdict").annotate(Count("pk"))
    )  # fmt: skip
    is_open = file.state in (State.WAITING, State.READING, State.WRITING)
    known = {
        "file": file,
        "table": table,
        "title": _title(file, counts),
        "mark": file_mark(file),
        "counts": _lines(counts),
        "is_open": is_open,
        "is_writing": file.state == State.WRITING,
        "is_alone": is_open and not is_sender_alive(timezone.now()),
        "may_write": file.state == State.READ and not counts.get(Verdict.WRONG) and _has_work(counts),
        "nothing_to_do": file.state == State.READ and not counts.get(Verdict.WRONG) and not _has_work(counts),
        "write_word": _("Write %(rows)s into the book") % {"rows": wording.counted(file.total, "row")},
        "crumbs": _way(),
    }
    return table.file() or render(request, "inventory/stock_file.html", known)


def _has_work(counts: dict[str, int]) -> bool:
    return bool(counts.get(Verdict.NEW) or counts.get(Verdict.CHANGE))


def _title(file: StockFile, counts: dict[str, int]) -> str:
    """The answer: what of the file is right."""
    if file.state == State.UNREADABLE:
        return _("“%(name)s” cannot be read") % {"name": file.name}
    if file.state == State.WRITTEN:
        return _("%(rows)s stand in the book") % {"rows": wording.counted(file.total, "row")}
    if file.state == State.WRITING:
        return _("%(rows)s are being written") % {"rows": wording.counted(file.total, "row")}
    if file.state != State.READ:
        if not file.total:
            return _("“%(name)s” waits to be read") % {"name": file.name}
        return _("%(done)s of %(rows)s are judged") % {
            "done": wording.figure(file.judged),
            "rows": wording.counted(file.total, "row"),
        }
    wrong = counts.get(Verdict.WRONG, 0)
    if wrong:
        return _("%(wrong)s of %(rows)s are not right") % {
            "wrong": wording.figure(wrong),
            "rows": wording.counted(file.total, "row"),
        }
    if not _has_work(counts):
        return _("All of it is in the book already")
    return _("All %(rows)s are right") % {"rows": wording.counted(file.total, "row")}


def _lines(counts: dict[str, int]) -> list[tuple[str, str, str]]:
    order = (Verdict.WRONG, Verdict.NEW, Verdict.CHANGE, Verdict.ALREADY, Verdict.WAITS)
    return [(SHAPES[one], wording.figure(counts[one]), str(one.label)) for one in order if counts.get(one)]


def _do(request: HttpRequest, pk: int, command: Any) -> bool:
    outcome = carry_out(request, form := DeedForm(request.POST), command, file=get_object_or_404(StockFile, pk=pk))
    for sentence in form.non_field_errors():
        messages.error(request, str(sentence))
    return outcome.done


@opens_to(COORDINATOR)
@require_POST
def write(request: HttpRequest, pk: int) -> HttpResponse:
    """A small file is written at once; a large one in the background, while the page looks again."""
    if get_object_or_404(StockFile, pk=pk).total > work.WRITTEN_AT_ONCE:
        _do(request, pk, importing.ask_to_write)
    elif _do(request, pk, importing.write_file):
        messages.success(request, _("Written. Print labels for the lots that are new."))
    return redirect("inventory:stock_file", pk=pk)


@opens_to(COORDINATOR)
@require_POST
def judge_again(request: HttpRequest, pk: int) -> HttpResponse:
    if _do(request, pk, importing.judge_again):
        return _go_on(get_object_or_404(StockFile, pk=pk))
    return redirect("inventory:stock_file", pk=pk)


@opens_to(COORDINATOR)
@require_POST
def judge_now(request: HttpRequest, pk: int) -> HttpResponse:
    """Judge or write a waiting file within this request, for when nothing runs in the background."""
    background.do(get_object_or_404(StockFile, pk=pk))
    return redirect("inventory:stock_file", pk=pk)


@opens_to(COORDINATOR)
@require_safe
def empty_file(request: HttpRequest, kind: str) -> HttpResponse:
    """The lists with their heads and nothing else; "lots" is the list of lots alone, as CSV."""
    if kind == "lots":
        return _sent(everything.empty_lots(), "csv", "lots")
    if kind not in everything.KINDS:
        raise Http404
    return _sent(everything.empty(kind), kind, "empty-stock")


@opens_to(COORDINATOR)
@require_safe
def everything_file(request: HttpRequest, kind: str) -> HttpResponse:
    if kind not in everything.KINDS:
        raise Http404
    return _sent(everything.write(kind), kind, "everything")


def _sent(content: bytes, kind: str, name: str) -> HttpResponse:
    is_zip = kind == "csv" and name != "lots"
    answer = HttpResponse(content, content_type="application/zip" if is_zip else sheets.KINDS[kind])
    answer["Content-Disposition"] = f'attachment; filename="{name}.{"zip" if is_zip else kind}"'
    return answer
