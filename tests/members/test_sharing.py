"""The share-out over the commands: what can go out, what is frozen, what goes on."""

import pytest

from batches.models import Bag
from batches.queries.bags import may_go_out
from coop.command import Refused
from coop.models import the_club
from members.commands import rounds, sharing
from members.models import Round, Share, ShareOut
from members.queries import division, records, supply
from tests.makers import batches as bench
from tests.makers import members as make
from tests.makers.coop import do, member
from tests.makers.inventory import hold

pytestmark = pytest.mark.django_db


def refused(command, code: str, **arguments) -> Refused:
    with pytest.raises(Refused) as refusal:
        do(command, **arguments)
    assert refusal.value.code == code, refusal.value
    return refusal.value


class Club:
    """Three keepers of 1, 2 and 4 hives, 3 strips a hive; bags of 7 and 8 strips on the shelf."""

    def __init__(self, strips=(7, 8)) -> None:
        self.people = [member(name) for name in ("Ada", "Bo", "Cleo")]
        for person, hives in zip(self.people, (1, 2, 4), strict=True):
            make.apiary(person, hives=hives)
        make.basis()
        self.doc = bench.instructions()
        self.bags = make.shelf_bags(strips, self.doc) if strips else []
        round = make.opened(self.doc)
        self.round = make.asked(round, *zip(self.people, (1, 2, 4), strict=True))

    def got(self) -> list[int]:
        shares = dict(Share.objects.filter(round=self.round).values_list("person_id", "doses"))
        return [shares[person.pk] for person in self.people]


@pytest.fixture
def club() -> Club:
    return Club()


def test_whole_doses_only_and_what_is_left_is_said(club):
    run = do(sharing.share_out, round=club.round)
    assert (run.strips, run.doses, run.strips_left) == (15, 5, 0)
    assert sum(club.got()) == 5
    assert club.got()[2] == 3
    again = do(sharing.share_out, round=club.round, strips=14)
    assert (again.doses, again.strips_left) == (4, 2)


def test_what_is_on_hold_or_not_released_is_not_shared_out(club):
    hold(club.bags[0].item)
    make.shelf_bags([30], state="lifted")
    assert do(sharing.share_out, round=club.round).strips == 8
    refused(sharing.share_out, "short", round=club.round, strips=9)


def test_what_is_past_its_date_is_not_shared_out(club):
    yesterday = the_club().today() - make.DAY
    club.bags[0].item.best_before = yesterday
    club.bags[0].item.save()
    assert do(sharing.share_out, round=club.round).strips == 8


def test_what_another_round_promised_is_not_promised_twice(club):
    do(sharing.share_out, round=club.round, strips=6)
    later = make.asked(make.opened(club.doc, name="Later"), (club.people[2], 4))
    assert supply.on_offer(the_club().today(), later) == 9
    assert do(sharing.share_out, round=later).doses == 3
    do(rounds.end_round, round=club.round)
    assert supply.on_offer(the_club().today(), later) == 15


def test_nobody_asked_and_a_round_still_open_are_refused(club):
    refused(sharing.share_out, "no_asks", round=make.asked(make.opened(club.doc)))
    refused(sharing.share_out, "state", round=make.opened(club.doc))


def test_it_is_run_again_until_the_first_bag_goes_out(club):
    first = do(sharing.share_out, round=club.round)
    second = do(sharing.share_out, round=club.round)
    assert first.digest == second.digest
    assert first.result == second.result
    make.handed(club.bags[0], club.people[2])
    refused(sharing.share_out, "handed", round=club.round)


def test_the_stored_input_alone_gives_the_same_again(club):
    run = do(sharing.share_out, round=club.round, one_dose_first=True)
    stored = ShareOut.objects.get(pk=run.pk)
    assert records.is_repeatable(stored)
    stored.frozen["askers"][0]["drawn"] += 10
    assert not records.is_repeatable(stored)


def test_a_no_show_keeps_what_was_collected_and_leaves_the_rest(club):
    do(sharing.share_out, round=club.round)
    cleo = club.people[2]
    make.handed(club.bags[1], cleo, strips=3)
    run = do(sharing.pass_no_show, round=club.round, people=[cleo])
    assert (run.strips, club.got()) == (6, [1, 2, 1])
    assert Share.objects.get(person=cleo).state == Share.State.NO_SHOW
    assert run.strips_left == 6 - 3 * (1 + 2 - sum(_before(club, run)))
    assert records.is_repeatable(ShareOut.objects.get(pk=run.pk))
    refused(sharing.pass_no_show, "share", round=club.round, people=[cleo])


def _before(club, run) -> list[int]:
    given = run.goes_on_from.result["given"]
    return [sum(given[str(person.pk)]) for person in club.people[:2]]


def test_a_hold_in_between_takes_from_what_goes_on(club):
    do(sharing.share_out, round=club.round)
    hold(club.bags[1].item)
    run = do(sharing.pass_no_show, round=club.round, people=[club.people[2]])
    assert run.strips == 1


def test_who_did_not_come_has_no_better_place_next_time(club):
    do(sharing.share_out, round=club.round)
    do(sharing.pass_no_show, round=club.round, people=[club.people[1]])
    do(rounds.end_round, round=Round.objects.get(pk=club.round.pk))
    keepers = {keeper.person_id: keeper for keeper in make.opened(club.doc).keepers.all()}
    assert (keepers[club.people[1].pk].last_got, keepers[club.people[1].pk].last_asked) == (0, 0)


def test_the_pick_list_takes_whole_bags_first_and_covers_every_share(club):
    do(sharing.share_out, round=club.round)
    shares = list(Share.objects.to_collect())
    picks = supply.pick_list(shares, may_go_out(the_club().today()))
    for share in shares:
        assert sum(pick.strips for pick in picks[share.pk]) == share.strips
    used: dict[int, int] = {}
    for found in picks.values():
        for pick in found:
            used[pick.bag.pk] = used.get(pick.bag.pk, 0) + pick.strips
    assert all(used[bag.pk] <= bag.strips for bag in Bag.objects.filter(pk__in=used))
    assert picks[max(shares, key=lambda one: one.strips).pk][0].is_whole


def test_the_reason_counts_and_names_nobody_else(club):
    do(sharing.share_out, round=club.round)
    runs = division.counting_runs(club.round)
    cleo = division.reason(runs, club.people[2])
    assert cleo is not None
    words = " ".join([*cleo.before, cleo.level_words, *cleo.after, cleo.short])
    assert "You keep 4 hives and asked for 4." in words.replace("\u202f", " ")
    assert "You fall 1 short." in words
    assert not {"Ada", "Bo"} & set(words.split())
    assert division.reason(runs, member()) is None


def test_those_who_stood_level_are_told_what_settled_it():
    twins = [member("Ivy"), member("Jo")]
    for person in twins:
        make.apiary(person, hives=1)
    make.basis()
    doc = bench.instructions()
    make.shelf_bags([3], doc)
    round = make.asked(make.opened(doc), *[(person, 1) for person in twins])
    do(sharing.share_out, round=round)
    runs = division.counting_runs(round)
    by_got = {reason.got: reason for reason in (division.reason(runs, person) for person in twins) if reason}
    assert "Two keepers stood level at 1.00, with 1 dose left:" in by_got[1].level_words
    assert [row.nth for row in by_got[0].level] == ["1st", "none"]
    assert [row.is_reader for row in by_got[0].level] == [False, True]
    rows = division.rows_of(round, runs)
    assert sum("circle" in row.cells for row in rows) == 1
