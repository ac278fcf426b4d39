"""Strips changing hands: what a hand-over refuses, parts of bags, passing on, bringing back."""

import datetime as dt
from typing import Any

import pytest
from django.utils import timezone

from batches.commands.splitting import split_off
from batches.models import Bag
from coop.codes import new_code
from coop.command import Refused
from coop.commands.legal import end_legal_basis
from coop.models import Person, the_club
from coop.proof import differences
from inventory.commands.stock import transfer
from inventory.models import Holding, Question
from members.commands import handing, sharing
from members.models import HandOver, Share
from tests.makers import batches as bench
from tests.makers import members as make
from tests.makers.coop import club, coordinator, do, member
from tests.makers.inventory import hold, shed

pytestmark = pytest.mark.django_db


@pytest.fixture
def lotte() -> Person:
    club()
    coordinator("Cora")
    return member("Lotte")


def refused(command: Any, code: str, by: Person | None = None, **arguments: Any) -> Refused:
    before = list(Holding.objects.values_list("item", "place", "quantity"))
    with pytest.raises(Refused) as refusal:
        do(command, by, **arguments)
    assert refusal.value.code == code, refusal.value
    assert list(Holding.objects.values_list("item", "place", "quantity")) == before
    return refusal.value


def where(bag: Bag) -> dict[str, int]:
    rows = Holding.objects.filter(item=bag.item, quantity__gt=0).select_related("place__person")
    return {row.place.person.name if row.place.person else row.place.name: row.quantity for row in rows}


def test_a_whole_bag_goes_to_a_member_on_the_basis_of_that_day(lotte):
    basis, bag = make.basis(), make.shelf_bags([20])[0]
    done = make.handed(bag, lotte)
    assert (done.strips, done.receiver, done.legal_basis, done.item) == (20, lotte, basis, bag.item)
    assert where(bag) == {"Lotte": 20}
    assert done.movement.quantity == 20


def test_without_a_valid_basis_for_supply_nothing_goes_out(lotte):
    bag = make.shelf_bags([20])[0]
    refused(handing.hand_over, "no_basis", bag=bag, receiver=lotte, cautions=True)
    make.basis(subject="own_use")
    refused(handing.hand_over, "no_basis", bag=bag, receiver=lotte, cautions=True)
    past = make.basis(valid_until=dt.date(2026, 1, 1))
    refused(handing.hand_over, "no_basis", bag=bag, receiver=lotte, cautions=True)
    assert past.valid_until < the_club().today()
    now = make.basis()
    make.handed(bag, lotte, strips=5)
    do(end_legal_basis, basis=now)
    refused(handing.hand_over, "no_basis", bag=bag, receiver=lotte, cautions=True)


def test_cautions_are_acknowledged_or_nothing_goes_out(lotte):
    make.basis()
    bag = make.shelf_bags([20])[0]
    refused(handing.hand_over, "cautions", bag=bag, receiver=lotte, cautions=False)


def test_what_is_held_unreleased_split_off_or_past_its_date_stays(lotte):
    make.basis()
    held, late, apart = make.shelf_bags([10, 10, 10])
    raw = make.shelf_bags([10], state="lifted")[0]
    hold(held.item)
    late.item.best_before = the_club().today() - make.DAY
    late.item.save()
    do(split_off, bag=apart, reason="wet label")
    codes = {held: "held", late: "expired", apart: "not_released", raw: "not_released"}
    for bag, code in codes.items():
        refused(handing.hand_over, code, bag=bag, receiver=lotte, cautions=True)


def test_a_hold_on_what_it_was_made_from_stops_the_bag_too(lotte):
    make.basis()
    bag = make.shelf_bags([10])[0]
    hold(bag.soak.blanks)
    refused(handing.hand_over, "held", bag=bag, receiver=lotte, cautions=True)


def test_a_part_of_a_bag_gets_a_code_of_its_own_and_inherits(lotte):
    make.basis()
    bag = make.shelf_bags([20])[0]
    done = make.handed(bag, lotte, strips=8)
    part = Bag.objects.get(item=done.item)
    assert (part.parent, part.strips, part.soak) == (bag, 8, bag.soak)
    assert where(part) == {"Lotte": 8}
    assert sum(where(bag).values()) == 12
    printed = new_code(printed=True).text
    assert make.handed(bag, lotte, strips=2, code=printed).item.code_id == printed


def test_more_than_there_is_is_refused_with_what_there_is(lotte):
    make.basis()
    bag = make.shelf_bags([20])[0]
    trouble = refused(handing.hand_over, "short", bag=bag, receiver=lotte, cautions=True, strips=21)
    assert trouble.facts["on_hand"] == 20
    make.handed(bag, lotte)
    refused(handing.hand_over, "not_here", bag=bag, receiver=lotte, cautions=True)


def test_somebody_else_may_collect(lotte):
    make.basis()
    bag, other = make.shelf_bags([20])[0], member("Otto")
    assert make.handed(bag, lotte, collected_by=other).collected_by == other
    assert where(bag) == {"Lotte": 20}


def test_nobody_who_left_gets_anything(lotte):
    make.basis()
    lotte.left_at = timezone.now()
    lotte.save()
    refused(handing.hand_over, "left", bag=make.shelf_bags([20])[0], receiver=lotte, cautions=True)


