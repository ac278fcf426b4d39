"""The demo club's story: told through the commands, the books prove, and every state that a screen shows is there."""

import datetime as dt
from io import StringIO

import pytest
import time_machine
from django.core.management import CommandError, call_command
from django.test import TestCase
from django.utils import timezone

from batches.models import Bag, Bench, Deviation, Release, Soak, Solution
from batches.queries.release import release_table
from coop.models import Club, Deed, LegalBasis, Letter, Person
from coop.proof import differences
from coop.site.demo.people import WITHOUT_MAIL
from coop.site.demo.story import tell
from coop.site.management.commands.make_ready import demo_words
from inventory import holds, ledger
from inventory.models import Hold, Item, Material, Question
from members.models import HandOver, Return, Round, Share, Treatment


class TestStory(TestCase):
    """One telling, looked at from all sides."""

    @classmethod
    def setUpTestData(cls) -> None:
        call_command("tell_demo_story")
        cls.today = Club.objects.get().today()

    def test_the_books_prove(self) -> None:
        assert list(differences()) == []
        assert not Question.objects.exists()

    def test_it_is_marked_as_a_demo_and_sent_no_mail(self) -> None:
        assert Club.objects.get().is_demo
        assert not Letter.objects.exists()

    def test_it_is_told_once(self) -> None:
        before = Deed.objects.count()
        with pytest.raises(CommandError, match="has its club already"):
            call_command("tell_demo_story", stderr=StringIO())
        assert Deed.objects.count() == before

    def test_everything_came_through_commands_and_nothing_lies_ahead(self) -> None:
        assert not Deed.objects.filter(result=None).exists()
        assert not Deed.objects.filter(happened_at__gt=timezone.now()).exists()
        assert Deed.objects.earliest("happened_at").happened_at < timezone.now() - dt.timedelta(days=200)

    def test_there_is_somebody_of_each_role_to_sign_in_as(self) -> None:
        words = demo_words()
        for role in ("coordinator", "releaser", "volunteer", "member"):
            assert f"  {role} " in words
        named = [line.split()[1] for line in words.splitlines() if "@" in line and line.startswith("  ")]
        assert len(set(named)) == 4

    def test_one_member_has_no_mail_and_has_overdue_strips(self) -> None:
        person = Person.objects.get(email=None, is_system=False)
        assert person.name == WITHOUT_MAIL
        assert Treatment.objects.overdue(self.today).filter(apiary__keeper=person).exists()

    def test_the_legal_bases_are_valid_and_one_ends_within_two_months(self) -> None:
        for subject in LegalBasis.Subject.values:
            assert LegalBasis.objects.valid_on(subject, self.today).exists()
        soon = LegalBasis.objects.filter(valid_until__lt=self.today + dt.timedelta(days=60))
        assert [basis.subject for basis in soon] == ["supply"]

    def test_a_batch_is_in_soak(self) -> None:
        soak = Soak.objects.get(state=Soak.State.SOAKING)
        assert soak.bench.state == Bench.State.RUNNING
        assert dt.timedelta(0) < timezone.now() - soak.poured_at < dt.timedelta(hours=48)

    def test_one_waits_for_release_with_one_reason_to_decide(self) -> None:
        soak = Soak.objects.waiting_for_release().get()
        table = release_table(soak)
        assert table.never == []
        assert [row.key for row in table.reasons] == ["room"]
        waiting = Deviation.objects.get(decided=None)
        assert (waiting.soak, waiting.kind) == (soak, "room")
        assert waiting.reason

    def test_one_was_rejected_and_its_acid_is_on_hold_with_all_made_of_it(self) -> None:
        release = Release.objects.get(verdict=Release.Verdict.REJECTED)
        hold = Hold.objects.active().get()
        lot = hold.seeds.get().item
        assert lot.material.kind == "acid"
        assert hold in holds.on_hold([release.soak.item_id])[release.soak.item_id]
        returned = Item.objects.get(kind=Item.Kind.RETURNED, returned__soak=release.soak)
        assert ledger.on_hand(returned) > 0
        assert holds.on_hold([returned.pk])

    def test_released_batches_passed_every_row(self) -> None:
        released = Soak.objects.filter(state=Soak.State.RELEASED)
        assert released.count() == 3
        for soak in released:
            assert {row.verdict for row in release_table(soak).rows} == {"pass"}

    def test_returned_solution_was_used_twice(self) -> None:
        released = Solution.objects.filter(item__mix__pours__soak__state=Soak.State.RELEASED)
        assert sorted(released.values_list("reuse", flat=True)) == [0, 1, 2]

    def test_one_bench_is_planned(self) -> None:
        assert Bench.objects.get(state=Bench.State.PLANNED).day > self.today

    def test_one_material_is_under_its_level(self) -> None:
        low = [
            material.kind
            for material in Material.objects.exclude(low_level=None)
            if sum(lot.on_hand for lot in Item.objects.lots().of(material).with_on_hand()) < material.low_level
        ]
        assert low == ["strip"]

    def test_a_short_round_was_shared_out(self) -> None:
        round = Round.objects.get(state=Round.State.SHARED)
        shares = Share.objects.filter(round=round)
        assert sum(share.doses for share in shares) < sum(share.asked for share in shares)
        assert set(shares.values_list("state", flat=True)) == {"collected", "no_show", "none"}
        assert round.share_outs.count() == 2
        assert HandOver.objects.filter(share__round=round).count() >= 10

    def test_a_round_is_open_with_some_asks(self) -> None:
        round = Round.objects.open().get()
        assert round.closes_at > timezone.now()
        assert 0 < round.asks.values("person").distinct().count() < round.keepers.count()

    def test_strips_were_passed_on_brought_back_and_fetched_by_another(self) -> None:
        assert HandOver.objects.filter(kind=HandOver.Kind.PASS_ON).exists()
        assert HandOver.objects.exclude(collected_by=None).exists()
        assert Return.objects.filter(is_unopened=True).exists()
        assert Bag.objects.exclude(parent=None).exists()

    def test_strips_are_due_tomorrow_overdue_and_out(self) -> None:
        still_in = Treatment.objects.still_in()
        assert still_in.filter(due_on=self.today + dt.timedelta(days=1)).count() == 2
        assert still_in.filter(due_on=self.today - dt.timedelta(days=5)).count() == 2
        assert still_in.filter(due_on__gt=self.today + dt.timedelta(days=1)).exists()
        assert Treatment.objects.exclude(out_on=None).filter(lines__strips_chewed__gt=0).exists()


@pytest.mark.django_db
@pytest.mark.parametrize("moment", ["2027-03-28T00:20:00+00:00", "2027-10-31T23:40:00+00:00"])
def test_it_can_be_told_at_any_hour_of_any_day(moment: str) -> None:
    now = dt.datetime.fromisoformat(moment)
    with time_machine.travel(now, tick=False):
        tell(timezone.now())
    assert list(differences()) == []
    assert not Deed.objects.filter(happened_at__gt=now).exists()
    assert Treatment.objects.still_in().filter(due_on=Club.objects.get().today(now) + dt.timedelta(days=1)).exists()
