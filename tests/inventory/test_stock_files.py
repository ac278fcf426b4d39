"""A file of opening stock: what each row would become, that all or nothing is written, and that it may come again."""

import datetime as dt
from typing import Any

import pytest
from django.utils import timezone

from coop.command import Refused, new_key
from coop.models import Code
from coop.proof import differences
from inventory import holds, ledger
from inventory.commands.importing import hand_in, judge_again, write_file
from inventory.commands.stock import draw
from inventory.files import work
from inventory.models import Amendment, Item, Lot, Material, Movement, Place, StockFile, StockRow, Supplier
from tests.makers import files, members
from tests.makers import inventory as make
from tests.makers.coop import coordinator, do

pytestmark = pytest.mark.django_db

PLAIN = files.lots('Glycerine,glycerine,Smith,Barn,"25,5 kg"')
FULL = "code,material,kind,supplier,their lot,best before,received on,received,price,shed,amount,checked,note"


def amounts() -> dict[tuple[str, str], int]:
    rows = Movement.objects.filter(cause="opening", reversed_by=None, reverses=None)
    return {(row.item.material.name, row.target.name): row.quantity for row in rows.select_related("item__material")}


def only_sentence(line: str, heads: str = files.HEADS) -> str:
    file = files.handed_in(files.lots(line, heads=heads))
    assert files.verdicts(file) == ["wrong"], files.sentences(file)
    return files.sentences(file)[0]


def test_one_list_of_lots_makes_material_supplier_shed_lot_and_balance():
    file = files.written(PLAIN)
    assert file.state == "written"
    lot = Lot.objects.get()
    assert (lot.supplier.name, lot.item.material.kind, lot.received_quantity) == ("Smith", "glycerine", 25_500_000)
    assert ledger.quantity_at(lot.item, Place.objects.get(kind="shed", name="Barn")) == 25_500_000
    movement = Movement.objects.get()
    assert (movement.cause, movement.source.kind, movement.deed.verb) == ("opening", "supplier", "inventory.write_file")
    assert list(differences()) == []
    assert StockRow.objects.get().item == lot.item


def test_nothing_is_in_the_book_before_it_is_written_and_nothing_while_one_row_is_wrong():
    lines = [f"Glycerine,glycerine,Smith,Barn {number},5" for number in range(3)]
    file = files.handed_in(files.lots(*lines, "Glycerine,,Smith,Barn 9,five"))
    assert files.verdicts(file) == ["new", "new", "new", "wrong"]
    with pytest.raises(Refused, match="not right") as refusal:
        do(write_file, file=file)
    assert refusal.value.code == "not_right"
    assert not any(model.objects.exists() for model in (Material, Supplier, Movement))
    assert not Place.objects.filter(kind="shed").exists()


def test_the_same_file_again_changes_nothing():
    files.written(PLAIN)
    again = files.handed_in(PLAIN)
    assert files.verdicts(again) == ["already"]
    before = Movement.objects.count(), Item.objects.count(), Supplier.objects.count()
    do(write_file, file=again)
    assert (Movement.objects.count(), Item.objects.count(), Supplier.objects.count()) == before


def test_the_same_file_again_after_some_was_used_still_changes_nothing():
    files.written(PLAIN)
    item = Item.objects.get()
    do(draw, item=item, place=Place.objects.get(name="Barn"), quantity=500)
    assert files.verdicts(files.handed_in(PLAIN)) == ["already"]


def test_a_corrected_amount_is_set_right_by_name():
    files.written(PLAIN)
    file = files.written(files.lots("Glycerine,,Smith,Barn,24 kg"))
    assert files.verdicts(file) == ["change"]
    assert "24 000 g instead of 25 500 g" in files.sentences(file)[0].replace("\u202f", " ")
    assert amounts() == {("Glycerine", "Barn"): 24_000_000}
    assert Movement.objects.filter(reverses__isnull=False).count() == 1
    assert Lot.objects.get().received_quantity == 24_000_000
    assert ledger.on_hand(Item.objects.get()) == 24_000_000
    assert list(differences()) == []


def test_a_lot_in_two_sheds_has_two_rows_and_one_code():
    files.written(files.lots("Glycerine,glycerine,Smith,Barn,5", "Glycerine,,Smith,Loft,7"))
    assert Lot.objects.get().received_quantity == 12_000
    assert amounts() == {("Glycerine", "Barn"): 5_000, ("Glycerine", "Loft"): 7_000}


def test_another_shed_in_a_file_that_comes_again_does_not_double_the_lot():
    files.written(PLAIN)
    sentence = only_sentence("Glycerine,,Smith,Loft,25.5 kg")
    assert "in another shed" in sentence
    moved = files.written(files.lots("Glycerine,,Smith,Barn,0", "Glycerine,,Smith,Loft,25.5 kg"))
    assert files.verdicts(moved) == ["change", "new"]
    assert ledger.on_hand(Item.objects.get()) == 25_500_000


