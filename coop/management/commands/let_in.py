"""Print a link that lets one person in, once, within ten minutes: for when mail is down."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from coop.command import Refused, new_key
from coop.commands import invitations, people
from coop.models import Club, Deed, Person


class Command(BaseCommand):
    help = "Print a single-use link, good for ten minutes, that signs one person in."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("email", help="the person's e-mail, as the club's list has it")
        parser.add_argument(
            "--make-coordinator", action="store_true", help="make the person coordinator; add them if they are new"
        )
        parser.add_argument("--name", default="", help="the name of somebody who is new")

    def handle(self, *args: Any, **options: Any) -> None:
        if not Club.objects.filter(pk=1).exists():
            raise CommandError("There is no club yet. Run deploy/start first.")
        try:
            person = self._person(options["email"].strip(), options)
            key = new_key()
            system = Person.objects.system()
            invitations.let_in(
                actor=system,
                key=key,
                door=Deed.Door.SHELL,
                person=person,
                make_coordinator=options["make_coordinator"],
            )
        except Refused as refusal:
            raise CommandError(refusal.sentence) from None
        self.stdout.write(invitations.link_for(system.pk, key))

    def _person(self, email: str, options: dict[str, Any]) -> Person:
        found = Person.objects.here().filter(email__iexact=email).first()
        if found is not None:
            return found
        if not options["make_coordinator"]:
            raise CommandError(f"Nobody of the club has the e-mail {email}. Nothing was changed.")
        added: Person = people.add_person(
            actor=Person.objects.system(),
            key=new_key(),
            door=Deed.Door.SHELL,
            name=options["name"] or email.partition("@")[0],
            email=email,
        )
        return added
