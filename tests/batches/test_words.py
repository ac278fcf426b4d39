"""What other rooms ask about things of the bench: words, pages, clearance; and science's sentences in words."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from batches.commands.splitting import split_bag, split_off
from batches.notices import today
from batches.sayings import figure, say
from batches.science.words import Figure, sentence
from coop import registry
from coop.command import Refused
from coop.commands.people import leave
from inventory.models import Item
from tests.makers import batches as make

KINDS = ("mix", "soak", "bag", "sample", "returned")


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (Figure(1_807_000, "mg"), "1 807 g"),
        (Figure(5_649.3, "mg"), "5.65 g"),
        (Figure(1_807_228.9, "mg"), "1 807.2 g"),
        (Figure(53_800, "mc"), "53.8 °C"),
        (Figure(374_952_500, "ppb"), "0.3750"),
        (Figure(0.431, "percent"), "0.43 %"),
        (Figure(47.5, "h"), "47 h 30 min"),
        (Figure(12, "mm"), "12 mm"),
        (Figure(3, "d"), "3 days"),
        (Figure(2, "times"), "2"),
        (Figure(9.24, ""), "9.2"),
    ],
)
def test_a_figure_is_written_in_its_unit(found, words):
    assert figure(found).replace("\u202f", " ") == words


def test_a_sentence_is_filled_with_its_figures():
    said = say(sentence("On hold: %(names)s, %(n)s.", names="KXJV", n=Figure(2, "pieces")))
    assert said == "On hold: KXJV, 2."


@pytest.mark.django_db
def test_everything_of_the_bench_has_a_page_and_words_in_few_queries():
    room = make.room()
    soak = make.released(room)
    room.do(split_bag, bag=make.bags(soak)[0], strips=5)
    for kind in KINDS:
        items = list(Item.objects.filter(kind=kind))
        with CaptureQueriesContext(connection) as caught:
            words = registry.item_words[kind](items)
        assert set(words) == {item.pk for item in items}
        assert len(caught) <= 2
        assert items[0].code_id in registry.item_pages[kind](items[0])
    assert "released" in words_of(soak.item)


def words_of(item):
    return registry.item_words[item.kind]([item])[item.pk]


@pytest.mark.django_db
def test_only_a_released_bag_in_date_is_cleared():
    room = make.room()
    soak = make.closed(room)
    first, second = make.bags(soak)
    clear = registry.clearances["batches"]
    assert not clear(first.item, make.START.date())
    soak = make.released(room)
    first, second = make.bags(soak)
    assert clear(first.item, make.START.date())
    assert not clear(first.item, make.START.date().replace(year=2028))
    assert not clear(soak.item, make.START.date())
    room.do(split_off, bag=second, reason="wet")
    assert not clear(second.item, make.START.date())


@pytest.mark.django_db
def test_whoever_records_an_open_bench_does_not_leave_yet():
    room = make.room()
    bench = make.started(room)
    with pytest.raises(Refused):
        room.do(leave, by=None, person=room.leader)
    assert registry.belongings["batches"](room.leader)["Benches"][0]["day"] == bench.day.isoformat()


@pytest.mark.django_db
def test_today_takes_the_same_queries_for_three_as_for_one():
    room = make.room()

    def queries():
        with CaptureQueriesContext(connection) as caught:
            rows = list(today(room.releaser, room.now)) + list(today(room.mate, room.now))
        return len(caught), len(rows)

    def more():
        make.closed(room)
        make.poured(room, make.started(room))

    more()
    for_one, rows = queries()
    more()
    for_two, more_rows = queries()
    assert more_rows > rows
    assert for_two == for_one
