"""Makers of the ground: a club, people of each role, and a browser that is signed in as one of them."""

import itertools
import time
from typing import Any

import factory

from coop.command import command, new_key
from coop.models import Club, Deed, Person

_numbers = itertools.count(1)

CLUB = {
    "name": "Willow Bank Beekeepers",
    "zone": "Europe/Paris",
    "phone": "+33 1 99 00 12 34",
    "poison_phone": "+33 1 99 00 56 78",
    "shed_address": "3 Mill Lane, Willow Bank",
    "sheet_link": "https://supplier.example/sheets/oxalic-acid-dihydrate",
    "signal_word": "Danger",
    "hazard_text": "Harmful in contact with skin or if swallowed. Causes serious eye damage.",
    "mask_text": "particle-filtering half mask, class as the sheet names it",
    "first_aid_text": "In the eyes: rinse with water for several minutes and call the poison line.",
}


class PersonFactory(factory.django.DjangoModelFactory):
    """Somebody of the club; `role` is member unless said."""

    class Meta:
        model = Person

    name = factory.Sequence(lambda number: f"Person {number}")
    email = factory.Sequence(lambda number: f"person{number}@example.org")
    role = "member"

    @classmethod
    def _create(cls, model_class: Any, *args: Any, **kwargs: Any) -> Person:
        return Person.objects.create_user(kwargs.pop("email"), **kwargs)


def club(**facts: Any) -> Club:
    """The one club of a test, made the first time it is asked for."""
    found, is_new = Club.objects.get_or_create(pk=1, defaults={**CLUB, **facts})
    if not is_new and facts:
        for name, value in facts.items():
            setattr(found, name, value)
        found.save()
    return found


def person(name: str = "", role: str = "member", **facts: Any) -> Person:
    club()
    if name:
        facts.setdefault("email", f"{name.split()[0].lower()}{next(_numbers)}@example.org")
        facts["name"] = name
    made: Person = PersonFactory(role=role, **facts)
    return made


def member(name: str = "", **facts: Any) -> Person:
    return person(name, "member", **facts)


def volunteer(name: str = "", **facts: Any) -> Person:
    return person(name, "volunteer", **facts)


def coordinator(name: str = "", **facts: Any) -> Person:
    return person(name, "coordinator", **facts)


def releaser(name: str = "", role: str = "member", **facts: Any) -> Person:
    return person(name, role, is_releaser=True, **facts)


def sign_in(client: Any, person: Person, fresh: bool = True) -> Any:
    """The test client signed in as a person, with a code entered just now or, not `fresh`, long ago."""
    client.force_login(person)
    session = client.session
    at = time.time() - (0 if fresh else 30 * 24 * 3600)
    session["account_authentication_methods"] = [{"method": "code", "at": at}]
    session["account_authentication_methods_user"] = str(person.pk)
    session.save()
    return client


def do(command: Any, by: Person | None = None, **arguments: Any) -> Any:
    """Run a command as somebody (a coordinator unless said) under a fresh key."""
    actor = by if by is not None else Person.objects.filter(role="coordinator").first() or coordinator()
    arguments.setdefault("key", new_key())
    return command(actor=actor, **arguments)


@command("test.deed")
def _just_a_deed(deed: Deed) -> int:
    return deed.pk


def deed(by: Person | None = None) -> Deed:
    """A deed on its own, for rows that need one."""
    return Deed.objects.get(pk=do(_just_a_deed, by))
