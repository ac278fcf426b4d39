"""Pictures: named, escaped, without style, and with the same figures as a table."""

import datetime as dt
from xml.etree import ElementTree

import pytest

from coop.drawing import division, heat, ink, marks, outlook, strips, timeline
from coop.drawing.scale import Scale, clock_ticks, month_ticks, nice_step

SVG = "{http://www.w3.org/2000/svg}"
DAY = dt.date(2026, 3, 22)
NOON = dt.datetime(2026, 3, 22, 12, tzinfo=dt.UTC)


def days(number):
    return DAY + dt.timedelta(days=number)


def readings(*temps):
    return [heat.HeatReading(NOON + dt.timedelta(minutes=5 * at), temp, 0.7, "clear") for at, temp in enumerate(temps)]


STEPS = [
    outlook.BalanceStep(days(0), 6_300_000),
    outlook.BalanceStep(days(5), 1_250_000, "a batch"),
    outlook.BalanceStep(days(30), -650_000, "run out"),
]
PICTURES = {
    "heat": lambda: heat.temperature_curve(readings(17, 30, 45, 51), ceiling_c=60, turn_down_c=52),
    "heat without a reading": lambda: heat.temperature_curve([], ceiling_c=60),
    "heat above the ceiling": lambda: heat.temperature_curve(readings(55, 61, 66.5), ceiling_c=60, turn_down_c=52),
    "heat with a forecast": lambda: heat.temperature_curve(
        readings(17, 45), ceiling_c=60, forecast=[heat.HeatForecast(NOON + dt.timedelta(minutes=20), 52, 50, 54)]
    ),
    "strips": lambda: strips.strip_sample([13.9, 14.5, 10.1], target_g=14.2),
    "no strips": lambda: strips.strip_sample([], target_g=14.2),
    "balance": lambda: division.balance_bar("In and out", "in the tub", [division.BalancePart("bags", 2_690_000)]),
    "pieces": lambda: division.balance_bar("Strips", "made", [division.BalancePart("in store", 95)], unit="pieces"),
    "outlook": lambda: outlook.projected_balance(
        STEPS, title="Outlook", until=days(120), safety=1_600_000, order_by=days(3)
    ),
    "nothing to project": lambda: outlook.projected_balance([], title="Outlook", until=days(9)),
    "timeline": lambda: timeline.timeline(
        [timeline.Stay("Ferry <Bank>", days(-30), days(5)), timeline.Stay("Mill", days(-50), days(-8), days(-8))],
        title="In and out",
        today=DAY,
    ),
    "bars": lambda: timeline.bar_picture(
        [timeline.Bar("before", 6.2, 4.1, 8.9), timeline.Bar("after", 0)], title="Mites"
    ),
}


@pytest.mark.parametrize("name", PICTURES)
def test_a_picture_is_well_formed_named_and_free_of_style(name):
    picture = PICTURES[name]()
    for drawn in (picture.narrow, picture.wide):
        root = ElementTree.fromstring(drawn)
        assert root.get("role") == "img"
        assert root.find(f"{SVG}title").text
        assert " style=" not in drawn
        assert "nan" not in drawn.lower().replace("unanswered", "")
        assert all(text.get("font-size") == "17" for text in root.iter(f"{SVG}text"))


@pytest.mark.parametrize("name", [name for name in PICTURES if not name.startswith(("heat without", "no"))])
def test_a_picture_has_its_figures_as_a_table(name):
    picture = PICTURES[name]()
    assert picture.rows
    assert all(len(row) == len(picture.heads) for row in picture.rows)


def test_what_people_wrote_is_escaped():
    assert "Ferry &lt;Bank&gt;" in PICTURES["timeline"]().narrow
    assert "<script>" not in ink.svg(1, 1, [ink.text(0, 0, "<script>")], title="<script>")


def test_a_colour_is_a_class_with_the_day_colour_behind_it():
    assert ink.dot(1, 2, "pine") == '<circle cx="1" cy="2" r="4" fill="#2e5e4e" class="f-pine"></circle>'


def test_an_ornament_is_hidden_from_readers():
    assert 'aria-hidden="true"' in marks.state_mark("soon")
    with pytest.raises(KeyError):
        marks.state_mark("pretty")


class TestLimitBar:
    def dots(self, bar):
        return [float(one.get("cx")) for one in ElementTree.fromstring(bar).iter(f"{SVG}circle")]

    def test_the_band_stands_in_the_same_place_whatever_the_unit(self):
        for low, high in ((40, 72), (0.3564, 0.3636), (-0.5, 1.0)):
            middle = (low + high) / 2
            assert self.dots(marks.limit_bar(middle, low, high)) == [80]

    def test_a_figure_outside_is_a_triangle_ochre_then_rust(self):
        near = marks.limit_bar(16.5, 18, 27, 15, 30)
        far = marks.limit_bar(14, 18, 27, 15, 30)
        assert not self.dots(near)
        assert "f-ochre" in near
        assert "f-rust" not in near
        assert "f-rust" in far
        assert "outside the limit" in far

    def test_a_range_shows_both_its_ends(self):
        bar = marks.limit_bar(16.5, 18, 27, 15, 30, to=21)
        assert len(self.dots(bar)) == 1
        assert "outside the limit" in bar

    def test_a_figure_far_beyond_stays_on_the_bar(self):
        assert "M153" in marks.limit_bar(1000, None, 15)

    def test_without_limits_there_is_no_bar(self):
        assert marks.limit_bar(3) == ""


def test_the_pointer_of_a_figure_to_reach():
    assert marks.reach_x(1950, 1950, 10, 39) == 164
    assert marks.reach_x(1940, 1950, 10, 39) == 134
    assert marks.reach_x(1989, 1950, 10, 39) == 282
    assert marks.reach_x(99_999, 1950, 10, 39) == 321
    assert marks.reach_x(None, 1950, 10, 39) is None


def test_share_cells_are_filled_outlined_and_dotted():
    cells = division.share_cells(asked=12, given=7, drawn={7})
    assert cells.count('class="f-pine"') == 7
    assert cells.count("s-soft") == 5
    assert cells.count("<circle") == 1
    assert "7 of 12 hive doses" in cells
    assert division.share_cells(0, 0) == ""


def test_a_strip_outside_the_accepted_band_is_a_triangle():
    picture = strips.strip_sample([14.2, 10.0], target_g=14.2)
    assert picture.narrow.count("<circle") == 1
    assert "1 of 2 inside" in picture.lead


def test_a_spark_shows_where_it_runs_out():
    assert "f-rust" in outlook.balance_spark(STEPS, days(60))
    assert "f-rust" not in outlook.balance_spark(STEPS[:2], days(60))


def test_scales_and_ticks_are_round():
    assert [nice_step(rough) for rough in (0.03, 1, 1.9, 2.3, 7)] == [0.05, 1, 2, 5, 10]
    assert Scale(11, 17.5, 0, 100).ticks(6) == [12, 14, 16]
    assert Scale(5, 5, 0, 100)(5) == 0
    times = clock_ticks(NOON, NOON + dt.timedelta(minutes=60), 4)
    assert [(time - NOON).seconds // 60 for time in times] == [0, 30, 60]
    assert month_ticks(dt.date(2025, 11, 20), dt.date(2026, 2, 3), 9) == [
        dt.date(2025, 12, 1),
        dt.date(2026, 1, 1),
        dt.date(2026, 2, 1),
    ]
