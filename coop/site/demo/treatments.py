"""The demo's strips in hives: a spring treatment that is over, and an autumn one in every state that it can have."""

import dataclasses
from typing import Any

from django.utils.translation import gettext as _

from batches.models import Bag
from coop.models import Person
from coop.site.demo.apiaries import Stands
from coop.site.demo.people import People
from coop.site.demo.teller import Teller
from inventory.models import Holding, Place
from members.commands.handing import bring_back, pass_on
from members.commands.treating import LineOut, strips_in, strips_out
from members.models import Apiary, Hive, Share, Treatment

#: apiary, days ago in, days ago out, strips chewed away
SPRING = (
    ("Osier Garth", 138, 92, 0),
    ("Mere House", 139, 94, 1),
    ("Sluice Meadow", 137, 91, 0),
    ("Long Drove", 136, 88, 2),
    ("Peat Cottage", 138, 93, 0),
    ("Bittern Lode", 135, 90, 1),
    ("Church Acre", 135, 90, 0),
    ("Old Brickworks", 133, 87, 0),
    ("Twelve Foot Bank", 136, 91, 3),
    ("Plot 14", 132, 88, 0),
    ("Poplar Row", 137, 92, 0),
)
#: the same for autumn; None: still in. 45 days: 44 days ago is due tomorrow, 50 days ago is overdue for five days
AUTUMN: tuple[tuple[str, int, int | None, int], ...] = (
    ("Mere House", 59, 13, 0),
    ("Sluice Meadow", 57, 11, 2),
    ("Bittern Lode", 50, None, 0),
    ("Osier Garth", 50, None, 0),
    ("Long Drove", 44, None, 0),
    ("Marl Pit", 44, None, 0),
    ("Twelve Foot Bank", 41, None, 0),
    ("Loft Garden", 40, None, 0),
    ("Peat Cottage", 38, None, 0),
)


@dataclasses.dataclass
class Treatments:
    """What members did with their strips."""

    teller: Teller
    people: People
    stands: Stands

    def spring(self) -> None:
        """In and out again."""
        for name, ago_in, ago_out, chewed in SPRING:
            self._out(self._in(name, ago_in), ago_out, chewed)

    def autumn(self) -> None:
        """Some out, some due tomorrow, some overdue, some in; strips passed on and brought back."""
        done = [(self._in(name, ago_in), ago_out, chewed) for name, ago_in, ago_out, chewed in AUTUMN]
        for treatment, ago_out, chewed in done:
            if ago_out is not None:
                self._out(treatment, ago_out, chewed)

    def pass_some_on(self) -> None:
        """A keeper gives a hive dose to a neighbour who got none."""
        giver, receiver = self.stands.keeper("Jory"), self.stands.keeper("Kit")
        facts = {"bag": self._bag_of(giver), "receiver": receiver, "strips": 5, "cautions": True}
        self.teller.did(giver, self.teller.at(52, "17:00"), pass_on, **facts)
        self.teller.did(receiver, self.teller.at(49, "16:00"), strips_in, apiary=self.stands["Back Garden"])

    def bring_some_back(self) -> None:
        """Unopened strips of a keeper who treats otherwise this time."""
        person = self.stands.keeper("Hester")
        self.teller.did(
            self.people.coordinator,
            self.teller.at(27, "11:40"),
            bring_back,
            bag=self._bag_of(person),
            person=person,
            is_unopened=True,
            reason=_("The hives were united; she needs none."),
        )

    def _who(self, apiary: Apiary) -> Person:
        return apiary.keeper if apiary.keeper.email else self.people.coordinator

    def _in(self, name: str, ago: int) -> Treatment:
        apiary = self.stands[name]
        facts = {"apiary": apiary, "in_on": self.teller.day(ago), "hives": _meant_for(apiary)}
        made: Treatment = self.teller.did(self._who(apiary), self.teller.at(ago, "15:20"), strips_in, **facts)
        return made

    def _out(self, treatment: Treatment, ago: int, chewed: int) -> None:
        lines: list[LineOut] = []
        for row in treatment.lines.select_related("item").order_by("id"):
            gone = min(chewed, row.still_in)
            chewed -= gone
            lines.append(LineOut(row, row.still_in - gone, gone))
        facts: dict[str, Any] = {"treatment": treatment, "out_on": self.teller.day(ago), "lines": lines}
        self.teller.did(self._who(treatment.apiary), self.teller.at(ago, "16:10"), strips_out, **facts)

    def _bag_of(self, person: Person) -> Bag:
        """The fullest bag that somebody holds."""
        held = Holding.objects.filter(place=Place.objects.of_member(person), quantity__gt=0).order_by("-quantity", "id")
        return Bag.objects.select_related("item", "soak__bench").get(item=held[0].item_id)


def _meant_for(apiary: Apiary) -> list[Hive]:
    """So many hives of each kind as the keeper's last share has doses for, the largest doses first."""
    share = Share.objects.filter(person=apiary.keeper, doses__gt=0).order_by("-round__shared_at").first()
    chosen: list[Hive] = []
    for kind, doses in sorted(share.by_kind.items(), key=lambda one: -int(one[0])) if share else ():
        chosen += Hive.objects.filter(apiary=apiary, kind=int(kind), until_on=None).order_by("id")[:doses]
    return chosen
