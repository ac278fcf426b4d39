"""How files are worked through: claimed, in pieces, taken up again; the page shows how far; one of two writes."""

import datetime as dt
import threading
from typing import Any

import pytest
from django.db import connection, connections
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coop.command import Refused, new_key
from coop.models import Pulse
from coop.proof import differences
from inventory.commands.importing import hand_in, judge_again, write_file
from inventory.files import work
from inventory.files.judging import Judge
from inventory.models import Item, Movement, StockFile, StockRow
from inventory.tasks import judge_files
from tests.makers import files
from tests.makers.coop import club, coordinator, do, sign_in
from tests.makers.failing import survives

pytestmark = pytest.mark.django_db(transaction=True)

MANY = files.lots("Glycerine,glycerine,Smith,Barn 1,1", *(f"Glycerine,,Smith {n},Barn,{n}" for n in range(2, 701)))


def waiting(content: bytes = MANY) -> StockFile:
    club()
    file: StockFile = do(hand_in, name="stock.csv", content=content)
    return file


def test_the_bell_without_payload_judges_what_waits():
    file, other = waiting(), waiting(files.lots("Glycerine,glycerine,Smith,Barn,1"))
    judge_files()
    for one in (file, other):
        one.refresh_from_db()
        assert (one.state, one.judged) == ("read", one.total)
    judge_files()
    assert StockRow.objects.filter(file=file).count() == 700


def test_a_worker_that_dies_midway_is_followed_by_another_that_goes_on(monkeypatch):
    file = waiting()
    real = Judge.verdicts

    def dies(self: Judge) -> Any:
        for number, judged in enumerate(real(self)):
            if number == 400:
                StockFile.objects.filter(pk=file.pk).update(claimed_at=timezone.now() - dt.timedelta(seconds=5))
                raise KeyboardInterrupt
            yield judged

    monkeypatch.setattr(Judge, "verdicts", dies)
    with pytest.raises(KeyboardInterrupt):
        work.do(file)
    file.refresh_from_db()
    assert (file.state, file.judged) == ("reading", 250)
    monkeypatch.undo()
    assert work.do_waiting() == 0, "the claim is fresh"
    StockFile.objects.filter(pk=file.pk).update(claimed_at=timezone.now() - work.LEASE - dt.timedelta(seconds=1))
    assert work.do_waiting() == 1
    file.refresh_from_db()
    assert (file.state, file.judged) == ("read", 700)
    assert "waits" not in files.verdicts(file)


def test_of_two_workers_one_has_the_file():
    file = waiting()
    assert work._claim(file) is not None
    assert work._claim(file) is None
    assert work.do(file) is False


def test_a_worker_whose_file_was_taken_over_writes_no_more():
    file = waiting()
    claim = work._claim(file)
    assert claim is not None
    StockFile.objects.filter(pk=file.pk).update(claimed_at=timezone.now() + dt.timedelta(seconds=9))
    assert work._read(file, claim) is False
    assert not StockRow.objects.filter(file=file).exists()


def test_two_people_who_write_at_once_write_once():
    file = files.handed_in(files.lots("Glycerine,glycerine,Smith,Barn,5"))
    people, said = [coordinator(), coordinator()], []
    gate = threading.Barrier(2)

    def press(person: Any) -> None:
        gate.wait()
        try:
            write_file(actor=person, key=new_key(), file=file)
            said.append("done")
        except Refused as refusal:
            said.append(refusal.code)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=press, args=(person,)) for person in people]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(said) == ["done", "written"]
    assert Movement.objects.count() == 1
    assert Item.objects.count() == 1
    assert list(differences()) == []


def test_every_command_of_files_leaves_nothing_half_done():
    club()
    survives(hand_in, name="stock.csv", content=files.lots("Glycerine,glycerine,Smith,Barn,5"))
    file = StockFile.objects.get()
    work.do(file)
    survives(judge_again, file=file)
    work.do(file)
    survives(write_file, file=file)
    changed = files.lots(
        "Glycerine,,Smith,Barn,6,9,torn", "Acid,oxalic acid,Jones,Loft,7,1,", heads=f"{files.HEADS},price,note"
    )
    again = files.handed_in(changed)
    assert files.verdicts(again) == ["change", "new"], files.sentences(again)
    survives(write_file, file=again)
    assert Movement.objects.filter(cause="opening").count() == 3


def page(client: Client, file: StockFile) -> str:
    return client.get(reverse("inventory:stock_file", args=[file.pk])).content.decode().replace("\u202f", " ")


def test_the_page_says_how_far_it_is_and_that_nobody_works_at_it(sign):
    file = waiting()
    StockFile.objects.filter(pk=file.pk).update(state="reading", total=700, judged=250, claimed_at=timezone.now())
    Pulse.objects.update_or_create(name="sender", defaults={"finished_at": timezone.now()})
    text = page(sign, file)
    assert "250 of 700 rows are judged" in text
    assert 'http-equiv="refresh"' in text
    assert '<progress id="far" max="700" value="250">' in text
    Pulse.objects.update(finished_at=timezone.now() - dt.timedelta(hours=1))
    StockFile.objects.update(state="waiting", total=0, judged=0, claimed_at=None)
    text = page(sign, file)
    assert "Nothing runs in the background" in text
    assert 'http-equiv="refresh"' not in text
    sign.post(reverse("inventory:stock_file_judge", args=[file.pk]), {"key": new_key()})
    assert "All 700 rows are right" in page(sign, file)


@pytest.fixture
def sign() -> Client:
    club()
    client: Client = sign_in(Client(), coordinator("Ida Holm"))
    return client


def test_a_piece_is_one_short_transaction_whatever_the_file(django_assert_max_num_queries):
    file = waiting()
    with django_assert_max_num_queries(45):
        work.do(file)
    assert connection.in_atomic_block is False
