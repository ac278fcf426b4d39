"""The picture of a projected balance: what falls, what expires, what arrives, and labels that are not written over."""

import datetime as dt
import re
from xml.etree import ElementTree

from coop.drawing.outlook import BalanceStep, lot_bar, projected_balance

SVG = "{http://www.w3.org/2000/svg}"
DAY = dt.date(2026, 3, 22)


def days(number: int) -> dt.date:
    return DAY + dt.timedelta(days=number)


def drawn(*steps: BalanceStep, order_by: dt.date | None = None, safety: int = 1_600_000) -> ElementTree.Element:
    picture = projected_balance(
        [BalanceStep(DAY, 6_300_000), *steps], title="Outlook", until=days(162), safety=safety, order_by=order_by
    )
    return ElementTree.fromstring(picture.wide)


def labels(root: ElementTree.Element) -> list[str]:
    return ["".join(text.itertext()) for text in root.iter(f"{SVG}text")]


def test_what_expires_falls_by_a_dashed_ochre_line_and_nothing_else_does() -> None:
    root = drawn(
        BalanceStep(days(5), 4_350_000, "bench draws 1 950 g"),
        BalanceStep(days(14), 3_400_000, "950 g have expired", "expired"),
    )
    dashed = [line for line in root.iter(f"{SVG}polyline") if line.get("stroke-dasharray") == "3 3"]
    assert len(dashed) == 1
    assert "s-ochre" in str(dashed[0].get("class"))
    xs = {point.split(",")[0] for point in str(dashed[0].get("points")).split()}
    assert len(xs) == 1  # straight down


def test_it_runs_out_at_a_diamond_on_zero() -> None:
    assert [
        path for path in drawn(BalanceStep(days(9), 0, "all")).iter(f"{SVG}path") if "f-rust" in str(path.attrib)
    ] == []
    out = drawn(BalanceStep(days(9), -1, "all"))
    assert len([path for path in out.iter(f"{SVG}path") if "f-rust" in str(path.attrib)]) == 1


def test_an_order_that_is_past_is_said_at_the_left_edge() -> None:
    assert "order by Wed 1 Apr" in labels(drawn(order_by=days(10)))
    root = drawn(order_by=days(-30))
    assert "order now" in labels(root)
    assert all(float(x) >= 0 for x in re.findall(r"(?<=[ \"])(-?[\d.]+),", ElementTree.tostring(root, "unicode")))


def test_the_weightiest_labels_stay_where_more_would_meet() -> None:
    root = drawn(
        BalanceStep(days(60), 6_290_000, "least", weight=1),
        BalanceStep(days(61), 6_280_000, "run out", weight=3),
        BalanceStep(days(62), 6_270_000, "breach", weight=2),
    )
    said = " ".join(labels(root))
    assert "run out" in said
    assert "breach" in said
    assert "least" not in said


def test_a_label_stays_inside_the_picture() -> None:
    root = drawn(*(BalanceStep(days(day), 6_000_000 - day * 30_000, "bench draws 1 950 g") for day in (2, 80, 160)))
    for text in root.iter(f"{SVG}text"):
        if "bench" in "".join(text.itertext()):
            x, width = float(str(text.get("x"))), 8.4 * len("".join(text.itertext()))
            left, right = (x - width, x) if text.get("text-anchor") == "end" else (x, x + width)
            assert left >= 0
            assert right <= 640 - 74 + 10


def test_five_hundred_steps_are_drawn() -> None:
    assert len(labels(drawn(*(BalanceStep(days(n // 4), 6_300_000 - n * 9000, "bench") for n in range(500))))) < 60


def test_the_bar_of_a_lot_shows_what_will_be_left_over_and_what_is_not_counted() -> None:
    assert "f-ochre" not in lot_bar(1000, 2000)
    assert "f-ochre" in lot_bar(1000, 2000, wasted=300)
    held = lot_bar(1000, 2000, is_counted=False)
    assert "s-rust" in held
    assert "f-pine" not in held
    assert lot_bar(0, 0)
