"""The Share-out and the Hives in a browser without a script: the whole way, what each sees, and what is another's."""

from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from coop.command import new_key
from coop.models import Person
from members.commands import sharing, treating
from members.models import Ask, HandOver, Hive, Round, Share, Treatment
from tests.makers import batches as bench
from tests.makers import members as make
from tests.makers.coop import club, coordinator, do, member, releaser, sign_in, volunteer
from tests.makers.inventory import hold

pytestmark = pytest.mark.django_db


def as_(person: Person) -> Client:
    client: Client = sign_in(Client(), person)
    return client


def page(person: Person, name: str, *args: Any, query: str = "", status: int = 200) -> str:
    answer = as_(person).get(reverse(name, args=args) + query)
    assert answer.status_code == status, (name, answer.status_code)
    return answer.content.decode().replace("\u202f", " ").replace("\u00a0", " ")


def send(who: Person, page_name: str, /, *args: Any, query: str = "", **fields: Any) -> Any:
    return as_(who).post(reverse(page_name, args=args) + query, {"key": new_key(), **fields})


def done(who: Person, page_name: str, /, *args: Any, query: str = "", **fields: Any) -> None:
    answer = send(who, page_name, *args, query=query, **fields)
    assert answer.status_code == 302, answer.content.decode()[:3000]


@pytest.fixture
def cora() -> Person:
    club()
    return coordinator("Cora")


@pytest.fixture
def ada(cora: Person) -> Person:
    return member("Ada Holt")


def test_empty_rooms_teach(cora, ada):
    assert "Add my first apiary" in page(ada, "hives")
    assert "See my hives" in page(ada, "shareout")
    assert "Write instructions" in page(cora, "shareout")
    bench.instructions()
    assert "Plan the first round" in page(cora, "shareout")


def test_a_strip_is_clicked_from_the_ask_to_the_closed_bag(cora, ada):
    make.basis()
    doc, kind = bench.instructions(), bench.hive_kind()
    done(ada, "members:add_apiary", name="Ferry Bank", where="Willow")
    place = ada.apiaries.get()
    done(ada, "members:add_hives", place.pk, kind=kind.pk, count="3", from_on="2026-01-01")
    assert Hive.objects.count() == 3
    closes = (timezone.now() + make.DAY).strftime("%Y-%m-%dT%H:%M")
    done(cora, "members:plan_round", name="Spring round", instructions=doc.pk, closes_at=closes)
    round = Round.objects.get()
    assert "Open for asks" in page(cora, "members:round", round.pk)
    done(cora, "members:open_round", round.pk)
    assert "Ask for strips" in page(ada, "members:round", round.pk)
    done(ada, "members:ask", round.pk, **{f"kind_{kind.pk}": "3"})
    assert Ask.objects.get().doses == 3
    assert "Close the round" in page(cora, "members:round", round.pk)
    done(cora, "members:close_round", round.pk)
    bag = make.shelf_bags([20], doc)[0]
    assert "Share out 20 strips" in page(cora, "members:round", round.pk)
    done(cora, "members:share_out", round.pk, strips="")
    assert "3 hive doses for 3 asked" in page(cora, "members:round", round.pk)
    assert "9 of it" in page(cora, "members:pack", round.pk)
    query = f"?bag={bag.item.code_id}&to={ada.pk}&strips=9"
    assert "an invented rule for tests" in page(cora, "members:hand_over", query=query)
    refused = send(cora, "members:hand_over", bag=bag.item.code_id, receiver=ada.pk, strips="9")
    assert refused.status_code == 422
    done(cora, "members:hand_over", bag=bag.item.code_id, receiver=ada.pk, strips="9", cautions="on")
    part = HandOver.objects.get().item
    assert "Everything was collected" in page(cora, "members:pack", round.pk)
    assert "You hold 9 strips" in page(ada, "hives")
    assert "no hold known" in page(ada, "members:strips", part.code_id)
    assert "3 hives here have none in" in page(ada, "members:strips_in", place.pk)
    done(ada, "members:strips_in", place.pk)
    treatment = Treatment.objects.get()
    shown = page(ada, "hives")
    assert "Strips are out" in shown
    assert "day 0 of 40" in shown
    assert "3 in each of 3 hives" in shown
    lines = list(treatment.lines.order_by("hive"))
    done(ada, "members:some_out", treatment.pk, **{f"out_{lines[0].pk}": "2", f"gone_{lines[0].pk}": "1"})
    done(ada, "members:strips_out", treatment.pk)
    treatment.refresh_from_db()
    assert treatment.out_on is not None
    assert "No strips are in." in page(ada, "hives")
    assert "8 strips disposed of" in page(ada, "members:treatment", treatment.pk)


