"""The release table as the page shows it: short names, figures in words, a bar each, the reason under its own row."""

from collections.abc import Iterable
from typing import Any

from django.urls import reverse
from django.utils.http import urlencode
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from batches import strength
from batches.models import Clarity, Deviation, Soak
from batches.queries import balance
from batches.queries.facts import room_of
from batches.queries.release import ReleaseRow, ReleaseTable
from coop import wording
from coop.drawing import marks
from coop.models import Person
from coop.parts import LimitRow

VERDICTS = {
    "pass": ("fine", gettext_lazy("pass")),
    "reason": ("soon", gettext_lazy("reason")),
    "never": ("stop", gettext_lazy("never")),
}
NAMES = {
    "input_hold": gettext_lazy("Inputs, hold"),
    "input_date": gettext_lazy("Inputs, date"),
    "input_form": gettext_lazy("Acid, form"),
    "instruments": gettext_lazy("Instruments"),
    "peak": gettext_lazy("Peak, corrected"),
    "clear_at_pour": gettext_lazy("Clear, pour"),
    "clear_at_lift": gettext_lazy("Clear, tub"),
    "soak_hours": gettext_lazy("Soak"),
    "room": gettext_lazy("Room, low to high"),
    "unexplained": gettext_lazy("Unexplained"),
    "content": gettext_lazy("Mean strip content"),
    "uniformity": gettext_lazy("AV of the uptake"),
    "returned": gettext_lazy("Reuse"),
    "counts": gettext_lazy("Counts"),
    "label": gettext_lazy("Label"),
    "sample": gettext_lazy("Retained sample"),
    "releaser": gettext_lazy("Releaser"),
}
LIMITS = {
    "input_hold": gettext_lazy("none on hold"),
    "input_date": gettext_lazy("in date"),
    "input_form": gettext_lazy("dihydrate, known"),
    "instruments": gettext_lazy("before and after"),
    "clear_at_pour": gettext_lazy("clear"),
    "clear_at_lift": gettext_lazy("clear"),
    "counts": gettext_lazy("exact"),
    "label": gettext_lazy("on every bag"),
    "sample": gettext_lazy("kept"),
    "releaser": gettext_lazy("not on the bench"),
}
#: rows whose figure is a count or a word: a bar would say nothing
WORDS_ONLY = {"input_hold", "input_date", "input_form", "counts", "returned"}
INPUTS = ("input_hold", "input_date", "input_form")


def shown_rows(table: ReleaseTable, soak: Soak, person: Person) -> list[LimitRow]:
    """The rows for one reader; who may give a reason finds the link under the row that needs one."""
    return [_line(row, soak, person) for row in _merged(table.rows)]


def _merged(rows: list[ReleaseRow]) -> list[ReleaseRow]:
    """The three of the inputs as one, and the bags by the furthest, as long as all of them pass."""
    passing = {row.key for row in rows} - {row.key for row in rows if row.verdict != "pass"}
    furthest = max((row for row in rows if row.key == "bag"), key=lambda row: abs(row.value or 0), default=None)
    kept = []
    for row in rows:
        if row.key in INPUTS[1:] and passing.issuperset(INPUTS):
            continue
        if row.key == "bag" and "bag" in passing and row is not furthest:
            continue
        kept.append(row)
    return kept


def _line(row: ReleaseRow, soak: Soak, person: Person) -> LimitRow:
    shape, word = VERDICTS[row.verdict]
    deviation = row.deviation
    said = deviation.reason if deviation else ""
    return LimitRow(
        name=_name(row, soak),
        figure=_figure(row, soak, person),
        limit=_limit(row, soak),
        state=shape,
        verdict=str(word),
        bar=_bar(row, soak),
        reason=" ".join(_sentences(row, said)),
        said=said,
        after=_decision(deviation) if deviation else "",
        link=_link(row, soak, person),
    )


def _name(row: ReleaseRow, soak: Soak) -> str:
    if row.key == "bag":
        return _("Furthest bag") if row.verdict == "pass" else row.label.split(": ")[-1]
    if row.key == "strength":
        found = strength.of_soak(soak)
        return _("w titrated") if found and found.is_titrated else _("w weighed in")
    if row.key == "input_hold" and row.verdict == "pass":
        return _("Inputs")
    return str(NAMES.get(row.key, row.label))


def _limit(row: ReleaseRow, soak: Soak) -> str:
    if row.key == "strength" and row.high is not None:
        return f"{wording.fraction(soak.bench.recipe.w_ppb)} ±{wording.with_unit(row.high, '%')}"
    if row.key == "input_hold" and row.verdict == "pass":
        return _("no hold, in date")
    if row.key == "bag" and row.high is not None:
        return f"±{wording.with_unit(row.high, '%')}"
    return str(LIMITS.get(row.key, row.limit))


