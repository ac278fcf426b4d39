"""What members are told and when: rounds, shares, strips due; Today; leaving."""

import datetime as dt
from typing import Any

import pytest
import time_machine

from coop import notices
from coop.command import Refused
from coop.commands.people import leave
from coop.models import Letter, Notice, Person
from coop.today import Urgency
from members import today
from members.commands import rounds, sharing, treating
from members.leaving import kept_about
from members.models import Apiary
from tests.makers import batches as bench
from tests.makers import members as make
from tests.makers.coop import club, coordinator, do, member

pytestmark = pytest.mark.django_db
NOON = dt.datetime(2026, 5, 12, 10, 0, tzinfo=dt.UTC)


@pytest.fixture(autouse=True)
def clock() -> Any:
    with time_machine.travel(NOON, tick=False) as travel:
        club()
        coordinator("Cora")
        yield travel


def told(kind: str, state: str = "bundled") -> list[str]:
    rows = Notice.objects.filter(kind=kind, state=state).select_related("person").order_by("person__name", "pk")
    return [row.person.name for row in rows]


def at(clock: Any, **later: float) -> dt.datetime:
    moment = NOON + dt.timedelta(**later)
    clock.move_to(moment)
    notices.tick(moment)
    return moment


def titles(person: Person, now: dt.datetime = NOON) -> list[tuple[Urgency, str]]:
    found = [*today.hives(person, now), *today.shareout(person, now)]
    return [(task.urgency, task.title) for task in found]


def test_a_round_that_opens_is_told_to_every_keeper_once(clock):
    ada, bo = member("Ada"), member("Bo")
    make.apiary(ada, hives=1)
    make.apiary(bo, hives=1)
    member("Cleo")
    round = make.opened()
    at(clock, minutes=1)
    at(clock, hours=3)
    assert told("round-open") == ["Ada", "Bo"]
    assert f"/share-out/{round.pk}/ask" in Letter.objects.filter(person=ada).get().body


def test_before_it_closes_only_who_has_not_asked_is_told(clock):
    ada, bo = member("Ada"), member("Bo")
    make.apiary(ada, hives=1)
    make.apiary(bo, hives=1)
    round = make.opened(closes_at=NOON + dt.timedelta(days=6))
    do(rounds.ask, ada, round=round, doses={bench.hive_kind().pk: 1})
    at(clock, days=3)
    assert told("round-closes") == []
    at(clock, days=5)
    assert told("round-closes") == ["Bo"]


def test_everyone_who_asked_hears_what_they_got_and_again_when_more_came(clock):
    people = [member(name) for name in ("Ada", "Bo", "Cleo")]
    for person in people:
        make.apiary(person, hives=2)
    make.basis()
    doc = bench.instructions()
    make.shelf_bags([12], doc)
    round = make.asked(make.opened(doc), *[(person, 2) for person in people])
    do(sharing.share_out, round=round)
    at(clock, minutes=5)
    assert told("shared-out") == ["Ada", "Bo", "Cleo"]
    gone = round.shares.filter(doses=1).first()
    do(sharing.pass_no_show, round=round, people=[gone.person])
    at(clock, days=1)
    assert len(told("shared-out")) == 4
    assert gone.person.name in told("shared-out")


def test_a_division_run_again_is_told_as_it_stands_in_the_end(clock):
    ada = member("Ada")
    make.apiary(ada, hives=4)
    make.basis()
    doc = bench.instructions()
    make.shelf_bags([12], doc)
    round = make.asked(make.opened(doc), (ada, 4))
    do(sharing.share_out, round=round, strips=3)
    do(sharing.share_out, round=round)
    at(clock, minutes=5)
    assert told("shared-out") == ["Ada"]
    assert "you got 4 of 4" in Letter.objects.get(person=ada).body.replace("\u202f", " ")


def put_in(keeper: Person, days_ago: int, name: str = "Long Field") -> Apiary:
    """Strips for one hive, in so many days ago, due 40 days later."""
    apiary = make.apiary(keeper, hives=1, name=name)
    doc = bench.instructions()
    bag = make.shelf_bags([3], doc)[0]
    make.handed(bag, keeper)
    do(
        treating.strips_in,
        keeper,
        apiary=apiary,
        instructions=doc,
        in_on=(NOON - dt.timedelta(days=days_ago)).date(),
    )
    return apiary


def test_two_apiaries_are_two_notices_in_one_letter(clock):
    make.basis()
    ada = member("Ada")
    put_in(ada, 40, "Long Field")
    put_in(ada, 40, "Hill")
    at(clock, minutes=1)
    assert told("strips-due") == ["Ada", "Ada"]
    assert Letter.objects.filter(person=ada).count() == 1


def test_who_has_no_mail_is_told_by_phone(clock):
    make.basis()
    ada = member("Ada")
    Person.objects.filter(pk=ada.pk).update(email=None)
    put_in(ada, 40)
    at(clock, minutes=1)
    assert told("strips-due", "phone") == ["Ada"]


def test_today_says_due_and_overdue_and_a_coordinator_sees_everybodys():
    make.basis()
    ada, bo = member("Ada"), member("Bo")
    put_in(ada, 36)
    put_in(bo, 46, "Hill")
    assert titles(ada) == [(Urgency.SOON, "Strips come out: Long Field")]
    assert titles(bo) == [(Urgency.OVERDUE, "Strips are still in: Hill")]
    cora = Person.objects.get(name="Cora")
    tasks = list(today.hives(cora, NOON))
    assert [task.title for task in tasks] == ["Strips are still in at one apiary"]
    assert "Bo" in tasks[0].cells[0]


def test_today_of_a_round_from_draft_to_share_out():
    ada, cora = member("Ada"), Person.objects.get(name="Cora")
    make.apiary(ada, hives=1)
    make.basis()
    doc = bench.instructions()
    make.shelf_bags([3], doc)
    round = make.draft(doc)
    assert titles(cora) == [(Urgency.SOON, "Open “Spring round”")]
    do(rounds.open_round, round=round)
    assert titles(ada) == [(Urgency.SOON, "Ask for strips: Spring round")]
    assert titles(cora) == [(Urgency.INFO, "“Spring round” closes")]
    make.asked(round, (ada, 1))
    assert titles(cora) == [(Urgency.NOW, "Share out “Spring round”")]
    do(sharing.share_out, round=round)
    assert [title.replace("\u202f", " ") for _urgency, title in titles(ada)] == ["Collect 3 strips"]


def test_nobody_leaves_with_strips_and_what_is_kept_about_them_is_told(clock):
    make.basis()
    ada = member("Ada")
    apiary = put_in(ada, 10)
    with pytest.raises(Refused) as refusal:
        do(leave, person=ada)
    assert refusal.value.code == "still_open"
    assert [row["name"] for row in kept_about(ada)["Apiaries"]] == ["Long Field"]
    do(treating.strips_out, ada, treatment=apiary.treatments.get())
    do(leave, person=ada)
    apiary.refresh_from_db()
    assert (apiary.name, apiary.where) == ("Apiary 1", "")