def test_a_lot_that_came_in_at_the_door_is_not_opened_a_second_time():
    shed = make.shed(name="Barn")
    item = make.lot(make.glycerine(name="Glycerine"), shed, supplier=make.supplier(name="Smith"), quantity=5_000)
    assert files.verdicts(files.handed_in(files.lots("Glycerine,,Smith,Barn,5"))) == ["already"]
    assert "Count it there" in only_sentence("Glycerine,,Smith,Barn,6")
    assert "Count it there" in only_sentence("Glycerine,,Smith,Loft,6")
    assert ledger.on_hand(item) == 5_000


def test_received_and_price_give_the_cost_of_what_is_left():
    line = ",Glycerine,glycerine,Smith,L 7,2030-01-31,1.2.2026,25 kg,50,Barn,10 kg,,"
    files.written(files.lots(line, heads=FULL))
    lot = Lot.objects.get()
    assert (lot.received_quantity, lot.price_cents, lot.item.best_before) == (25_000_000, 5_000, dt.date(2030, 1, 31))
    assert timezone.localdate(lot.item.made_at) == dt.date(2026, 2, 1)
    assert ledger.on_hand(lot.item) == 10_000_000


def test_papers_that_changed_are_set_right_and_kept_beside_what_stood_there():
    files.written(files.lots(",Glycerine,glycerine,Smith,L 7,2030-01-31,,,50,Barn,10 kg,,", heads=FULL))
    file = files.written(files.lots(",Glycerine,,Smith,L 7,2031-01-31,,,60,Barn,10 kg,,", heads=FULL))
    assert files.verdicts(file) == ["change"]
    assert (Lot.objects.get().price_cents, Item.objects.get().best_before) == (6_000, dt.date(2031, 1, 31))
    assert Amendment.objects.get().before == {"best_before": "2030-01-31", "price_cents": 5_000}


def test_a_code_on_a_label_is_taken_along_and_knows_its_lot():
    files.written(files.lots("KXJV 3Y4X,Glycerine,glycerine,Smith,,,,,,Barn,10 kg,,", heads=FULL))
    assert Item.objects.get().code_id == "KXJV3Y4X"
    again = files.handed_in(files.lots("kxjv-3y4x,Barn,10 kg", heads="code,shed,amount"))
    assert files.verdicts(again) == ["already"], files.sentences(again)
    assert Code.objects.filter(text="KXJV3Y4X").count() == 1


def test_a_lot_on_hold_comes_in_on_hold():
    files.written(files.lots("Glycerine,glycerine,Smith,Barn,5,torn sack", heads=f"{files.HEADS},on hold"))
    assert holds.held_ids() == {Item.objects.get().pk}


def test_a_hold_that_a_file_asks_for_on_a_lot_of_the_book_is_not_passed_over_in_silence():
    heads = f"{files.HEADS},on hold"
    files.written(files.lots("Glycerine,glycerine,Smith,Barn,5,", heads=heads))
    again = "Glycerine,glycerine,Smith,Barn,5,torn sack"
    assert "not on hold" in only_sentence(again, heads)
    make.hold(Item.objects.get(), reason="torn sack")
    assert files.verdicts(files.handed_in(files.lots(again, heads=heads))) == ["already"]


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("Honey,,Smith,Barn,5", "is not among the materials"),
        (",glycerine,Smith,Barn,5", "Which material"),
        ("Glycerine,glycerine,,Barn,5", "Who is it from"),
        ("Glycerine,glycerine,Smith,Barn,", "How much"),
        ("Glycerine,glycerine,Smith,,5", "Where does it stand"),
        ("Glycerine,syrup,Smith,Barn,5", "is no kind"),
        ("Glycerine,glycerine,Smith,Barn,-5", "less than nothing"),
        ("Glycerine,glycerine,Smith,Barn,NaN", "not a number"),
        ("Glycerine,glycerine,Smith,Barn,1e99", "not a number that fits"),
        ("Glycerine,glycerine,Smith,Barn,999999999999 kg", "not a number that fits"),
        ("Glycerine,glycerine,Smith,Barn,1.000.5", "more than one decimal sign"),
        ("Glycerine,glycerine,Smith,Barn,5 litres", "not a number"),
        ("Glycerine,glycerine,Smith,Barn,5 pieces", "this is weighed"),
        ("Blanks,strip blanks,Smith,Barn,5 kg", "this is counted"),
        ("Blanks,strip blanks,Smith,Barn,5.5", "whole number"),
        ("Glycerine,glycerine,Smith,Barn,2000 t", "not a number"),
        ("Glycerine,glycerine,Smith,Barn,2000000 g", "more than usual"),
        (f"{'G' * 200},glycerine,Smith,Barn,5", "longer than 120"),
    ],
)
def test_what_is_wrong_is_said_in_a_sentence(line, words):
    assert words in only_sentence(line)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"code": "HELLO"}, "is not a code"),
        ({"code": "KXJV3Y47"}, "misread"),
        ({"best before": "3/4/2027"}, "can be two days"),
        ({"best before": "31.2.2027"}, "no such day"),
        ({"best before": "2020-01-01", "received on": "2021-01-01"}, "swapped"),
        ({"best before": "2207-01-01"}, "not likely"),
        ({"received on": "2999-01-01"}, "still to come"),
        ({"received": "1 kg"}, "More is there"),
        ({"price": "-3"}, "less than nothing"),
        ({"note": "n" * 350}, "longer than 300"),
    ],
)
def test_a_fact_of_a_lot_that_cannot_be_is_said(changes, words):
    cells = {"material": "Glycerine", "kind": "glycerine", "supplier": "Smith", "shed": "Barn", "amount": "5 kg"}
    line = ",".join({**cells, **changes}.get(word, "") for word in FULL.split(","))
    assert words in only_sentence(line, FULL)


