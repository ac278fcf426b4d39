"""The demo's apiaries and hives, and what happened to some of them."""

import dataclasses

from coop.models import Person
from coop.site.demo.people import People, kinds
from coop.site.demo.teller import Teller
from members.commands.apiaries import add_apiary, add_hives, end_hives, split_hive
from members.models import Apiary, Hive

#: keeper's first name, apiary, roughly where, and its nuclei, single and double brood hives
STANDS = (
    ("Agnes", "Osier Garth", "Sallow Fen", 0, 2, 0),
    ("Bryony", "Mere House", "Sallow Fen", 0, 3, 0),
    ("Corin", "Sluice Meadow", "Eelport", 1, 3, 1),
    ("Dilys", "Long Drove", "North Wath", 0, 5, 0),
    ("Edda", "Loft Garden", "Sallow Fen", 0, 2, 0),
    ("Eamon", "Heron Bank", "North Wath", 0, 1, 0),
    ("Farida", "Peat Cottage", "Sallow Fen", 2, 2, 0),
    ("Gideon", "Bittern Lode", "Eelport", 0, 4, 1),
    ("Gideon", "Church Acre", "Eelport", 0, 2, 0),
    ("Hester", "Old Brickworks", "Wath Common", 0, 3, 0),
    ("Ines", "Sedge Corner", "Wath Common", 1, 1, 0),
    ("Jory", "Twelve Foot Bank", "North Wath", 0, 6, 2),
    ("Kit", "Back Garden", "Eelport", 0, 1, 0),
    ("Leontyne", "Marl Pit", "Wath Common", 0, 2, 1),
    ("Morwenna", "Cuckoo Fen", "Cuckoo Fen", 0, 3, 0),
    ("Noor", "Plot 14", "Sallow Fen", 0, 2, 0),
    ("Osbert", "Poplar Row", "Eelport", 1, 4, 0),
)


@dataclasses.dataclass(frozen=True)
class Stands:
    """Keepers and apiaries by name."""

    people: People

    def keeper(self, first_name: str) -> Person:
        staff = {"Bryony": self.people.first, "Edda": self.people.coordinator}
        return staff.get(first_name) or self.people[first_name]

    def __getitem__(self, name: str) -> Apiary:
        return Apiary.objects.select_related("keeper", "place").get(name=name)


def settle(teller: Teller, people: People) -> Stands:
    """Everybody enters their own apiaries and hives; for who has no e-mail the coordinator does."""
    stands, by_kind = Stands(people), kinds()
    for number, (name, stand, where, *counts) in enumerate(STANDS):
        keeper = stands.keeper(name)
        who = keeper if keeper.email else people.coordinator
        when = teller.at(222 - number, "20:20")
        apiary = teller.did(who, when, add_apiary, name=stand, where=where, keeper=keeper)
        for kind, count in zip(("nucleus", "single brood", "double brood"), counts, strict=True):
            if count:
                teller.did(who, when, add_hives, apiary=apiary, kind=by_kind[kind], count=count)
    return stands


def split_in_spring(teller: Teller, stands: Stands) -> None:
    """Two hives are split into nuclei."""
    for name, ago in (("Sluice Meadow", 171), ("Twelve Foot Bank", 168)):
        hive = _hives(stands[name], "single brood")[0]
        facts = {"hive": hive, "kind": kinds()["nucleus"]}
        teller.did(hive.apiary.keeper, teller.at(ago, "15:00"), split_hive, **facts)


def lose_in_autumn(teller: Teller, stands: Stands) -> None:
    """One hive dies, one is sold."""
    for name, ending, ago in (("Poplar Row", "lost", 33), ("Twelve Foot Bank", "sold", 66)):
        hive = _hives(stands[name], "nucleus")[0]
        teller.did(hive.apiary.keeper, teller.at(ago, "16:30"), end_hives, hives=[hive], ending=ending)


def _hives(apiary: Apiary, kind: str) -> list[Hive]:
    found = Hive.objects.filter(apiary=apiary, kind__name=kind, until_on=None)
    return list(found.select_related("apiary__keeper").order_by("id"))
