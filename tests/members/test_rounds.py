"""A round from plan to close: frozen hives, drawn numbers, capped asks."""

import datetime as dt

import pytest
from django.utils import timezone

from coop.command import Refused
from members.commands import apiaries, rounds
from members.models import Ask, Round, RoundKeeper
from tests.makers import batches as bench
from tests.makers import members as make
from tests.makers.coop import club, coordinator, do, member

pytestmark = pytest.mark.django_db
State = Round.State


def kind() -> int:
    return bench.hive_kind().pk


def refused(command, code: str, by=None, **arguments) -> Refused:
    with pytest.raises(Refused) as refusal:
        do(command, by, **arguments)
    assert refusal.value.code == code, refusal.value
    return refusal.value


def test_a_round_that_closes_before_it_opens_or_has_no_name_is_refused():
    now = timezone.now()
    doc = bench.instructions()
    refused(rounds.plan_round, "span", name="Spring", instructions=doc, opens_at=now, closes_at=now)
    refused(rounds.plan_round, "name", name=" ", instructions=doc, closes_at=now + make.DAY)


def test_the_clubs_own_choice_of_a_first_dose_stands_unless_said():
    club(one_dose_first=True)
    assert make.draft().one_dose_first
    assert not make.draft(one_dose_first=False).one_dose_first


def test_hives_freeze_when_it_opens_and_later_ones_do_not_count():
    place = make.apiary(hives=3)
    round = make.opened()
    do(apiaries.add_hives, place.keeper, apiary=place, kind=bench.hive_kind(), count=5)
    keeper = RoundKeeper.objects.get(round=round)
    assert (keeper.hives, keeper.hives_by_kind) == (3, {str(kind()): 3})
    do(rounds.ask, place.keeper, round=round, doses={kind(): 8})
    row = Ask.objects.get()
    assert (row.asked, row.doses) == (8, 3)


def test_every_keeper_draws_a_number_of_their_own():
    for _keeper in range(6):
        make.apiary(hives=1)
    round = make.opened()
    drawn = sorted(RoundKeeper.objects.filter(round=round).values_list("drawn", flat=True))
    assert drawn == [1, 2, 3, 4, 5, 6]
    assert round.drawn_how == "by the server"


def test_numbers_from_a_hat_are_taken_for_everybody_or_not_at_all():
    one, other = make.apiary(hives=1).keeper, make.apiary(hives=1).keeper
    refused(rounds.open_round, "drawn", round=make.draft(), drawn={one.pk: 1})
    refused(rounds.open_round, "drawn", round=make.draft(), drawn={one.pk: 1, other.pk: 1})
    round = do(rounds.open_round, round=make.draft(), drawn={one.pk: 2, other.pk: 1}, drawn_how="Cora drew")
    assert dict(round.keepers.values_list("person_id", "drawn")) == {one.pk: 2, other.pk: 1}
    assert round.drawn_how == "Cora drew"


def test_a_round_with_nobody_to_share_with_does_not_open():
    make.apiary(hives=0)
    refused(rounds.open_round, "nobody", round=make.draft())


def test_an_ask_is_changed_and_withdrawn_until_the_round_closes():
    keeper = make.apiary(hives=4).keeper
    round = make.opened()
    for count, kept in ((4, [4]), (2, [2]), (0, [])):
        do(rounds.ask, keeper, round=round, doses={kind(): count})
        assert list(Ask.objects.values_list("doses", flat=True)) == kept
    do(rounds.close_round, round=round)
    refused(rounds.ask, "state", keeper, round=round, doses={kind(): 1})


def test_after_the_closing_moment_nobody_asks_even_if_it_was_not_closed():
    keeper = make.apiary(hives=1).keeper
    late = timezone.now() - dt.timedelta(hours=1)
    round = make.opened(opens_at=late - make.DAY, closes_at=late)
    refused(rounds.ask, "state", keeper, round=round, doses={kind(): 1})


def test_who_had_no_hives_or_none_of_that_kind_cannot_ask():
    keeper = make.apiary(hives=1).keeper
    other = bench.hive_kind("nucleus")
    unknown = bench.hive_kind("top bar")
    round = make.opened(bench.instructions(doses={kind(): 3, other.pk: 1}))
    refused(rounds.ask, "keeper", member(), round=round, doses={kind(): 1})
    refused(rounds.ask, "kind", keeper, round=round, doses={other.pk: 1})
    refused(rounds.ask, "kind", keeper, round=round, doses={unknown.pk: 1})


def test_a_closed_round_opens_again_with_the_same_numbers():
    make.apiary(hives=1)
    make.apiary(hives=2)
    round = do(rounds.close_round, round=make.opened())
    before = list(round.keepers.values_list("person_id", "drawn"))
    do(rounds.reopen_round, round=round, closes_at=timezone.now() + make.DAY)
    round.refresh_from_db()
    assert round.state == State.OPEN
    assert list(round.keepers.values_list("person_id", "drawn")) == before
    refused(rounds.reopen_round, "span", round=round, closes_at=timezone.now() - make.DAY)


def test_states_follow_one_another():
    make.apiary(hives=1)
    round = make.draft()
    for command in (rounds.close_round, rounds.end_round):
        refused(command, "state", round=round)
    do(rounds.open_round, round=round)
    refused(rounds.open_round, "state", round=round)


def test_drafts_are_the_coordinators_own():
    club()
    make.apiary(hives=1)
    draft, open_ = make.draft(), make.opened()
    assert list(Round.objects.visible_to(member())) == [open_]
    assert set(Round.objects.visible_to(coordinator())) == {draft, open_}
