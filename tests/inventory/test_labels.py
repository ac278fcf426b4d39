"""Labels on paper: read back in words and by a camera, each in its place."""

import datetime as dt
from decimal import Decimal

import pypdfium2
import pypdfium2.raw as raw
import pytest
import zxingcpp

from coop import wording
from coop.label_sheets import INSET, SHEETS
from coop.refusals import Refused
from inventory import labels
from tests.makers import inventory
from tests.makers.coop import CLUB, club

pytestmark = pytest.mark.django_db

LARGE, MIDDLE, SMALL = SHEETS["99.1x67.7-2x4"], SHEETS["63.5x46.6-3x6"], SHEETS["63.5x38.1-3x7"]
#: papers whose labels hold hazard words of the usual length in letters of 6 points
ROOMY = {key: sheet for key, sheet in SHEETS.items() if sheet.width_mm * sheet.height_mm > 2800}
MM = 72 / 25.4
DRUMS = [{"name": "drum 1", "tare_mg": 1_250_000}, {"name": "drum 2"}]


def acid_lot(**facts):
    known = {"supplier_lot": "OX-113", "assay_ppb": 996_000_000, "best_before": dt.date(2028, 4, 10)}
    return inventory.lot(inventory.acid(**facts.pop("material", {})), containers=DRUMS, **{**known, **facts})


def printed(made, sheet=LARGE, **choices):
    return pypdfium2.PdfDocument(labels.pdf(made, sheet, title="Labels", **choices))


def words(page, spot, sheet):
    """The text within one label, its zero-width spaces and line ends taken out."""
    left, top = float(spot.x_mm) * MM, 297 * MM - float(spot.y_mm) * MM
    box = (left, top - float(sheet.height_mm) * MM, left + float(sheet.width_mm) * MM, top)
    text = page.get_textpage().get_text_bounded(*box)
    return " ".join(text.replace("\u200b", "").replace("\ufffe", "").split())


def codes_on(page, scale=4):
    return zxingcpp.read_barcodes(page.render(scale=scale).to_pil())


def middle(found):
    """Of a code as the camera found it, in millimetres."""
    corner, other = found.position.top_left, found.position.bottom_right
    return (corner.x + other.x) / 2 / 4 / MM, (corner.y + other.y) / 2 / 4 / MM


def within(spot, sheet, x, y):
    return spot.x_mm <= x <= spot.x_mm + sheet.width_mm and spot.y_mm <= y <= spot.y_mm + sheet.height_mm


@pytest.mark.parametrize("sheet", ROOMY.values(), ids=ROOMY)
def test_every_label_says_what_whoever_opens_the_drum_must_know(sheet):
    lot = acid_lot(material={"name": "Crystals, technical"})
    made = labels.for_lots([lot])
    page = printed(made, sheet)[0]
    first, second = (words(page, spot, sheet) for spot in sheet.spots(2))
    for fact in (
        lot.spaced_code, "Crystals, technical", "drum 1, empty 1 250 g", "Oxalic acid dihydrate, assay 99.6 %",
        "Supplier's lot OX-113", "Best before 10 Apr 2028", "Opened on", "Danger.", CLUB["hazard_text"],
        "Keep from children and food.", "See the supplier's sheet.", "Questions: +33 1 99 00 12 34.",
    ):  # fmt: skip
        assert fact in first
    assert "drum 2" in second
    assert "drum 1" not in second
    assert [one.text for one in codes_on(page)] == [labels.address_of(lot.code_id)] * 2


def test_words_and_codes_fall_on_their_labels_from_a_start_label_and_shifted():
    lots = [acid_lot() for _ in range(3)]
    made = labels.for_lots(lots)
    document = printed(made, MIDDLE, first=16, right_mm=Decimal("1.5"), down_mm=Decimal("-0.8"))
    spots = MIDDLE.spots(6, 16, Decimal("1.5"), Decimal("-0.8"))
    assert [spot.sheet for spot in spots] == [0, 0, 0, 1, 1, 1]
    assert (spots[0].x_mm, spots[0].y_mm) == (Decimal("8.75"), Decimal("240.9"))
    for label, spot in zip(made, spots, strict=True):
        page = document[spot.sheet]
        assert wording.code(label.code).replace("\u00a0", " ") in words(page, spot, MIDDLE)
        here = [one for one in codes_on(page) if within(spot, MIDDLE, *middle(one))]
        assert [one.text for one in here] == [label.address]