def test_a_code_on_something_else_is_refused():
    other = make.lot(make.acid())
    make.glycerine(name="Glycerine")
    line = "{},Glycerine,,Smith,,,,,,Barn,5 kg,,"
    assert "another material" in only_sentence(line.format(other.code_id), FULL)
    bag = members.released_bags([30])[0]
    assert "is no lot" in only_sentence(line.format(bag.item.code_id), FULL)


def test_kilograms_for_grams_fall_out_of_the_range_until_checked():
    Material.objects.create(name="Glycerine", kind="glycerine", unit="mass", least_at_once=500_000, most_at_once=10**8)
    assert "less than usual" in only_sentence("Glycerine,,Smith,Barn,25")
    assert "more than usual" in only_sentence("Glycerine,,Smith,Barn,250000")
    heads = f"{files.HEADS},checked"
    assert files.verdicts(files.handed_in(files.lots("Glycerine,,Smith,Barn,25,yes", heads=heads))) == ["new"]


def test_the_same_row_twice_and_rows_that_contradict_each_other():
    line = "Glycerine,glycerine,Smith,Barn,5"
    twice = files.handed_in(files.lots(line, line))
    assert files.verdicts(twice) == ["new", "wrong"]
    assert "Row 2 has the same lot in the same shed" in files.sentences(twice)[1]
    heads = f"{files.HEADS},price,their lot"
    other = files.handed_in(files.lots(f"{line},5,L1", "Glycerine,,Smith,Loft,5,6,L1", heads=heads))
    assert "says otherwise about the same lot: price" in files.sentences(other)[1]


def test_a_closed_shed_is_said():
    make.shed(name="Barn")
    Place.objects.filter(name="Barn").update(is_closed=True)
    assert "is closed" in only_sentence("Glycerine,glycerine,Smith,Barn,5")


def test_rows_are_judged_again_when_the_book_has_changed_meanwhile():
    file = files.handed_in(PLAIN)
    make.shed(name="Barn")
    Place.objects.filter(name="Barn").update(is_closed=True)
    with pytest.raises(Refused) as refusal:
        do(write_file, file=file)
    assert refusal.value.code == "not_right"
    do(judge_again, file=file)
    work.do(file)
    assert files.verdicts(file) == ["wrong"]


def test_a_double_tap_and_a_second_person_write_once():
    file, key, person = files.handed_in(PLAIN), new_key(), coordinator()
    for _tap in range(2):
        write_file(actor=person, key=key, file=file)
    with pytest.raises(Refused) as refusal:
        do(write_file, file=file)
    assert refusal.value.code == "written"
    assert Movement.objects.count() == 1


def test_a_file_that_is_not_judged_is_not_written():
    file: StockFile = do(hand_in, name="stock.csv", content=PLAIN)
    with pytest.raises(Refused) as refusal:
        do(write_file, file=file)
    assert refusal.value.code == "not_read"


def test_lists_of_materials_suppliers_and_balances():
    kinds: dict[str, Any] = {
        "materials": b"material,kind,safety stock,usual supplier\nAcid,oxalic acid dihydrate,2 kg,Smith\n",
        "suppliers": b"supplier,days to deliver,takes orders on\nSmith,9,1-3\n",
    }
    for content in kinds.values():
        files.written(content)
    material, supplier = Material.objects.get(), Supplier.objects.get()
    assert (material.low_level, material.supplier, material.unit) == (2_000_000, supplier, "mass")
    assert (supplier.lead_days, supplier.order_weekdays) == (9, "123")
    changed = files.written(b"supplier,days to deliver\nsmith,12\n")
    assert files.verdicts(changed) == ["change"]
    assert Supplier.objects.get().lead_days == 12
    wrong = files.handed_in(b"material,kind\nAcid,glycerine\n")
    assert "another kind" in files.sentences(wrong)[0]
