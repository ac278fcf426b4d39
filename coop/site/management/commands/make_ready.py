"""What the start command runs before the server: database, static files, and the club at its first start."""

import dataclasses
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
from django.utils.translation import gettext as _

from coop import triggers
from coop.command import Refused, new_key
from coop.commands import founding
from coop.models import Club, Deed, Person, Role


@dataclasses.dataclass(frozen=True)
class Standing:
    """What the database says of the club before anything is touched."""

    name: str
    is_demo: bool


class Command(BaseCommand):
    help = "Bring database and static files up to date, and found the club where there is none."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        for flag in ("--name", "--zone", "--coordinator-name", "--coordinator-email"):
            parser.add_argument(flag)

    def handle(self, *args: Any, **options: Any) -> None:
        settings.DATA_FOLDER.mkdir(parents=True, exist_ok=True, mode=0o700)
        standing = look()
        refuse_other_kind(standing)
        facts = answers(options) if standing is None and not settings.IS_DEMO else {}
        bring_database_up_to_date()
        collect_static_files()
        if settings.IS_DEMO:
            self.tell(standing)
        elif standing is None:
            self.found_club(facts)

    def tell(self, standing: Standing | None) -> None:
        """The demo's story, once; one that broke off is not shown as if it were whole."""
        told = settings.DATA_FOLDER / "demo.told"
        if standing is None:
            self.stdout.write(_("Telling the demo club's story (once, about half a minute) ..."))
            self.stdout.flush()
            call_command("tell_demo_story")
            told.touch()
        elif not told.exists():
            raise CommandError(
                _("The demo's story in %(folder)s broke off. Remove that folder and start the demo again.")
                % {"folder": settings.DATA_FOLDER}
            )
        self.stdout.write(demo_words())

    def found_club(self, facts: dict[str, str]) -> None:
        coordinator = founding.found_club(actor=Person.objects.system(), key=new_key(), door=Deed.Door.SHELL, **facts)
        self.stdout.write(
            "\n" + _("%(name)s can sign in once with this, within ten minutes of now:") % {"name": coordinator}
        )
        call_command("let_in", coordinator.email)
        self.stdout.write(
            _("Later the sign-in page mails a code; without a mail server, manage.py let_in prints a new link.")
        )


def look() -> Standing | None:
    """Reads two columns that every version has had. Refuses where the database cannot be reached."""
    try:
        if Club._meta.db_table not in connection.introspection.table_names():
            return None
    except OperationalError as trouble:
        raise CommandError(
            _("The database cannot be reached; nothing was changed. See COOP_DATABASE_URL. It said: %(words)s")
            % {"words": trouble}
        ) from None
    row = Club.objects.values_list("name", "is_demo").first()
    return Standing(*row) if row else None


def refuse_other_kind(standing: Standing | None) -> None:
    """A demo's codes stand on the screen: it must never run as a real club, nor the other way round."""
    if standing is None or standing.is_demo == settings.IS_DEMO:
        return
    if standing.is_demo:
        raise CommandError(
            _(
                "The data folder %(folder)s holds the demo club; nothing was changed. Start it with --demo, or choose "
                "another folder with --data for a club of your own."
            )
            % {"folder": settings.DATA_FOLDER}
        )
    raise CommandError(
        _(
            "The data folder %(folder)s holds the club “%(name)s”, so no demo is started on it; nothing was changed. "
            "Leave --demo out, or give the demo a folder of its own with --data."
        )
        % {"folder": settings.DATA_FOLDER, "name": standing.name}
    )


def bring_database_up_to_date() -> None:
    """Migrate where there is something to migrate, and lay lost triggers. Refuses a database of a newer server."""
    executor = MigrationExecutor(connection)
    loader = executor.loader
    newer = sorted(
        ".".join(one)
        for one in loader.applied_migrations
        if one[0] in loader.migrated_apps and one not in loader.disk_migrations and one not in loader.replacements
    )
    if newer:
        raise CommandError(
            _(
                "This database was used by a newer server (%(names)s), so this one leaves it alone. "
                "Start the newer version, or restore the backup made before it."
            )
            % {"names": ", ".join(newer)}
        )
    if executor.migration_plan(loader.graph.leaf_nodes()) or triggers.missing():
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


def answers(options: dict[str, Any]) -> dict[str, str]:
    """From the flags, else asked on the terminal, again until they can be used."""
    questions: dict[str, tuple[str, Callable[[str], str]]] = {
        "name": (_("The club's name"), founding.check_name),
        "zone": (_("Its time zone, such as Europe/Paris"), founding.check_zone),
        "coordinator_name": (_("The first coordinator's name"), founding.check_name),
        "coordinator_email": (_("The coordinator's mail address"), founding.check_email),
    }
    missing = [f"--{name.replace('_', '-')}" for name in questions if options[name] is None]
    if missing and not sys.stdin.isatty():
        raise CommandError(
            _("There is no club yet and no terminal to ask on; nothing was made. Add the flags %(flags)s.")
            % {"flags": ", ".join(missing)}
        )
    return {name: _answer(options[name], *question) for name, question in questions.items()}


def _answer(given: str | None, question: str, check: Callable[[str], str]) -> str:
    while True:
        try:
            return check(given if given is not None else input(f"{question}: "))
        except Refused as refusal:
            if given is not None:
                raise CommandError(f"{refusal.sentence} " + _("Nothing was made.")) from None
            sys.stderr.write(f"{refusal.sentence}\n")
        except EOFError:
            raise CommandError(_("The questions were not answered; nothing was made.")) from None


def demo_words() -> str:
    """Where to sign in, and as whom."""
    people = Person.objects.here().filter(is_active=True).exclude(email=None).order_by("is_releaser", "id")
    roles = {
        _("coordinator"): people.filter(role=Role.COORDINATOR).first(),
        _("releaser"): people.filter(is_releaser=True).first(),
        _("volunteer"): people.filter(role=Role.VOLUNTEER).first(),
        _("member"): people.filter(role=Role.MEMBER).first(),
    }
    lines = [f"  {role:<12} {person.email}   ({person})" for role, person in roles.items() if person]
    heading = _("This is the demo club. Sign in at %(address)s as one of these; the code is shown on the screen:")
    return "\n".join(["", heading % {"address": settings.SITE_ADDRESS}, *lines])
