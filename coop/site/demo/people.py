"""The invented club: its facts, its legal bases and everybody in it. None of them exists."""

import dataclasses

from django.utils.translation import gettext as _

from coop.commands.club import change_club
from coop.commands.founding import found_club
from coop.commands.legal import note_legal_basis
from coop.commands.people import add_person
from coop.models import HiveKind, Person, Role
from coop.site.demo.teller import ZONE, Teller

CLUB = "Sallow Fen Beekeepers"
#: numbers and mail domains that are kept free for invented people
MAIL = "%s@sallowfen.example"
PHONE = "01632 960%03d"

#: the first one is whom the start command names: her strips are due out tomorrow
MEMBERS = (
    "Dilys Marchbank",
    "Agnes Pell",
    "Corin Blythe",
    "Eamon Rook",
    "Farida Kessel",
    "Gideon Sloe",
    "Hester Lamb",
    "Ines Tarrant",
    "Jory Nance",
    "Kit Ambler",
    "Leontyne Ware",
    "Morwenna Strake",
    "Noor Hallam",
    "Osbert Fane",
)
WITHOUT_MAIL = "Agnes Pell"


@dataclasses.dataclass(frozen=True)
class People:
    """Who acts in the story. `members` by name."""

    coordinator: Person
    releaser: Person
    first: Person
    second: Person
    members: dict[str, Person]

    def __getitem__(self, name: str) -> Person:
        """A member by first name."""
        return next(person for full, person in self.members.items() if full.split()[0] == name)


def found(teller: Teller) -> People:
    """Found the club, write down what it leans on, and put everybody on the list."""
    coordinator: Person = teller.did(
        Person.objects.system(),
        teller.at(240, "19:00"),
        found_club,
        name=CLUB,
        zone=ZONE,
        coordinator_name="Edda Farrow",
        coordinator_email=MAIL % "edda",
        is_demo=True,
    )
    _describe_club(teller, coordinator)
    _note_legal_bases(teller, coordinator)
    people = iter(range(10, 99))

    def add(name: str, role: str = Role.MEMBER, is_releaser: bool = False) -> Person:
        person: Person = teller.did(
            coordinator,
            teller.at(236, "20:10"),
            add_person,
            name=name,
            email="" if name == WITHOUT_MAIL else MAIL % name.split()[0].lower(),
            phone=PHONE % next(people),
            role=role,
            is_releaser=is_releaser,
            joined_on=teller.day(236),
        )
        return person

    return People(
        coordinator,
        add("Matthias Orme", Role.VOLUNTEER, is_releaser=True),
        add("Bryony Tull", Role.VOLUNTEER),
        add("Kasimir Hale", Role.VOLUNTEER),
        {name: add(name) for name in MEMBERS},
    )


def kinds() -> dict[str, HiveKind]:
    """The hive kinds that every club begins with, by name."""
    return {kind.name: kind for kind in HiveKind.objects.all()}


def _describe_club(teller: Teller, coordinator: Person) -> None:
    teller.did(
        coordinator,
        teller.at(240, "19:20"),
        change_club,
        phone=PHONE % 1,
        poison_phone=PHONE % 2,
        shed_address=_("The Pump House, 2 Osier Drove, Sallow Fen (invented)"),
        sheet_link="https://chandler.example/sheets/oxalic-acid-dihydrate",
        signal_word=_("Danger"),
        hazard_text=_("Harmful if swallowed or in contact with skin. Causes serious eye damage."),
        mask_text=_("particle-filtering half mask of the class that the sheet names"),
        first_aid_text=_(
            "In the eyes: rinse with water at once and for several minutes, lenses out, then call the poison line. "
            "On skin: wash with plenty of water. Swallowed: rinse the mouth and call the poison line."
        ),
        can_titrate=True,
        bag_days=270,
    )


def _note_legal_bases(teller: Teller, coordinator: Person) -> None:
    """Three bases of an invented country; that for supply ends in seven weeks, so that the warning is there to see."""
    for subject, rule, until in (
        ("possession", _("Permit to keep oxalic acid for the club's own use (invented)"), 391),
        ("own_use", _("Keepers may treat their own hives by the club's written instructions (invented)"), 206),
        ("supply", _("The club may hand strips to its members, each under its code (invented)"), 48),
    ):
        teller.did(
            coordinator,
            teller.at(238, "18:00"),
            note_legal_basis,
            subject=subject,
            rule=rule,
            reference=_("Letter 7 of the fen district's office, invented for this demonstration"),
            checked_by="Edda Farrow",
            valid_from=teller.day(238),
            valid_until=teller.day(-until),
        )
