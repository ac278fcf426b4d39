"""Verdicts that stand between a file and the book: each is said, and nothing is written while it stands."""

import pytest

from inventory.commands.stock import draw
from inventory.models import Item, Place
from tests.makers import files
from tests.makers import inventory as make
from tests.makers.coop import do

pytestmark = pytest.mark.django_db

LOTS = "code,material,kind,counted in,supplier,their lot,best before,form,assay,paper names dihydrate,shed,amount"
GOOD = {"material": "Glycerine", "kind": "glycerine", "supplier": "Smith", "shed": "Barn", "amount": "5 kg"}
ACID = {**GOOD, "material": "Acid", "kind": "oxalic acid dihydrate"}


def lines(*rows: dict[str, str]) -> bytes:
    return files.lots(*(",".join(row.get(word, "") for word in LOTS.split(",")) for row in rows), heads=LOTS)


def last(content: bytes) -> str:
    """The sentence of the last row, which is not right."""
    file = files.handed_in(content)
    assert files.verdicts(file)[-1] == "wrong", files.sentences(file)
    return files.sentences(file)[-1]


def test_a_lot_named_twice_without_an_amount():
    row = {**GOOD, "their lot": "L1", "shed": "", "amount": ""}
    assert "Row 2 is the same lot" in last(lines(row, row))


def test_another_shed_after_some_was_used_is_counted_instead():
    files.written(lines(GOOD))
    do(draw, item=Item.objects.get(), place=Place.objects.get(name="Barn"), quantity=500)
    assert "moved or used since" in last(lines({**GOOD, "shed": "Loft"}))


def test_a_code_beside_another_supplier():
    files.written(lines({**GOOD, "code": "KXJV3Y4X"}))
    assert "from another supplier" in last(lines({**GOOD, "code": "KXJV3Y4X", "supplier": "Jones"}))


def test_another_code_on_a_lot_that_the_book_has():
    files.written(lines({**GOOD, "their lot": "L1"}))
    assert "under another code" in last(lines({**GOOD, "their lot": "L1", "code": "KXJV3Y4X"}))


def test_names_that_fit_two_lots_of_the_book():
    shed, supplier, material = make.shed(name="Barn"), make.supplier(name="Smith"), make.glycerine(name="Glycerine")
    for _number in range(2):
        make.lot(material, shed, supplier=supplier, supplier_lot="L1", best_before=None)
    assert "More than one lot of the book" in last(lines({**GOOD, "kind": "", "their lot": "L1"}))


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ({**GOOD, "form": "dihydrate"}, "Only oxalic acid has a form"),
        ({**GOOD, "assay": "0.99"}, "Only oxalic acid has an assay"),
        ({**ACID, "form": "anhydrous", "paper names dihydrate": "yes"}, "which is right"),
        ({**GOOD, "counted in": "pieces"}, "weighed in grams"),
    ],
)
def test_facts_that_do_not_go_together(row, words):
    assert words in last(lines(row))


def test_a_material_of_the_book_in_another_unit():
    files.written(b"material,kind,counted in,safety stock\nLids,other,pieces,\n")
    assert "another unit" in last(b"material,kind,counted in,safety stock\nLids,other,grams,\n")
    other = {**GOOD, "material": "Lids", "kind": "other", "counted in": "grams"}
    assert "counted in another unit" in last(lines(other))


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"material,kind,safety stock\n,glycerine,\n", "Write the material"),
        (b"supplier,phone\n,112\n", "Write the supplier"),
        (b"material,kind,safety stock\nGlycerine,,5\n", "its kind is needed"),
        (b"material,kind,least at once,most at once\nA,glycerine,5 kg,4 kg\n", "less than the least"),
        (b"supplier\nSmith\nsmith\n", "same name"),
        (b"code,shed,amount\nKXJV3Y4X,Barn,5\n", "no such lot"),
    ],
)
def test_lists_that_say_too_little_or_too_much(content, words):
    assert words in last(content)
