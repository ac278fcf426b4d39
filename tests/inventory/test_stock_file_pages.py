"""The pages of files in and out, and the same over the API; who they open to."""

import base64
import csv
import io
import zipfile

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from coop.command import new_key
from inventory.files import everything, reading
from inventory.models import Item, Movement, StockFile
from tests.makers import files
from tests.makers import inventory as make
from tests.makers.api import Api
from tests.makers.coop import club, coordinator, member, sign_in, volunteer

pytestmark = pytest.mark.django_db

GOOD = files.lots("Glycerine,glycerine,Smith,Barn,5", "Blanks,strip blanks,Smith,Barn,100")


@pytest.fixture
def keeper() -> Client:
    club()
    client: Client = sign_in(Client(), coordinator("Ida Holm"))
    return client


def hand_in(client: Client, content: bytes, name: str = "stock.csv") -> str:
    upload = SimpleUploadedFile(name, content)
    answer = client.post(reverse("inventory:files"), {"key": new_key(), "file": upload}, follow=True)
    return answer.content.decode().replace("\u202f", " ")


def test_from_the_spreadsheet_to_the_book(keeper):
    text = hand_in(keeper, GOOD)
    assert "All 2 rows are right" in text
    assert "Write 2 rows into the book" in text
    file = StockFile.objects.get()
    done = keeper.post(reverse("inventory:stock_file_write", args=[file.pk]), {"key": new_key()}, follow=True)
    assert "2 rows stand in the book" in done.content.decode()
    assert "Ida Holm" in done.content.decode()
    assert Item.objects.count() == 2
    rows = keeper.get(reverse("inventory:stock_file", args=[file.pk]), {"as": "csv"}).content.decode()
    assert rows.count(",added,") == 2
    assert "will be added" not in rows
    assert "All of it is in the book already" in hand_in(keeper, GOOD)


def test_wrong_rows_stand_first_and_there_is_no_button(keeper):
    text = hand_in(keeper, GOOD + b"\nGlycerine,,Smith,Loft,lots")
    assert "1 of 3 rows are not right" in text
    assert "into the book</button>" not in text
    assert text.index("is not a number") < text.index("A new lot.")
    pk = StockFile.objects.get().pk
    found = keeper.get(reverse("inventory:stock_file", args=[pk]), {"as": "csv", "verdict": "wrong"}).content.decode()
    assert found.count("not right") == 1
    assert "amount: lots" in found


@pytest.mark.parametrize(
    ("content", "words"),
    [(b"%PDF-1.7", "This is no table"), (b"PK\x03\x04", "damaged"), (b"hello\n", "No list of stock was found")],
)
def test_a_file_that_cannot_be_read_is_said_and_kept(keeper, content, words):
    text = hand_in(keeper, content, "list.xlsx")
    assert "“list.xlsx” cannot be read" in text
    assert words in text


def test_a_file_too_large_and_an_empty_one_are_refused_at_the_door(keeper):
    assert "larger than 5 MB" in hand_in(keeper, b"x" * (reading.MOST_BYTES + 5))
    assert "The file is empty" in hand_in(keeper, b"")
    assert not StockFile.objects.exists()


def test_hostile_text_is_shown_as_text(keeper):
    text = hand_in(keeper, files.lots("<script>x</script>,,Smith,Barn,5"))
    assert "<script>x" not in text
    assert "&lt;script&gt;x" in text


def test_empty_files_are_read_as_lists_without_rows(keeper):
    for kind in ("xlsx", "ods", "csv", "lots"):
        answer = keeper.get(reverse("inventory:empty_file", args=[kind]))
        assert answer.status_code == 200
        assert "No list of stock was found" in hand_in(keeper, answer.content)
    assert keeper.get(reverse("inventory:empty_file", args=["pdf"])).status_code == 404


def test_everything_is_one_file_of_each_kind(keeper):
    make.lot(make.glycerine(name="=Glycerine"), make.shed(name="@Barn"))
    for kind in ("xlsx", "ods", "csv"):
        answer = keeper.get(reverse("inventory:everything", args=[kind]))
        rows = reading.read(answer.content).rows
        assert {row.sheet for row in rows} == {"suppliers", "materials", "lots", "balances"}
        assert {row.cells["material"] for row in rows if row.sheet != "suppliers"} == {"=Glycerine"}
    with zipfile.ZipFile(io.BytesIO(answer.content)) as package:
        assert "'=Glycerine" in package.read("lots.csv").decode()
        assert "received" in package.read("ledger.csv").decode()


def test_a_ledger_that_is_cut_says_so_in_the_file_and_on_the_page(keeper, monkeypatch):
    shed = make.shed()
    lots = [make.lot(make.glycerine(), shed) for _number in range(3)]
    movements = list(Movement.objects.order_by("pk").values_list("pk", flat=True))
    assert len(movements) == len(lots)
    for most, is_cut in ((3, False), (2, True)):
        monkeypatch.setattr(everything, "MOST_MOVEMENTS", most)
        page = keeper.get(reverse("inventory:files")).content.decode()
        content = keeper.get(reverse("inventory:everything", args=["csv"])).content
        with zipfile.ZipFile(io.BytesIO(content)) as package:
            lines = list(csv.reader(io.StringIO(package.read("ledger.csv").decode("utf-8-sig"))))
        says = f"Only the newest {most} movements are in this list"
        assert (says in page) is is_cut
        assert (says in lines[1][2]) is is_cut
        assert [int(line[0]) for line in lines[1:]] == movements, "the first line names the newest that is left out"
        assert {row.sheet for row in reading.read(content).rows} == {"suppliers", "materials", "lots", "balances"}


def test_files_open_to_coordinators_only():
    file = files.handed_in(GOOD)
    for person in (volunteer(), member()):
        client, program = sign_in(Client(), person), Api(person)
        for name, *args in (("files",), ("stock_file", file.pk), ("empty_file", "csv"), ("everything", "csv")):
            assert client.get(reverse(f"inventory:{name}", args=args)).status_code in (403, 404)
        for name in ("stock_file_write", "stock_file_judge", "stock_file_again"):
            assert client.post(reverse(f"inventory:{name}", args=[file.pk])).status_code in (403, 404)
        assert program.send("files/hand-in", name="x", content="").status_code in (403, 404)
        assert program.send(f"files/{file.pk}/write").status_code in (403, 404)
    assert not Item.objects.exists()


def test_the_api_hands_in_looks_through_and_writes():
    club()
    program = Api(coordinator())
    bad = program.post("files/hand-in", name="a.csv", content=base64.b64encode(GOOD + b"\nX,,S,B,1").decode())
    assert (bad["state"], bad["total"], bad["wrong"]) == ("read", 3, 1)
    rows = program.get(f"files/{bad['id']}/rows", verdict="wrong")["results"]
    assert [(row["number"], row["cells"]["material"]) for row in rows] == [(4, "X")]
    program.refused(f"files/{bad['id']}/write", "not_right")
    good = program.post("files/hand-in", name="a.csv", content=base64.b64encode(GOOD).decode())
    assert program.post(f"files/{good['id']}/judge-again")["state"] == "waiting"
    program.refused(f"files/{good['id']}/write", "not_read")
    StockFile.objects.filter(pk=good["id"]).update(state="read")
    assert program.post(f"files/{good['id']}/write")["state"] == "written"
    program.refused(f"files/{good['id']}/write", "written")
    assert program.send("files/hand-in", name="a", content="no base 64!").status_code == 400
    large = base64.b64encode(b"x" * reading.MOST_BYTES).decode()
    assert program.post("files/hand-in", name="b", content=large)["state"] in ("waiting", "bad")
