"""Django's flush, which must lift the triggers of append-only tables and lay them again whatever happens."""

from typing import Any

from django.core.management.commands import flush

from coop import triggers


class Command(flush.Command):
    def handle(self, **options: Any) -> None:
        triggers.lift(options["database"])
        try:
            super().handle(**options)
        finally:
            triggers.lay(options["database"])
