"""Django's migrate, which lays the triggers again whatever happens."""

from typing import Any

from django.core.management.commands import migrate

from coop import triggers


class Command(migrate.Command):
    def handle(self, *args: Any, **options: Any) -> None:
        try:
            super().handle(*args, **options)
        finally:
            if not options.get("check_unapplied") and not options.get("plan"):
                triggers.lay(options["database"])
