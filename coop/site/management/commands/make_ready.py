"""What the start command runs before the server: database, static files, and the club at its first start."""

import hashlib
import sys
from argparse import ArgumentParser
from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core.management import CommandError, call_command
from django.core.management.base import BaseCommand
from django.db import connection
from django.db.migrations.executor import MigrationExecutor
from django.db.utils import OperationalError

from coop import triggers
from coop.command import Refused, new_key
from coop.commands import founding
from coop.models import Club, Deed, Person


class Command(BaseCommand):
    help = "Bring database and static files up to date, and found the club where there is none."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--name")
        parser.add_argument("--zone")
        parser.add_argument("--coordinator-name")
        parser.add_argument("--coordinator-email")

    def handle(self, *args: Any, **options: Any) -> None:
        settings.DATA_FOLDER.mkdir(parents=True, exist_ok=True, mode=0o700)
        bring_database_up_to_date()
        collect_static_files()
        club = Club.objects.first()
        if club is None and settings.IS_DEMO:
            self.stdout.write("Telling the demo club's story (once) ...")
            self.stdout.flush()
            call_command("tell_demo_story")
            club = Club.objects.first()
        elif club is None:
            self.found_club(options)
            club = Club.objects.first()
        refuse_other_kind(club)
        if settings.IS_DEMO:
            self.stdout.write(demo_words())

    def found_club(self, options: dict[str, Any]) -> None:
        coordinator = founding.found_club(
            actor=Person.objects.system(), key=new_key(), door=Deed.Door.SHELL, **answers(options)
        )
        self.stdout.write(f"\n{coordinator} can sign in once with this link, within ten minutes of now:")
        call_command("let_in", coordinator.email)
        self.stdout.write("Later: the sign-in page mails a code; without a mail server, run manage.py let_in again.")


def bring_database_up_to_date() -> None:
    """Migrate where there is something to migrate, and lay lost triggers. Refuses a database of a newer server."""
    try:
        executor = MigrationExecutor(connection)
    except OperationalError as trouble:
        raise CommandError(
            f"The database cannot be reached: {trouble}Nothing was changed. See COOP_DATABASE_URL."
        ) from None
    ours = executor.loader.migrated_apps
    newer = sorted(
        ".".join(one)
        for one in executor.loader.applied_migrations
        if one[0] in ours and one not in executor.loader.disk_migrations and one not in executor.loader.replacements
    )
    if newer:
        raise CommandError(
            f"This database was used by a newer server ({', '.join(newer)}), so this one leaves it alone. "
            "Start the newer version, or restore the backup made before it."
        )
    if executor.migration_plan(executor.loader.graph.leaf_nodes()) or triggers.missing():
        call_command("migrate", interactive=False, verbosity=0)


def collect_static_files() -> None:
    """Only where a file has changed since the last time."""
    digest = hashlib.sha256()
    for finder in get_finders():
        for path, storage in finder.list([]):
            digest.update(f"{path} {storage.size(path)} {storage.get_modified_time(path).timestamp()}\n".encode())
    stamp = settings.DATA_FOLDER / "static.stamp"
    if stamp.exists() and stamp.read_text() == digest.hexdigest() and settings.STATIC_ROOT.exists():
        return
    call_command("collectstatic", interactive=False, verbosity=0, clear=True)
    stamp.write_text(digest.hexdigest())


def refuse_other_kind(club: Club | None) -> None:
    """A demo's codes stand on the screen: it must never run as a real club, nor the other way round."""
    if club is None or club.is_demo == settings.IS_DEMO:
        return
    if club.is_demo:
        raise CommandError(
            f"The data folder {settings.DATA_FOLDER} holds the demo club. Start it with --demo, or choose "
            "another folder with --data for a club of your own."
        )
    raise CommandError(
        f"The data folder {settings.DATA_FOLDER} holds the club “{club}”, so no demo is started on it; nothing "
        "was changed. Leave --demo out, or give the demo a folder of its own with --data."
    )


def answers(options: dict[str, Any]) -> dict[str, str]:
    """From the flags, else asked on the terminal, again until they can be used."""
    questions: dict[str, tuple[str, Callable[[str], str]]] = {
        "name": ("The club's name", founding.check_name),
        "zone": ("Its time zone, such as Europe/Paris", founding.check_zone),
        "coordinator_name": ("The first coordinator's name", founding.check_name),
        "coordinator_email": ("The coordinator's mail address", founding.check_email),
    }
    missing = [f"--{name.replace('_', '-')}" for name in questions if options[name] is None]
    if missing and not sys.stdin.isatty():
        raise CommandError(f"There is no club yet and no terminal to ask on. Add the flags {', '.join(missing)}.")
    return {name: _answer(options[name], *question) for name, question in questions.items()}


def _answer(given: str | None, question: str, check: Callable[[str], str]) -> str:
    while True:
        try:
            return check(given if given is not None else input(f"{question}: "))
        except Refused as refusal:
            if given is not None:
                raise CommandError(f"{refusal.sentence} Nothing was founded.") from None
            sys.stderr.write(f"{refusal.sentence}\n")
        except EOFError:
            raise CommandError("The questions were not answered; nothing was founded.") from None


def demo_words() -> str:
    """Where to sign in, and as whom."""
    people = Person.objects.here().filter(is_active=True).exclude(email=None).order_by("id")
    roles = {
        "coordinator": people.filter(role="coordinator", is_releaser=False).first()
        or people.filter(role="coordinator").first(),
        "releaser": people.filter(is_releaser=True).first(),
        "volunteer": people.filter(role="volunteer", is_releaser=False).first(),
        "member": people.filter(role="member", is_releaser=False).first(),
    }
    lines = [f"  {role:<12} {person.email}   ({person})" for role, person in roles.items() if person]
    return "\n".join(
        [
            f"This is the demo club. Sign in at {settings.SITE_ADDRESS} as one of these; the code is on the screen:",
            *lines,
        ]
    )