@pytest.mark.parametrize("name", [("Long name " * 20).strip(), "W" * 200, "Ω λόγος " * 25, "#let x = [$1$] @a " * 11])
@pytest.mark.parametrize("sheet", [LARGE, SMALL])
def test_long_words_shrink_or_wrap_and_never_leave_their_label(sheet, name):
    club(hazard_text="Harmful. " * 40, phone="+33 1 99 00 12 34" * 2)
    lot = acid_lot() if sheet is LARGE else inventory.lot(inventory.glycerine(), containers=DRUMS)
    lot.material.name, lot.lot.supplier_lot = name, name
    drum = lot.lot.containers.first()
    drum.name = name
    page = printed(labels.labels_of(lot, [drum] * sheet.a_sheet), sheet)[0]
    ink = page.render(scale=3, grayscale=True).to_numpy() < 128
    ink = ink.reshape(ink.shape[0], ink.shape[1])
    room = round(float(INSET) * MM * 3) - 2
    inside = ink.copy()
    for spot in sheet.spots(sheet.a_sheet):
        edges = (spot.x_mm, spot.x_mm + sheet.width_mm, spot.y_mm, spot.y_mm + sheet.height_mm)
        x0, x1, y0, y1 = (round(float(edge) * MM * 3) for edge in edges)
        assert ink[y0 + room : y1 - room, x0 + room : x1 - room].any()
        inside[y0 + room : y1 - room, x0 + room : x1 - room] = False
    assert not inside.any()
    shown = words(page, sheet.spots(1)[0], sheet).replace(" ", "")
    assert shown.count(name.replace(" ", "")) == 3


@pytest.mark.parametrize("sheet", SHEETS.values(), ids=SHEETS)
def test_hazard_words_are_never_smaller_than_six_points_else_the_paper_is_refused(sheet):
    made = labels.for_lots([acid_lot()])
    if sheet not in ROOMY.values():
        with pytest.raises(Refused) as refusal:
            printed(made, sheet)
        assert (refusal.value.code, refusal.value.facts["field"]) == ("small", "paper")
        assert [one.words in refusal.value.sentence for one in SHEETS.values()] == [
            one in ROOMY.values() for one in SHEETS.values()
        ]
        return
    text = printed(made, sheet)[0].get_textpage()
    count = text.count_chars()
    sizes = [raw.FPDFText_GetFontSize(text, at) for at in range(count) if raw.FPDFText_GetUnicode(text, at) > 32]
    assert min(sizes) >= 6


def test_a_small_paper_does_for_what_bears_no_hazard_words_and_none_does_for_a_novel():
    assert len(printed(labels.for_lots([inventory.lot(inventory.glycerine())]), SMALL)) == 1
    club(hazard_text="Harmful if swallowed. " * 120)
    with pytest.raises(Refused) as refusal:
        printed(labels.for_lots([acid_lot()]))
    assert "Shorten them" in refusal.value.sentence


def test_a_label_is_black_on_white():
    page = printed(labels.for_lots([acid_lot()]))[0]
    pixels = page.render(scale=2).to_numpy().reshape(-1, 3)
    spread = pixels.max(axis=1).astype(int) - pixels.min(axis=1)
    assert spread.max() <= 2
    assert tuple(pixels[0]) == (255, 255, 255)
    assert pixels.min() == 0


def test_only_the_acid_bears_hazard_words_and_one_of_unknown_form_says_so():
    glycerine = inventory.lot(inventory.glycerine())
    unknown = inventory.lot(inventory.acid(), form="unknown", certificate_names_form=False)
    (plain,), (doubtful,) = labels.for_lots([glycerine]), labels.for_lots([unknown])
    assert (plain.signal, plain.hazard, plain.facts) == ("", "", ())
    assert not any("Poison" in line for line in plain.care)
    assert doubtful.facts == ("Form unknown: do not weigh in",)
    assert doubtful.hazard == CLUB["hazard_text"]
    club(hazard_text="", signal_word="")
    (unread,) = labels.for_lots([unknown])
    assert unread.hazard == "Read the supplier's sheet before you open it."


def test_an_empty_drum_needs_no_label():
    lot = acid_lot()
    lot.lot.containers.filter(name="drum 1").update(emptied_on=dt.date(2027, 1, 5))
    assert [label.container for label in labels.for_lots([lot])] == ["drum 2"]


def test_labels_beside_the_paper_are_refused():
    made = labels.for_lots([acid_lot()])
    for choices, code in (
        ({"first": 9}, "first"),
        ({"first": 0}, "first"),
        ({"right_mm": 6}, "shift"),
        ({"down_mm": Decimal("-5.5")}, "shift"),
    ):
        with pytest.raises(Refused) as refusal:
            printed(made, **choices)
        assert refusal.value.code == code


def test_none_and_too_many_are_refused():
    made = labels.for_lots([acid_lot()])
    for some, code in (([], "none"), (made * 151, "many")):
        with pytest.raises(Refused) as refusal:
            printed(some)
        assert refusal.value.code == code
