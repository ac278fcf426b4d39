"""Figures, dates and spans as people read them."""

import datetime as dt
from fractions import Fraction
from zoneinfo import ZoneInfo

import pytest
from django.utils import timezone

from coop import wording

N = "\u202f"
TODAY = dt.date(2026, 6, 10)


@pytest.fixture(autouse=True)
def in_paris():
    with timezone.override(ZoneInfo("Europe/Paris")):
        yield


@pytest.mark.parametrize(
    ("mg", "places", "words"),
    [
        (1_944_000, None, f"1{N}944{N}g"),
        (5_050, None, f"5.05{N}g"),
        (5_050, 1, f"5.1{N}g"),
        (12, None, f"0.012{N}g"),
        (0, None, f"0{N}g"),
        (-650_000, None, f"\u2212650{N}g"),
        (1_000_000_000, 1, f"1{N}000{N}000.0{N}g"),
        (None, None, "\u2013"),
    ],
)
def test_a_mass_is_grouped_grams_with_a_narrow_space(mg, places, words):
    assert wording.mass_g(mg, places) == words


def test_a_scale_is_shown_no_finer_than_it_weighs():
    assert [wording.places_of(division) for division in (1_000, 5_000, 100, 50, 10, 1)] == [0, 0, 1, 2, 2, 3]


def test_signs_are_true_signs_and_halves_round_up():
    assert wording.figure(0.125, 2) == "0.13"
    assert wording.figure(-1.4, 1) == "\u22121.4"
    assert wording.figure(0.67, sign=True) == "+0.67"
    assert wording.percent(-14, 1000, sign=True) == f"\u22121.4{N}%"


def test_temperature_fraction_money_and_cost():
    assert wording.temp(50_300, 1) == f"50.3{N}°C"
    assert wording.fraction(360_100_000) == "0.3601"
    assert wording.money(1_250, "EUR") == f"12.50{N}EUR"
    assert wording.cost(123_456_789, "EUR") == f"1.23{N}EUR"
    assert wording.cost(Fraction(1_131_489_50, 1), "EUR", places=4) == f"1.1315{N}EUR"
    assert wording.cost(Fraction(10**8, 3), "EUR", places=4) == f"0.3333{N}EUR"
    assert wording.money(28, "EUR", places=4) == f"0.2800{N}EUR"


def test_pieces_agree_with_their_noun():
    assert wording.counted(1, "hive") == "1 hive"
    assert wording.counted(102) == "102 strips"
    assert wording.counted(7, "apiary") == "7 apiaries"
    with pytest.raises(KeyError):
        wording.counted(2, "sprocket")


def test_a_day_bears_its_year_only_when_it_is_not_this_one():
    assert wording.day(dt.date(2026, 6, 6), TODAY) == "Sat 6 Jun"
    assert wording.day(dt.date(2025, 10, 7), TODAY) == "Tue 7 Oct 2025"
    assert wording.long_day(dt.date(2026, 3, 23)) == "Mon 23 March"


def test_a_moment_is_told_in_the_active_zone():
    now = dt.datetime(2026, 6, 10, 20, 0, tzinfo=dt.UTC)
    assert wording.moment(dt.datetime(2026, 6, 10, 7, 12, tzinfo=dt.UTC), now) == "today 09:12"
    assert wording.moment(dt.datetime(2026, 6, 9, 22, 30, tzinfo=dt.UTC), now) == "today 00:30"
    assert wording.moment(dt.datetime(2026, 6, 9, 21, 30, tzinfo=dt.UTC), now) == "Tue 9 Jun 23:30"


@pytest.mark.parametrize(
    ("length", "words"),
    [
        (40, f"40{N}s"),
        (24 * 60, f"24{N}min"),
        (47 * 3600 + 50 * 60, f"47{N}h 50{N}min"),
        (5 * 3600, f"5{N}h"),
        (dt.timedelta(days=2, hours=4), f"2 days 4{N}h"),
        (dt.timedelta(days=15, hours=4), "15 days"),
        (dt.timedelta(minutes=-5), f"\u22125{N}min"),
        (None, "\u2013"),
    ],
)
def test_a_span_is_as_fine_as_it_is_long(length, words):
    assert wording.span(length) == words


def test_how_far_a_day_is():
    days = [-6, -1, 0, 1, 5]
    assert [wording.away(TODAY + dt.timedelta(days=days_off), TODAY) for days_off in days] == [
        "6 days ago",
        "yesterday",
        "today",
        "tomorrow",
        "in 5 days",
    ]


def test_lists_and_small_numbers_read_as_words():
    assert wording.listed(["a"]) == "a"
    assert wording.listed(["a", "b", "c"]) == "a, b and c"
    assert wording.spelled(5) == "Five"
    assert wording.spelled(30) == "30"
    assert wording.code("KXJV3Y4X") == "KXJV\u00a03Y4X"


def test_pieces_that_are_no_strips_are_not_called_strips() -> None:
    assert wording.amount(None, 94) == "94 strips"
    assert wording.amount(None, 94, "piece") == "94 pieces"
    assert wording.amount(None, 1, "piece") == "1 piece"
