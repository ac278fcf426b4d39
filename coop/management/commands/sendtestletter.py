"""Send one letter now, and say loudly what the mail server answers."""

import contextlib
from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.core.validators import validate_email
from django.utils import timezone
from django.utils.translation import gettext as _

from coop import letters
from coop.command import new_key


class Command(BaseCommand):
    help = "Send a test letter to an address, at once."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("address")

    def handle(self, *args: Any, **options: Any) -> None:
        address = options["address"].strip()
        try:
            validate_email(address)
        except ValidationError:
            raise CommandError(f"“{address}” is no e-mail address. Nothing was sent.") from None
        now = timezone.now()
        letter = letters.queue(
            key=f"test:{new_key()}",
            to=address,
            subject=_("A test letter"),
            body=_("If you read this, letters leave the server.\n\n%(site)s") % {"site": settings.SITE_ADDRESS},
            kind="test",
            now=now,
        )
        held = letters.lease(letter.pk, now) if letter else None
        if held is None:
            raise CommandError("Another sender took the letter; look into the outbox.")
        with contextlib.suppress(letters.Unreachable):
            letters.deliver(held)
        held.refresh_from_db()
        if held.state != "sent":
            raise CommandError(f"Not sent: {held.last_error} It stays in the outbox, and is tried again.")
        self.stdout.write(where(address))


def where(address: str) -> str:
    """Sent, or only written down as a file."""
    if settings.EMAIL_BACKEND == letters.FOLDER_BACKEND or letters.is_demo():
        return f"No mail server is set (COOP_SMTP_URL), so the letter is a file in {settings.LETTER_FOLDER}."
    return f"The mail server took the letter to {address}."
