"""Papers of labels by their measures, and where on them a label falls. Lots, bags and jars print on the same papers.

A paper is known by what a ruler says of it: label width and height, columns and rows, margins and gaps, in
millimetres. The measures below are those of A4 label papers in common use: common practice, no published source, so a
first sheet is held against the paper before the labels are printed.
"""

import dataclasses
from collections.abc import Iterator
from decimal import Decimal
from typing import NamedTuple

from django.utils.translation import gettext as _

from coop import wording
from coop.refusals import Refused

PAPER_WIDTH, PAPER_HEIGHT = Decimal(210), Decimal(297)
#: between the edge of a label and what is printed on it; more than the widest gap that a shifted sheet may show
INSET = Decimal(3)
MOST_SHIFT = Decimal(5)


class Spot(NamedTuple):
    """The upper left corner of one label, and the sheet it is on, counted from 0."""

    sheet: int
    x_mm: Decimal
    y_mm: Decimal


@dataclasses.dataclass(frozen=True)
class Sheet:
    """One kind of label paper, A4. Refused (code "sheet") when its labels do not fit the paper."""

    width_mm: Decimal
    height_mm: Decimal
    columns: int
    rows: int
    left_mm: Decimal
    top_mm: Decimal
    gap_x_mm: Decimal = Decimal(0)
    gap_y_mm: Decimal = Decimal(0)

    def __post_init__(self) -> None:
        if min(self.columns, self.rows) < 1 or min(self.left_mm, self.top_mm, self.gap_x_mm, self.gap_y_mm) < 0:
            raise Refused(_("A sheet has at least one label, and no measure is below 0."), code="sheet")
        if self.width_mm < 40 or self.height_mm < 25:
            raise Refused(_("These words need a label of at least 40 × 25 mm."), code="sheet")
        across = self.left_mm + self.columns * self.width_mm + (self.columns - 1) * self.gap_x_mm
        down = self.top_mm + self.rows * self.height_mm + (self.rows - 1) * self.gap_y_mm
        if across > PAPER_WIDTH or down > PAPER_HEIGHT:
            raise Refused(
                _("These labels reach %(across)s across and %(down)s down; A4 has 210 × 297 mm. Measure again.")
                % {"across": wording.with_unit(across, "mm"), "down": wording.with_unit(down, "mm")},
                code="sheet",
            )

    @property
    def key(self) -> str:
        """Names the paper in an address: "99.1x67.7-2x4"."""
        return f"{self.width_mm}x{self.height_mm}-{self.columns}x{self.rows}"

    @property
    def a_sheet(self) -> int:
        return self.columns * self.rows

    @property
    def words(self) -> str:
        return _("%(width)s × %(height)s mm, %(count)s a sheet (%(columns)s × %(rows)s)") % {
            "count": self.a_sheet,
            "columns": self.columns,
            "rows": self.rows,
            "width": wording.figure(self.width_mm),
            "height": wording.figure(self.height_mm),
        }

    def check_shift(self, right_mm: Decimal, down_mm: Decimal) -> None:
        """Refused (code "shift") when so much of a shift would print beside the paper."""
        first, last = self.spot(0), self.spot(self.a_sheet - 1)
        ends = last.x_mm + self.width_mm, last.y_mm + self.height_mm
        on_paper = (
            first.x_mm + right_mm + INSET >= 0
            and first.y_mm + down_mm + INSET >= 0
            and ends[0] + right_mm - INSET <= PAPER_WIDTH
            and ends[1] + down_mm - INSET <= PAPER_HEIGHT
        )
        if not on_paper or max(abs(right_mm), abs(down_mm)) > MOST_SHIFT:
            raise Refused(
                _("Shifted so far the print leaves the paper. At most %(most)s, on this paper perhaps less.")
                % {"most": wording.with_unit(MOST_SHIFT, "mm")},
                code="shift",
            )

    def spot(self, number: int) -> Spot:
        """Where label `number` falls, counted from 0 along the rows, over as many sheets as it takes."""
        sheet, place = divmod(number, self.a_sheet)
        row, column = divmod(place, self.columns)
        x = self.left_mm + column * (self.width_mm + self.gap_x_mm)
        return Spot(sheet, x, self.top_mm + row * (self.height_mm + self.gap_y_mm))

    def spots(self, count: int, first: int = 1, right_mm: Decimal | int = 0, down_mm: Decimal | int = 0) -> list[Spot]:
        """Spots of so many labels from the first free one (counted from 1), shifted as the printer needs it."""
        return list(self._spots(count, first, Decimal(right_mm), Decimal(down_mm)))

    def _spots(self, count: int, first: int, right_mm: Decimal, down_mm: Decimal) -> Iterator[Spot]:
        for number in range(first - 1, first - 1 + count):
            sheet, x, y = self.spot(number)
            yield Spot(sheet, x + right_mm, y + down_mm)


def _sheet(*measures: str | int) -> Sheet:
    width, height, columns, rows, left, top, gap_x, gap_y = (Decimal(one) for one in measures)
    return Sheet(width, height, int(columns), int(rows), left, top, gap_x, gap_y)


#: the largest first: hazard words want room
SHEETS: dict[str, Sheet] = {
    sheet.key: sheet
    for sheet in (
        _sheet("99.1", "67.7", 2, 4, "4.65", "13.1", "2.5", 0),
        _sheet(105, 74, 2, 4, 0, "0.5", 0, 0),
        _sheet("99.1", "57", 2, 5, "4.65", 6, "2.5", 0),
        _sheet("99.1", "38.1", 2, 7, "4.65", "15.15", "2.5", 0),
        _sheet("63.5", "46.6", 3, 6, "7.25", "8.7", "2.5", 0),
        _sheet("63.5", "38.1", 3, 7, "7.25", "15.15", "2.5", 0),
        _sheet(70, 37, 3, 8, 0, "0.5", 0, 0),
        _sheet(70, 36, 3, 8, 0, "4.5", 0, 0),
    )
}
DEFAULT = next(iter(SHEETS))
