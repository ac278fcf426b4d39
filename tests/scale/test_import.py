"""A file of 5 000 rows: handed in, judged with the bar moving, written, and handed in again. Times are printed."""

import time
from typing import Any

import pytest

from coop.proof import differences
from inventory.commands.importing import hand_in, write_file
from inventory.files import work
from inventory.models import Item, Movement, StockFile
from tests.makers import files
from tests.makers.coop import club, do

pytestmark = [pytest.mark.scale, pytest.mark.django_db(transaction=True)]
ROWS = 5_000


def test_five_thousand_rows_with_a_bar_that_moves(monkeypatch: Any, capsys: Any) -> None:
    club()
    heads = f"{files.HEADS},their lot,best before"
    lines = [
        f"Material {n % 40},glycerine,Supplier {n % 25},Shed {n % 6},{n},L {n},2030-01-31" for n in range(1, ROWS + 1)
    ]
    file: StockFile = do(hand_in, name="stock.csv", content=files.lots(*lines, heads=heads))
    seen: list[int] = []
    real = work._mine

    def watched(one: StockFile, claim: Any) -> Any:
        seen.append(StockFile.objects.values_list("judged", flat=True).get(pk=one.pk))
        return real(one, claim)

    monkeypatch.setattr(work, "_mine", watched)
    times = {}
    began = time.perf_counter()
    work.do(file)
    times["judged"] = time.perf_counter() - began
    assert len(set(seen)) >= ROWS // work.PIECE
    assert set(files.verdicts(file)) == {"new"}
    began = time.perf_counter()
    do(write_file, file=file)
    times["written"] = time.perf_counter() - began
    assert Item.objects.count() == Movement.objects.count() == ROWS
    again: StockFile = do(hand_in, name="stock.csv", content=files.lots(*lines, heads=heads))
    began = time.perf_counter()
    work.do(again)
    times["judged again"] = time.perf_counter() - began
    assert set(files.verdicts(again)) == {"already"}
    assert list(differences()) == []
    with capsys.disabled():
        print("\n" + ", ".join(f"{what} in {took:.1f} s" for what, took in times.items()))
    assert max(times.values()) < 60
