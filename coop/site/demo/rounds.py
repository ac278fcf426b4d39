"""The demo's rounds: one that met every ask, one that fell short, one open now."""

import dataclasses
from collections.abc import Iterable, Mapping

from django.utils.translation import gettext as _

from batches.models import Instructions
from batches.queries.bags import may_go_out
from coop import wording
from coop.models import Person
from coop.site.demo.apiaries import Stands
from coop.site.demo.people import People, kinds
from coop.site.demo.teller import Teller
from members.commands.handing import hand_over
from members.commands.rounds import ask, close_round, end_round, open_round, plan_round
from members.commands.sharing import pass_no_show, share_out
from members.models import Round, Share
from members.queries import supply

#: who asks in a round, for how many hives: nuclei, single brood, double brood
FIRST = {
    "Agnes": (0, 2, 0),
    "Bryony": (0, 3, 0),
    "Corin": (1, 3, 0),
    "Dilys": (0, 5, 0),
    "Farida": (2, 2, 0),
    "Gideon": (0, 6, 1),
    "Hester": (0, 3, 0),
    "Jory": (0, 4, 0),
    "Noor": (0, 2, 0),
    "Osbert": (1, 3, 0),
}
SECOND = {
    "Agnes": (0, 2, 0),
    "Bryony": (0, 3, 0),
    "Corin": (1, 3, 1),
    "Dilys": (0, 5, 0),
    "Eamon": (0, 1, 0),
    "Edda": (0, 2, 0),
    "Farida": (2, 2, 0),
    "Gideon": (0, 6, 1),
    "Hester": (0, 3, 0),
    "Ines": (1, 1, 0),
    "Jory": (0, 6, 2),
    "Kit": (0, 1, 0),
    "Leontyne": (0, 2, 1),
    "Morwenna": (0, 3, 0),
    "Noor": (0, 2, 0),
    "Osbert": (1, 4, 0),
}
THIRD = {"Corin": (1, 3, 1), "Eamon": (0, 1, 0), "Ines": (1, 1, 0), "Kit": (0, 1, 0), "Morwenna": (0, 3, 0)}
#: who did not come on the day of the short round, and who had somebody else collect
ABSENT = "Osbert"
FETCHED = {"Agnes": "Dilys"}


@dataclasses.dataclass
class Rounds:
    """What the rounds need to be told."""

    teller: Teller
    people: People
    stands: Stands
    instructions: Instructions

    def first(self) -> Round:
        """Strips for every ask."""
        round = self._opened(150, 143, FIRST)
        self._shared(round, 143)
        self._handed(round, 140, ())
        self.teller.did(self.people.coordinator, self.teller.at(131, "20:00"), end_round, round=round)
        return round

    def second(self) -> Round:
        """Half of what was asked; one did not come, and his part went on by the same rule."""
        teller, edda = self.teller, self.people.coordinator
        round = self._opened(73, 65, SECOND)
        self._shared(round, 65)
        self._handed(round, 61, (ABSENT,))
        absent = [self.stands.keeper(ABSENT)]
        teller.did(edda, teller.at(59, "19:30"), pass_no_show, round=round, people=absent)
        self._handed(round, 58, ())
        return round

    def third(self) -> Round:
        """Open now, with a few asks in."""
        return self._opened(4, -6, THIRD)

    def _opened(self, opens: int, closes: int, asks: Mapping[str, tuple[int, int, int]]) -> Round:
        teller, edda = self.teller, self.people.coordinator
        opens_at = teller.at(opens, "18:00")
        name = _("Round of %(day)s") % {"day": wording.day(teller.day(opens))}
        round: Round = teller.did(
            edda,
            teller.at(opens, "17:50"),
            plan_round,
            name=name,
            instructions=self.instructions,
            opens_at=opens_at,
            closes_at=teller.moment(closes, "18:00"),
        )
        how = _("from a hat at the meeting, Bryony Tull looking on")
        teller.did(edda, opens_at, open_round, round=round, drawn=self._hat(), drawn_how=how)
        by_kind = kinds()
        for number, (first_name, counts) in enumerate(asks.items()):
            person = self.stands.keeper(first_name)
            who = person if person.email else edda
            names = ("nucleus", "single brood", "double brood")
            doses = {by_kind[name].pk: count for name, count in zip(names, counts, strict=True) if count}
            when = teller.at(opens - 1 - number % 3, "12:30")
            teller.did(who, when, ask, round=round, doses=doses, person=person)
        round.refresh_from_db()
        return round

    def _hat(self) -> dict[int, int]:
        """Every keeper's number, drawn by nobody: seven goes round any count that it does not divide."""
        names = ["Edda", "Bryony", *sorted(set(SECOND) - {"Edda", "Bryony"})]
        keepers = [self.stands.keeper(name).pk for name in names]
        return {person: 7 * place % len(keepers) + 1 for place, person in enumerate(keepers)}

    def _shared(self, round: Round, ago: int) -> None:
        edda = self.people.coordinator
        self.teller.did(edda, self.teller.at(ago, "18:05"), close_round, round=round)
        self.teller.did(edda, self.teller.at(ago - 1, "19:40"), share_out, round=round)

    def _handed(self, round: Round, ago: int, absent: Iterable[str]) -> None:
        """Collection: whole bags where they fit, parts of others, cautions read out to everybody."""
        away = {self.stands.keeper(name).pk for name in absent}
        shares = list(Share.objects.to_collect().filter(round=round).exclude(person__in=away).select_related("person"))
        day = self.teller.day(ago)
        picks = supply.pick_list(shares, list(may_go_out(day)))
        for number, share in enumerate(shares):
            for pick in picks[share.pk]:
                self.teller.did(
                    self.people.first if share.person != self.people.first else self.people.coordinator,
                    self.teller.at(ago, f"10:{2 * number % 60:02d}"),
                    hand_over,
                    bag=pick.bag,
                    receiver=share.person,
                    strips=pick.strips,
                    cautions=True,
                    collected_by=self._collector(share.person),
                    round=round,
                )

    def _collector(self, person: Person) -> Person | None:
        name = FETCHED.get(person.name.split()[0])
        return self.stands.keeper(name) if name else None
