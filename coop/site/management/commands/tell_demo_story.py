"""The invented club and its season, for `deploy/start --demo`."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from coop.command import Refused
from coop.site.demo.story import tell


class Command(BaseCommand):
    help = "Make the invented demo club and live one season through, dated back from today. Only where no club is yet."

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            tell(timezone.now())
        except Refused as refusal:
            raise CommandError(refusal.sentence) from None
