"""Makers of stock files: a CSV of lots, one that was handed in and judged, one that was written."""

from inventory.commands.importing import hand_in, write_file
from inventory.files import work
from inventory.models import StockFile, StockRow
from tests.makers.coop import club, do

HEADS = "material,kind,supplier,shed,amount"


def lots(*lines: str, heads: str = HEADS) -> bytes:
    return "\n".join([heads, *lines]).encode()


def handed_in(content: bytes, name: str = "stock.csv") -> StockFile:
    """A file that was handed in and judged."""
    club()
    file: StockFile = do(hand_in, name=name, content=content)
    work.do(file)
    file.refresh_from_db()
    return file


def verdicts(file: StockFile) -> list[str]:
    return list(StockRow.objects.filter(file=file).order_by("pk").values_list("verdict", flat=True))


def sentences(file: StockFile) -> list[str]:
    return list(StockRow.objects.filter(file=file).order_by("pk").values_list("sentence", flat=True))


def written(content: bytes, name: str = "stock.csv") -> StockFile:
    """A file that was handed in, judged right and written."""
    file = handed_in(content, name)
    assert "wrong" not in verdicts(file), sentences(file)
    done: StockFile = do(write_file, file=file)
    return done