class Shared:
    """A round shared out among three, short by some; Ada in the middle."""

    def __init__(self, ada: Person) -> None:
        self.ada, self.bo, self.cleo = ada, member("Bo Lund"), member("Cleo Marsh")
        for person, hives in ((ada, 4), (self.bo, 4), (self.cleo, 6)):
            make.apiary(person, hives=hives)
        make.basis()
        doc = bench.instructions()
        self.bag = make.shelf_bags([25], doc)[0]
        self.round = make.asked(make.opened(doc), (ada, 4), (self.bo, 4), (self.cleo, 6))
        do(sharing.share_out, round=self.round)


@pytest.fixture
def shared(ada: Person) -> Shared:
    return Shared(ada)


def test_a_coordinator_sees_everybody_and_a_member_only_themselves(cora, shared):
    whole = page(cora, "members:round", shared.round.pk)
    assert "8 hive doses for 14 asked" in whole
    assert "25 strips shared out, 3 for a hive: 8 hive doses, 1 left over." in whole
    for name in ("Ada Holt", "Bo Lund", "Cleo Marsh"):
        assert name in whole
    own = page(shared.ada, "members:round", shared.round.pk)
    assert "Why I got" in own
    assert "Bo Lund" not in own
    assert "Cleo Marsh" not in own
    assert "As Bo Lund reads it" in page(cora, "members:round", shared.round.pk, query=f"?who={shared.bo.pk}")


def test_the_steps_can_be_read_by_all_and_name_nobody_to_members(cora, shared):
    assert "Bo Lund" in page(cora, "members:steps", shared.round.pk)
    own = page(shared.ada, "members:steps", shared.round.pk)
    assert "the same result" in own
    assert "Bo Lund" not in own
    assert "you" in own


def test_somebody_did_not_come(cora, shared):
    done(cora, "members:no_show", shared.round.pk, people=[shared.cleo.pk])
    assert Share.objects.get(person=shared.cleo).state == "no_show"
    assert "went on after somebody did not come" in page(cora, "members:round", shared.round.pk)
    done(cora, "members:end_round", shared.round.pk)
    assert Round.objects.get().state == "ended"


def test_what_is_anothers_answers_404(ada, cora):
    stranger, other = member("Otto Wren"), make.apiary(ada, hives=1)
    make.basis()
    doc = bench.instructions()
    bag = make.shelf_bags([3], doc)[0]
    make.handed(bag, ada)
    treatment = do(treating.strips_in, ada, apiary=other)
    for name in ("apiary", "change_apiary", "add_hives", "hive_changed", "split_hive", "strips_in"):
        page(ada, f"members:{name}", other.pk)
        page(cora, f"members:{name}", other.pk)
        page(stranger, f"members:{name}", other.pk, status=404)
        assert send(stranger, f"members:{name}", other.pk).status_code in (404, 405)
    for name in ("treatment", "strips_out", "some_out", "correct_in_date"):
        page(ada, f"members:{name}", treatment.pk)
        page(stranger, f"members:{name}", treatment.pk, status=404)
        assert send(stranger, f"members:{name}", treatment.pk).status_code in (404, 405)
    page(ada, "members:strips", bag.item.code_id)
    page(stranger, "members:strips", bag.item.code_id, status=404)
    page(stranger, "members:pass_on", bag.item.code_id, status=404)
    assert Treatment.objects.get().out_on is None


@pytest.mark.parametrize("make_person", [member, volunteer, releaser])
def test_rounds_open_to_members_and_their_deeds_to_coordinators(cora, shared, make_person):
    person, pk = make_person(), shared.round.pk
    page(person, "members:round", pk)
    for name in ("open_round", "close_round", "reopen_round", "share_out", "no_show", "end_round", "pack"):
        page(person, f"members:{name}", pk, status=403)
        page(cora, f"members:{name}", pk)
    for name in ("plan_round", "hand_over", "bring_back"):
        page(person, f"members:{name}", status=403)
        page(cora, f"members:{name}")
    page(person, "members:ask", pk, status=404)
    page(person, "members:ask_for", pk, shared.ada.pk, status=404)


