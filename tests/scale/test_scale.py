"""A ledger of a million movements is as quick to read as one of a thousand.

Asserted are ratios of medians measured in this run, one beside the other; the figures are printed with engine and size.
"""

import io
import re
import statistics
import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.core.management import call_command
from django.test import Client

from inventory import book
from tests.makers.coop import sign_in
from tests.makers.scale import Years

pytestmark = [pytest.mark.scale, pytest.mark.django_db]
SMALL, LARGE = 1_000, 1_000_000
LEDGER, PAGE = "/shelf/ledger", 1_000
RUNS = 15


class Measured:
    """The years with what was measured while they were small."""

    def __init__(self, engine: str) -> None:
        self.engine, self.years = engine, Years()
        self.client: Client = sign_in(Client(), self.years.people[0])
        self.small: dict[str, float] = {}

    def against_plain(self, url: str) -> tuple[float, float]:
        """The median of a page, and how many times that of a page that reads nothing of the ledger, turn about.

        The small and the large book are read minutes apart, on a machine that may be busier at one time than at the
        other: the plain page tells by how much.
        """
        times: dict[str, list[float]] = {url: [], PLAIN: []}
        for _run in range(RUNS + 1):
            for one, found in times.items():
                found.append(timed(lambda one=one: self.client.get(one)))
        page, plain = (statistics.median(found[1:]) for found in times.values())
        return page, page / plain

    def grow(self, movements: int, in_use: int) -> None:
        began = time.monotonic()
        self.years.grow(movements, in_use=in_use)
        self.say(f"filled to {movements} movements, {len(self.years.lots)} lots", time.monotonic() - began)

    def say(self, what: str, seconds: float, ratio: float | None = None) -> None:
        end = f", ratio {ratio:.2f}" if ratio is not None else ""
        print(f"\n{self.engine}, {self.years.movements} movements: {what}: {seconds * 1000:.1f} ms{end}", end="")


def timed(ask: Callable[[], Any]) -> float:
    began = time.perf_counter()
    answer = ask()
    seconds = time.perf_counter() - began
    assert answer.status_code == 200
    return seconds


#: the incident book, empty at either size: it reads nothing that grows
PLAIN = "/shelf/incidents"
SHELF = ("/shelf", "/api/v1/stock")


@pytest.fixture(scope="module")
def measured(django_db_setup: None, django_db_blocker: Any, engine: str) -> Iterator[Measured]:
    with django_db_blocker.unblock():
        try:
            found = Measured(engine)
            found.grow(SMALL, 20)
            for url in SHELF:
                seconds, found.small[url] = found.against_plain(url)
                found.say(f"{url} ({found.small[url]:.2f} of the plain page)", seconds)
            found.grow(LARGE, 20)
            yield found
        finally:
            call_command("flush", interactive=False, verbosity=0)


@pytest.mark.parametrize("url", SHELF)
def test_the_shelf_is_as_quick_as_with_a_thousand_movements(measured: Measured, url: str) -> None:
    """Both hold some dozen lots: a shelf holds what it holds, and the book behind it grows."""
    now, against_plain = measured.against_plain(url)
    ratio = against_plain / measured.small[url]
    measured.say(f"{url} ({against_plain:.2f} of the plain page), against {SMALL} movements", now, ratio)
    assert ratio <= 1.5


def deep(asked: book.Asked) -> str:
    """What the address of a page far back says, as one comes to it page by page."""
    last = book.rows_of(asked).values_list("pk", flat=True)[(PAGE - 1) * book.PER_PAGE - 1]
    what = book.counted(asked)
    if what is None:
        return f"before={last}"
    left = what.now() - sum(change for _pk, change in what.changes().filter(pk__gte=last))
    return f"before={last}&balance={what.sign(last, left)}"


@pytest.mark.parametrize("name", ["all", "material", "place"])
def test_the_thousandth_page_of_the_ledger_is_as_quick_as_the_first(measured: Measured, name: str) -> None:
    material, place = measured.years.materials[3], measured.years.sheds[1]
    asked, query = {
        "all": (book.Asked(), "?"),
        "material": (book.Asked(material=material), f"?material={material.pk}&"),
        "place": (book.Asked(place=place), f"?place={place.pk}&"),
    }[name]
    addresses = [f"{LEDGER}{query}", f"{LEDGER}{query}{deep(asked)}"]
    turns = [[timed(lambda one=one: measured.client.get(one)) for one in addresses] for _run in range(RUNS + 1)]
    first, last = (statistics.median(times[1:]) for times in zip(*turns, strict=True))
    measured.say(f"ledger, {name}, page 1", first)
    measured.say(f"ledger, {name}, page {PAGE}", last, last / first)
    assert last / first <= 1.5


def test_the_books_prove_and_say_time_and_memory(measured: Measured) -> None:
    out = io.StringIO()
    call_command("prove", stdout=out)
    last = out.getvalue().splitlines()[-1]
    print(f"\n{measured.engine}: prove: {last}", end="")
    assert re.match(rf"Went through {LARGE} movements in ", last)
