"""Papers of labels: what fits on A4, and where a label falls."""

from decimal import Decimal

import pytest

from coop.label_sheets import DEFAULT, INSET, SHEETS, Sheet, Spot
from coop.refusals import Refused

D = Decimal


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS)
def test_every_known_paper_lies_in_the_middle_of_a4_to_a_millimetre(sheet):
    last = sheet.spot(sheet.a_sheet - 1)
    right, below = D(210) - last.x_mm - sheet.width_mm, D(297) - last.y_mm - sheet.height_mm
    assert abs(right - sheet.left_mm) <= 1
    assert abs(below - sheet.top_mm) <= 1
    sheet.check_shift(D(0), D(0))


def test_the_default_is_the_largest():
    assert max(SHEETS.values(), key=lambda sheet: sheet.width_mm * sheet.height_mm).words
    assert SHEETS[DEFAULT].height_mm > 60


def test_labels_run_along_the_rows_and_onto_the_next_sheet():
    sheet = Sheet(D(70), D(36), 3, 8, D(0), D("4.5"))
    assert sheet.spots(3, first=23) == [
        Spot(0, D(70), D("256.5")),
        Spot(0, D(140), D("256.5")),
        Spot(1, D(0), D("4.5")),
    ]
    assert sheet.spots(1, first=1, right_mm=D(1), down_mm=D(-2)) == [Spot(0, D(1), D("2.5"))]
    assert sheet.words == "70 × 36 mm, 24 a sheet (3 × 8)"


def test_gaps_are_between_labels_only():
    sheet = Sheet(D(60), D(40), 3, 2, D(10), D(20), D(5), D(7))
    assert sheet.spot(5) == Spot(0, D(140), D(67))


@pytest.mark.parametrize(
    "measures",
    [
        (D(70), D(38), 3, 8, D(0), D(0)),
        (D(70), D(36), 3, 8, D("0.1"), D(0)),
        (D(70), D(36), 4, 8, D(0), D(0)),
        (D(70), D(36), 0, 8, D(0), D(0)),
        (D(70), D(36), 3, 8, D(-1), D(0)),
        (D(39), D(36), 3, 8, D(0), D(0)),
        (D(70), D(24), 3, 8, D(0), D(0)),
    ],
)
def test_labels_that_do_not_fit_the_paper_are_refused(measures):
    with pytest.raises(Refused) as refusal:
        Sheet(*measures)
    assert refusal.value.code == "sheet"


def test_a_shift_may_go_as_far_as_the_print_stays_on_the_paper():
    sheet = SHEETS["70x36-3x8"]
    sheet.check_shift(INSET, D(0))
    sheet.check_shift(-INSET, D(5))
    for right, down in ((INSET + D("0.1"), D(0)), (-INSET - D("0.1"), D(0)), (D(0), D("5.1"))):
        with pytest.raises(Refused) as refusal:
            sheet.check_shift(right, down)
        assert refusal.value.code == "shift"