def _figure(row: ReleaseRow, soak: Soak, person: Person) -> str:
    """What was found. Rows without a number of their own say it in a word."""
    if row.key == "strength":
        found = strength.of_soak(soak)
        return f"{wording.fraction(found.w_ppb)} ±{wording.fraction(2 * found.u_ppb)}" if found else row.figure
    if row.key == "counts":
        found_pieces = balance.pieces_of(soak)
        parts = (found_pieces.bagged, found_pieces.retained, found_pieces.spoiled)
        sign = "=" if not found_pieces.off_by else "≠"
        return f"{found_pieces.soaked} {sign} {'+'.join(map(str, parts))}"
    if row.key == "uniformity" and row.value is not None:
        return _("%(av)s, n = %(n)s") % {"av": row.figure, "n": soak.marked.exclude(wet_mg=None).count()}
    if row.key in ("bag", "unexplained") and row.value is not None:
        return wording.with_unit(row.value, "%", 2 if row.key == "unexplained" else 1, sign=True)
    if row.key == "releaser" and row.verdict == "pass":
        return person.name if person.is_releaser else _("an outsider")
    words = _seen(row, soak)
    return words if words else row.figure


def _seen(row: ReleaseRow, soak: Soak) -> str:
    """The rows that are words: what was seen at the pour and in the tub, and how warm the room was."""
    if row.key == "clear_at_pour":
        return _clarities(soak.pours.values_list("clarity", flat=True))
    if row.key == "clear_at_lift":
        return _clarities([soak.clarity])
    if row.key == "input_hold" and row.verdict == "pass":
        return _("in order")
    if row.key == "room" and None not in room_of(soak):
        low, high = (value for value in room_of(soak) if value is not None)
        return f"{wording.figure(low / 1000, 1)}–{wording.temp(high, 1)}"
    if row.key == "instruments" and row.verdict == "pass":
        return _("checked")
    if row.key == "returned" and not row.value:
        return _("none drawn")
    return ""


def _clarities(seen: Iterable[str]) -> str:
    known = dict(Clarity.choices)
    return wording.listed(dict.fromkeys(str(known[one]) for one in seen if one)) or _("not recorded")


def _bar(row: ReleaseRow, soak: Soak) -> SafeString:
    """An ochre triangle where a reason is needed, a rust one where it is never released."""
    if row.value is None or row.key in WORDS_ONLY:
        return SafeString("")
    value, to = row.value, None
    if row.key == "room" and None not in room_of(soak):
        value, to = (float(one) for one in room_of(soak) if one is not None)
    if row.verdict != "reason":
        return marks.limit_bar(value, row.low, row.high, uncertainty=row.u or 0, to=to)
    ends = [one for one in (value, to, row.low, row.high) if one is not None]
    return marks.limit_bar(
        value,
        row.low,
        row.high,
        None if row.low is None else min(ends),
        None if row.high is None else max(ends),
        row.u or 0,
        to,
    )


def _sentences(row: ReleaseRow, said: str) -> list[str]:
    is_news = row.note and row.verdict != "pass" and row.note != row.figure and row.key != "room"
    sentences = [row.note] if is_news else []
    if row.deviation and said:
        by = row.deviation.reasoned or row.deviation.opened
        sentences.append(
            _("Reason, %(name)s, %(day)s:") % {"name": by.actor.name, "day": wording.moment(by.happened_at)}
        )
    return sentences


def _decision(deviation: Deviation) -> str:
    if deviation.decided is None:
        return _("Waits for a second person.") if deviation.reason else ""
    verdict = _("accepted") if deviation.is_accepted else _("not accepted")
    return _("Decided by %(name)s, %(day)s: %(verdict)s.") % {
        "name": deviation.decided.actor.name,
        "day": wording.moment(deviation.decided.happened_at),
        "verdict": verdict,
    }


def _link(row: ReleaseRow, soak: Soak, person: Person) -> tuple[str, str] | None:
    """To giving a reason, for whoever the bench opens to, until one is given and not declined."""
    deviation = row.deviation
    has_reason = deviation is not None and deviation.reason and deviation.is_accepted is not False
    if row.verdict != "reason" or has_reason or soak.state in Soak.DECIDED or not person.is_volunteer:
        return None
    said: dict[str, Any] = {"row": row.kind, "soak": soak.item.code_id, "text": f"{row.label}: {row.figure}"}
    return _("Give the reason"), f"{reverse('batches:deviation', args=[soak.bench_id])}?{urlencode(said)}"


def counts(table: ReleaseTable) -> dict[str, int]:
    """How many checks pass, wait for a reason, have one that was accepted, or forbid the release."""
    return {
        "pass": sum(row.verdict == "pass" for row in table.rows),
        "accepted": sum(row.verdict == "reason" and row.is_accepted for row in table.rows),
        "reason": sum(row.verdict == "reason" and not row.is_accepted for row in table.rows),
        "never": len(table.never),
    }