def test_it_counts_towards_the_share_and_never_goes_above_it(lotte):
    make.apiary(lotte, hives=3)
    make.basis()
    doc = bench.instructions()
    bag = make.shelf_bags([20], doc)[0]
    round = make.asked(make.opened(doc), (lotte, 3))
    do(sharing.share_out, round=round)
    trouble = refused(handing.hand_over, "above_share", bag=bag, receiver=lotte, cautions=True)
    assert trouble.facts["left"] == 9
    assert make.handed(bag, lotte, strips=4).share.state == Share.State.WAITING
    make.handed(bag, lotte, strips=5)
    assert Share.objects.get().state == Share.State.COLLECTED
    refused(handing.hand_over, "above_share", bag=bag, receiver=member(), cautions=True, strips=1, round=round)


def test_what_is_promised_to_others_is_kept_for_them(lotte):
    make.apiary(lotte, hives=3)
    make.basis()
    doc = bench.instructions()
    bag = make.shelf_bags([10], doc)[0]
    do(sharing.share_out, round=make.asked(make.opened(doc), (lotte, 3)))
    stranger = member()
    refused(handing.hand_over, "promised", bag=bag, receiver=stranger, cautions=True, strips=2)
    make.handed(bag, stranger, strips=1)


def test_a_member_passes_a_part_on_and_the_book_knows_both(lotte):
    make.basis()
    bag, otto = make.shelf_bags([20])[0], member("Otto")
    make.handed(bag, lotte)
    done = do(handing.pass_on, lotte, bag=bag, receiver=otto, strips=8, cautions=True)
    assert (done.giver, done.receiver, done.kind) == (lotte, otto, "pass_on")
    assert where(bag) == {"Lotte": 12}
    assert where(Bag.objects.get(item=done.item)) == {"Otto": 8}
    assert set(HandOver.objects.visible_to(otto)) == {done}


def test_passing_on_is_refused_like_a_hand_over_unless_it_happened(lotte):
    make.basis()
    bag, otto = make.shelf_bags([20])[0], member("Otto")
    make.handed(bag, lotte)
    hold(bag.item)
    facts = {"bag": bag, "receiver": otto, "strips": 8}
    refused(handing.pass_on, "held", lotte, **facts, cautions=True)
    done = do(handing.pass_on, lotte, **facts, is_done=True)
    assert done.strips == 8
    assert where(bag) == {"Lotte": 12, "Otto": 8}
    assert Question.objects.get().kind == Question.Kind.HELD


def test_passing_on_to_oneself_or_what_one_does_not_have_is_refused(lotte):
    make.basis()
    bag, otto = make.shelf_bags([20])[0], member("Otto")
    refused(handing.pass_on, "self", lotte, bag=bag, receiver=lotte, cautions=True)
    refused(handing.pass_on, "short", lotte, bag=bag, receiver=otto, cautions=True)


def test_what_comes_back_goes_to_quarantine_unopened_or_not(lotte):
    make.basis()
    bag = make.shelf_bags([20])[0]
    make.handed(bag, lotte)
    done = do(handing.bring_back, bag=bag, person=lotte, strips=5, is_unopened=False, reason="too many")
    assert (done.strips, done.is_unopened) == (5, False)
    do(handing.bring_back, bag=bag, person=lotte, is_unopened=True)
    assert where(bag) == {"quarantine": 20}
    refused(handing.hand_over, "opened", bag=bag, receiver=lotte, cautions=True)
    refused(handing.bring_back, "short", bag=bag, person=lotte, is_unopened=True)


def test_what_came_back_opened_is_handed_to_nobody_again(lotte):
    make.basis()
    opened, closed = make.shelf_bags([20, 20])
    for bag, is_unopened in ((opened, False), (closed, True)):
        make.handed(bag, lotte)
        do(handing.bring_back, bag=bag, person=lotte, is_unopened=is_unopened)
        quarantine = Holding.objects.get(item=bag.item, quantity=20).place
        do(transfer, item=bag.item, source=quarantine, target=shed(), quantity=20)
    otto = member("Otto")
    refused(handing.hand_over, "opened", bag=opened, receiver=otto, cautions=True)
    refused(handing.hand_over, "opened", bag=opened, receiver=otto, cautions=True, strips=5)
    assert make.handed(closed, otto).strips == 20


def test_more_than_the_book_knows_comes_back_as_found_stock(lotte):
    bag = make.shelf_bags([20])[0]
    do(handing.bring_back, bag=bag, person=lotte, strips=3, is_unopened=False)
    assert where(bag)["quarantine"] == 3
    assert Question.objects.get().kind == Question.Kind.FOUND


def test_the_books_prove_after_a_collection_day():
    bag = make.released_bags([20])[0]
    make.basis()
    ada, bo = member("Ada"), member("Bo")
    make.handed(bag, ada, strips=12)
    part = Bag.objects.get(parent=bag)
    do(handing.pass_on, ada, bag=part, receiver=bo, strips=4, cautions=True)
    do(handing.bring_back, bag=part, person=ada, strips=2, is_unopened=True)
    assert list(differences()) == []
