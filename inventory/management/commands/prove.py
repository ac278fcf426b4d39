"""manage.py prove: everything derived is computed again, and every difference is printed."""

import resource
import sys
import time
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from coop.registry import proofs
from inventory.models import Movement


def peak_mb() -> float:
    """The most memory this process ever had. Linux counts in kilobytes, macOS in bytes."""
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / (1024 * 1024 if sys.platform == "darwin" else 1024)


class Command(BaseCommand):
    help = "Compute everything derived again from what was written once, and print every difference."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("names", nargs="*", help="proofs to run, all when left out")
        parser.add_argument("--list", action="store_true", help="only name the proofs there are")

    def handle(self, *args: Any, names: list[str], **options: Any) -> None:
        """Exit code 0 when the books agree, 1 when they do not, 2 for a name that is not a proof."""
        known = dict(proofs.items())
        if options["list"]:
            self.stdout.write("\n".join(known))
            return
        unknown = sorted(set(names) - set(known))
        if unknown:
            self.stderr.write(f"There is no proof called {', '.join(unknown)}. Name them with: manage.py prove --list")
            raise SystemExit(2)
        began, count = time.monotonic(), Movement.objects.count()
        differences = sum(self._prove(name, known[name]) for name in names or known)
        self.stdout.write(
            f"Went through {count} movements in {time.monotonic() - began:.2f} s, with {peak_mb():.0f} MB at most."
        )
        if differences:
            self.stderr.write(
                f"{differences} differences. Stop the server, keep a copy of the database, and find out why."
            )
            raise SystemExit(1)

    def _prove(self, name: str, proof: Any) -> int:
        started = time.monotonic()
        found = 0
        for found, sentence in enumerate(proof(), start=1):  # noqa: B007
            self.stdout.write(f"{name}: {sentence}")
        if not found:
            self.stdout.write(f"{name}: agrees ({time.monotonic() - started:.2f} s)")
        return found
