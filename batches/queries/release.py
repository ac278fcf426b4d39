"""The release table of a soak as people read it: science's rows, translated, with the deviations that go with them."""

import dataclasses
from collections.abc import Sequence
from typing import Any

from django.db.models import Max
from django.utils.translation import gettext as _

from batches.limits import of_bench
from batches.models import Deviation, Release, Soak
from batches.queries.facts import facts_of
from batches.sayings import figure, say
from batches.science import release
from batches.science.words import Figure
from coop import wording
from coop.models import Person


@dataclasses.dataclass(frozen=True)
class ReleaseRow:
    """One check. `value`, `low`, `high`, `u` are numbers in the figure's unit for a picture, None where there is none.

    `kind` is that of the deviations about this row: its key, and the bag's code beside it where a row is one bag's.
    `deviation` is the newest of this kind; `is_accepted` when a second person accepted its reason.
    """

    key: str
    kind: str
    label: str
    figure: str
    limit: str
    rule: str
    note: str
    verdict: str
    is_warning: bool
    value: float | None
    low: float | None
    high: float | None
    u: float | None
    deviation: Deviation | None

    @property
    def is_accepted(self) -> bool:
        return self.deviation is not None and bool(self.deviation.is_accepted)


@dataclasses.dataclass(frozen=True)
class ReleaseTable:
    rows: list[ReleaseRow]
    limits: dict[str, Any]

    @property
    def never(self) -> list[ReleaseRow]:
        return [row for row in self.rows if row.verdict == release.NEVER]

    @property
    def reasons(self) -> list[ReleaseRow]:
        return [row for row in self.rows if row.verdict == release.REASON]

    @staticmethod
    def words(rows: Sequence[ReleaseRow]) -> str:
        """The labels of some rows in one clause."""
        return wording.listed(dict.fromkeys(row.label for row in rows))

    def as_json(self) -> dict[str, Any]:
        """For keeping with the decision."""
        names = [field.name for field in dataclasses.fields(ReleaseRow) if field.name != "deviation"]
        rows = [
            {name: getattr(row, name) for name in names}
            | {"is_accepted": row.is_accepted, "deviation": row.deviation.pk if row.deviation else None}
            for row in self.rows
        ]
        return {"rows": rows, "limits": self.limits}


def release_table(soak: Soak, releaser: Person | None = None) -> ReleaseTable:
    """Every check of a soak against the limits of its bench. Reads only; `releaser` is who would decide.

    What was accepted before the soak went back to rework was about other figures: it is decided anew.
    """
    limits = of_bench(soak.bench)
    checks = release.table(facts_of(soak, releaser), limits)
    newest: dict[str, Deviation] = {}
    rework = soak.releases.filter(verdict=Release.Verdict.REWORK).aggregate(last=Max("deed"))["last"] or 0
    for deviation in Deviation.objects.about(soak).select_related("opened__actor", "decided__actor").order_by("id"):
        if deviation.decided_id is None or deviation.decided_id > rework:
            newest[deviation.kind] = deviation
    return ReleaseTable([_row(check, newest.get(kind_of(check))) for check in checks], limits.as_dict())


def kind_of(check: release.Check) -> str:
    """What a deviation about this row is called; each bag has its own: a reason for one says nothing of others."""
    return f"{check.key}-{''.join(check.name.split())}" if check.name else check.key


def _row(check: release.Check, deviation: Deviation | None) -> ReleaseRow:
    label = _(check.label)
    return ReleaseRow(
        key=check.key,
        kind=kind_of(check),
        label=f"{label}: {check.name}" if check.name else label,
        figure=_figure(check),
        limit=_limit(check) or _(check.limit),
        rule=_(check.limit),
        note=say(check.note) if check.note else "",
        verdict=check.verdict,
        is_warning=check.is_warning,
        value=check.figure.value if check.figure else None,
        low=check.low,
        high=check.high,
        u=check.expanded,
        deviation=deviation,
    )


def _figure(check: release.Check) -> str:
    """The figure, with ± U where there is one; without a number what the note says, or the verdict."""
    if check.figure is None:
        return say(check.note) if check.note else (_("yes") if check.verdict == release.PASS else _("no"))
    text = _short(check.figure)
    if check.expanded:
        text += f" ±{_short(Figure(check.expanded, check.figure.unit))}"
    return text


def _short(found: Figure) -> str:
    """Grams of a strip with two decimals; everything else as sentences have it."""
    return wording.mass_g(round(found.value), 2) if found.unit == "mg" else figure(found)


def _limit(check: release.Check) -> str:
    """From low to high in the unit of the figure, where both or one of them are numbers."""
    if check.figure is None or (check.low is None and check.high is None):
        return ""
    unit = check.figure.unit
    if check.low is not None and check.high is not None:
        if check.low == check.high:
            return _(check.limit)
        return _("%(low)s to %(high)s") % {"low": _edge(check.low, unit), "high": _edge(check.high, unit)}
    edge = check.high if check.high is not None else check.low
    words = _("to %(edge)s") if check.high is not None else _("from %(edge)s")
    return words % {"edge": _edge(edge or 0, unit)}


def _edge(value: float, unit: str) -> str:
    if unit == "mg":
        return wording.mass_g(round(value), 2)
    if unit == "mc":
        return wording.temp(round(value))
    units = {"percent": "%", "h": "h", "d": _("days")}
    return wording.with_unit(value, units[unit]) if unit in units else wording.figure(value)
