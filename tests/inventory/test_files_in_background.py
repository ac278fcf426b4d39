"""Large files are written in the background: asked for once, written once and whole, and said on the page."""

import datetime as dt
from typing import Any

import pytest
from django.db import OperationalError
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coop.command import Refused, new_key
from coop.models import Deed, Pulse
from coop.proof import differences
from inventory.commands.importing import ask_to_write, judge_again, write_file
from inventory.files import background, work, writing
from inventory.models import Item, Lot, Movement, Place, StockFile
from inventory.tasks import judge_files
from tests.makers import files
from tests.makers.api import Api
from tests.makers.coop import club, coordinator, do, sign_in
from tests.makers.failing import survives

pytestmark = pytest.mark.django_db(transaction=True)

THREE = files.lots("Glycerine,glycerine,Smith,Barn,1", "Glycerine,,Jones,Barn,2", "Blanks,strip blanks,Smith,Loft,3")


@pytest.fixture
def file(monkeypatch: pytest.MonkeyPatch) -> StockFile:
    """A file that was judged right and is large."""
    monkeypatch.setattr(work, "WRITTEN_AT_ONCE", 2)
    return files.handed_in(THREE)


@pytest.fixture
def ida() -> Any:
    club()
    return coordinator("Ida Holm")


@pytest.fixture
def keeper(ida: Any) -> Client:
    client: Client = sign_in(Client(), ida)
    return client


def runs(alive: bool) -> None:
    at = timezone.now() - dt.timedelta(0 if alive else 1)
    Pulse.objects.update_or_create(name="sender", defaults={"finished_at": at})


def press(client: Client, file: StockFile, what: str = "write") -> str:
    answer = client.post(reverse(f"inventory:stock_file_{what}", args=[file.pk]), {"key": new_key()}, follow=True)
    return answer.content.decode()


def page(client: Client, file: StockFile) -> str:
    return client.get(reverse("inventory:stock_file", args=[file.pk])).content.decode()


def test_a_large_file_is_asked_for_and_the_bell_writes_it(keeper, file, ida):
    runs(True)
    text = press(keeper, file)
    assert "3 rows are being written" in text
    assert 'http-equiv="refresh"' in text
    assert "All rows are written together" in text
    assert "Rows judged" not in text
    assert not Item.objects.exists()
    judge_files()
    assert Movement.objects.count() == Item.objects.count() == 3
    file.refresh_from_db()
    assert (file.state, file.claimed_at) == ("written", None)
    assert file.written_by is not None
    assert (file.written_by.actor, file.written_by.verb, file.written_by.door) == (ida, "inventory.write_file", "task")
    text = page(keeper, file)
    assert "3 rows stand in the book" in text
    assert 'http-equiv="refresh"' not in text
    assert list(differences()) == []


def test_a_small_file_is_written_within_the_request(keeper, file, monkeypatch):
    monkeypatch.setattr(work, "WRITTEN_AT_ONCE", 3)
    assert "3 rows stand in the book" in press(keeper, file)
    assert Movement.objects.count() == 3


def test_while_nothing_runs_the_page_offers_to_write_it_here(keeper, file):
    runs(False)
    text = press(keeper, file)
    assert "Nothing runs in the background" in text
    assert "Write it now" in text
    assert 'http-equiv="refresh"' not in text
    assert "3 rows stand in the book" in press(keeper, file, "judge")


def test_what_is_asked_for_twice_is_written_once(file, ida):
    key = new_key()
    for _tap in range(2):
        ask_to_write(actor=ida, key=key, file=file)
    for command in (ask_to_write, judge_again):
        with pytest.raises(Refused) as refusal:
            do(command, file=file)
        assert refusal.value.code == "writing"
    judge_files()
    judge_files()
    assert Movement.objects.count() == 3
    with pytest.raises(Refused) as refusal:
        do(ask_to_write, file=file)
    assert refusal.value.code == "written"