def test_a_draft_is_not_there_for_a_member(cora, ada):
    draft = make.draft()
    page(ada, "members:round", draft.pk, status=404)
    page(cora, "members:round", draft.pk)


def test_a_bag_on_hold_says_so_and_offers_no_use(ada, cora):
    make.basis()
    make.apiary(ada, hives=1)
    bag = make.shelf_bags([3], bench.instructions())[0]
    make.handed(bag, ada)
    hold(bag.item)
    shown = page(ada, "members:strips", bag.item.code_id)
    assert "do not use these strips" in shown
    assert "Strips in:" not in shown


def test_passing_on_by_page_and_bringing_back(ada, cora):
    make.basis()
    bag, otto = make.shelf_bags([9], bench.instructions())[0], member("Otto Wren")
    make.handed(bag, ada)
    done(ada, "members:pass_on", bag.item.code_id, receiver=otto.pk, strips="3", cautions="on")
    assert "You hold 6 strips" not in page(otto, "hives")
    done(cora, "members:bring_back", bag=bag.item.code_id, person=ada.pk, strips="2", is_unopened="on")
    assert HandOver.objects.filter(kind="pass_on").get().receiver == otto


def test_strips_said_hive_by_hive_and_a_date_put_right(ada, cora):
    make.basis()
    place = make.apiary(ada, hives=2)
    bag = make.shelf_bags([9], bench.instructions())[0]
    make.handed(bag, ada)
    first, _second = make.hives(place)
    empty = send(ada, "members:strips_in", place.pk, query="?said=1", bag=bag.item.code_id)
    assert "Enter how many strips" in empty.content.decode()
    done(ada, "members:strips_in", place.pk, query="?said=1", bag=bag.item.code_id, **{f"hive_{first.pk}": "4"})
    treatment = Treatment.objects.get()
    assert [line.strips_in for line in treatment.lines.all()] == [4]
    done(ada, "members:correct_in_date", treatment.pk, in_on="2026-03-01")
    assert "overdue" in page(ada, "hives")
    assert "Ada Holt" in page(cora, "members:treatments", query="?state=overdue")
    page(ada, "members:treatments", query="?as=csv")


def test_hives_change(ada):
    place = make.apiary(ada, hives=2)
    first, second = make.hives(place)
    done(ada, "members:hive_changed", place.pk, hives=[first.pk], ending="merged", into=second.pk)
    done(ada, "members:split_hive", place.pk, hive=second.pk, kind=second.kind_id)
    done(ada, "members:change_apiary", place.pk, name="Hill", where="")
    shown = page(ada, "members:apiary", place.pk)
    assert "merged into another 2" in shown
    assert "from 2" in shown


def queries(person: Person, name: str, *args: Any) -> int:
    client = as_(person)
    with CaptureQueriesContext(connection) as found:
        assert client.get(reverse(name, args=args)).status_code == 200
    return len(found)


def test_lists_take_as_many_queries_for_three_rows_as_for_one(cora, ada):
    make.basis()
    doc = bench.instructions()

    def one_more(name: str) -> None:
        place = make.apiary(ada, hives=1, name=name)
        make.handed(make.shelf_bags([3], doc)[0], ada)
        do(treating.strips_in, ada, apiary=place)
        make.opened(doc, name=name)

    one_more("Mill")
    before = {name: queries(cora, name) for name in ("shareout", "members:treatments")}
    mine = queries(ada, "hives")
    one_more("Hill")
    one_more("Dale")
    assert {name: queries(cora, name) for name in ("shareout", "members:treatments")} == before
    assert queries(ada, "hives") == mine


def test_a_round_takes_as_many_queries_for_three_askers_as_for_one(cora):
    make.basis()
    doc, found = bench.instructions(), []
    make.shelf_bags([30], doc)
    people: list[tuple[Person, int]] = []
    for size in (1, 3):
        while len(people) < size:
            person = member()
            make.apiary(person, hives=1)
            people.append((person, 1))
        round = make.asked(make.opened(doc), *people)
        asks = queries(cora, "members:round", round.pk)
        do(sharing.share_out, round=round, strips=3 * size)
        names = ("members:round", "members:steps", "members:pack")
        found.append([asks, *(queries(cora, name, round.pk) for name in names)])
    assert found[0] == found[1]
