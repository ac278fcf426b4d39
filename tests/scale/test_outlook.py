"""The outlook of fifty materials with five hundred planned draws each costs little more than reading the plans."""

import datetime as dt
import statistics
import time
from collections.abc import Callable
from typing import Any

import pytest

from batches.models import Bench
from inventory import outlook
from inventory.models import Item
from tests.makers import batches, inventory
from tests.makers.coop import deed

pytestmark = [pytest.mark.scale, pytest.mark.django_db]
MATERIALS, DRAWS, LINES, DAYS, RUNS = 50, 500, 2, 150, 5


def median(ask: Callable[[], Any]) -> float:
    times = []
    for _run in range(RUNS + 1):
        began = time.perf_counter()
        ask()
        times.append(time.perf_counter() - began)
    return statistics.median(times[1:])


def plan(items: list[Item]) -> None:
    """Benches of two lines each, so that every material is drawn from five hundred times in five months."""
    room, written = batches.room(), deed()
    first, rows = room.now.date(), []
    for number in range(MATERIALS * DRAWS // LINES):
        pair = [items[(LINES * number + line) % MATERIALS] for line in range(LINES)]
        lines = [{"item": item.pk, "role": "acid", "mass_mg": 1_000 + number % 7} for item in pair]
        figures = {"target_mg": 2_000, "strips": 0, "mixes": [{"target_mg": 2_000, "lines": lines}], "warnings": []}
        day = first + dt.timedelta(days=number % DAYS)
        rows.append(Bench(day=day, recipe=room.recipe, place=room.shed, plan=figures, deed=written))
    Bench.objects.bulk_create(rows, batch_size=1000)


def test_the_outlook_costs_at_most_five_times_what_reading_the_same_rows_does(engine: str) -> None:
    supplier, shed = inventory.supplier(), inventory.shed()
    made = [inventory.acid(low_level=1_000, pack_size=25_000, supplier=supplier) for _number in range(MATERIALS)]
    plan([inventory.lot(one, shed, quantity=400_000) for one in made])
    today = Bench.objects.order_by("day").values_list("day", flat=True)[0]
    until = today + dt.timedelta(days=DAYS)
    found = outlook.for_materials(today, made, until=until)
    assert [len(one.demands) for one in found] == [DRAWS] * MATERIALS
    assert all(one.projection.breached_on for one in found)
    fields = ("pk", "day", "state", "plan", "recipe__name", "blanks__material_id")
    bare = median(lambda: list(Bench.objects.open().filter(day__lte=until).values_list(*fields)))
    whole = median(lambda: outlook.for_materials(today, made, until=until))
    print(
        f"\n{engine}: outlook of {MATERIALS} materials with {DRAWS} draws each: {whole * 1000:.0f} ms, "
        f"the bare rows {bare * 1000:.0f} ms, ratio {whole / bare:.2f}",
        end="",
    )
    assert whole / bare <= 5