def test_a_file_with_a_wrong_row_or_not_judged_is_not_asked_for(file):
    wrong = files.handed_in(files.lots("Glycerine,,Smith,Barn,lots"))
    with pytest.raises(Refused) as refusal:
        do(ask_to_write, file=wrong)
    assert refusal.value.code == "not_right"
    do(judge_again, file=file)
    with pytest.raises(Refused) as refusal:
        do(ask_to_write, file=file)
    assert refusal.value.code == "not_read"


def test_of_two_workers_one_writes_and_a_claim_whose_worker_died_is_free_again(file):
    do(ask_to_write, file=file)
    StockFile.objects.update(claimed_at=timezone.now())
    assert background.write(file) is False
    judge_files()
    assert not Item.objects.exists()
    StockFile.objects.update(claimed_at=timezone.now() - background.LEASE - dt.timedelta(seconds=1))
    judge_files()
    assert Movement.objects.count() == 3


def test_a_worker_that_is_overtaken_finds_it_written_and_writes_nothing(file, monkeypatch):
    """The second one claims while the first is still at it: one key, one deed."""
    do(ask_to_write, file=file)
    real = background.write_file

    def overtaken(**given: Any) -> Any:
        monkeypatch.setattr(background, "write_file", real)
        StockFile.objects.update(claimed_at=None)
        assert background.write(file) is True
        return real(**given)

    monkeypatch.setattr(background, "write_file", overtaken)
    assert background.write(file) is True
    assert Movement.objects.count() == 3
    assert Deed.objects.filter(verb="inventory.write_file").count() == 1


def test_a_failure_midway_leaves_nothing_and_is_said(keeper, file, monkeypatch):
    runs(True)
    press(keeper, file)
    real = writing._open
    monkeypatch.setattr(writing, "_open", lambda *_given: 1 / 0)
    judge_files()
    assert not any(model.objects.exists() for model in (Item, Lot, Movement))
    assert not Place.objects.filter(kind="shed").exists()
    text = page(keeper, file)
    assert "could not be written" in text
    assert "All 3 rows are right" in text
    monkeypatch.setattr(writing, "_open", real)
    press(keeper, file)
    judge_files()
    assert "could not be written" not in page(keeper, file)
    assert Movement.objects.count() == 3


def test_a_database_that_is_busy_is_tried_again_at_the_next_tick(file, monkeypatch):
    do(ask_to_write, file=file)

    def busy(**_given: Any) -> None:
        raise OperationalError("locked")

    with monkeypatch.context() as patch:
        patch.setattr(background, "write_file", busy)
        with pytest.raises(OperationalError):
            judge_files()
    file.refresh_from_db()
    assert (file.state, file.claimed_at) == ("writing", None)
    judge_files()
    assert Movement.objects.count() == 3


def test_when_the_book_changed_meanwhile_nothing_is_written_and_the_page_says_which_row(keeper, file):
    runs(True)
    press(keeper, file)
    Place.objects.create(kind="shed", name="Loft", is_closed=True)
    judge_files()
    text = page(keeper, file)
    assert "1 of 3 rows are not right" in text
    assert "Nothing was written" in text
    assert "is closed" in text
    assert not Item.objects.exists()


def test_asking_leaves_nothing_half_done(file):
    survives(ask_to_write, file=file)
    judge_files()
    assert Movement.objects.count() == 3


def test_the_api_answers_that_it_is_being_written(file, ida):
    program = Api(ida)
    assert program.post(f"files/{file.pk}/write")["state"] == "writing"
    program.refused(f"files/{file.pk}/write", "writing")
    judge_files()
    assert program.get(f"files/{file.pk}")["state"] == "written"


def test_a_file_that_was_asked_for_may_still_be_written_at_the_shell(file):
    do(ask_to_write, file=file)
    do(write_file, file=file)
    judge_files()
    assert Movement.objects.count() == 3
