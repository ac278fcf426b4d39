"""Mail as files: the embedded default, and what the demo always uses. One letter, one .eml file."""

import os
import tempfile
from collections.abc import Sequence
from pathlib import Path

from django.conf import settings
from django.core.mail import EmailMessage
from django.core.mail.backends.base import BaseEmailBackend


class EmailBackend(BaseEmailBackend):
    """Writes each letter whole or not at all, readable by the server's own account only.

    The file is named for the Message-ID, so a letter written twice is one file.
    """

    def send_messages(self, email_messages: Sequence[EmailMessage]) -> int:
        folder = Path(settings.LETTER_FOLDER)
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        for message in email_messages:
            _write(folder, message)
        return len(email_messages)


def _write(folder: Path, message: EmailMessage) -> None:
    letter = message.message()
    name = str(letter["Message-ID"]).strip("<>").partition("@")[0]
    safe = "".join(one for one in name if one.isalnum() or one in "-_") or "letter"
    handle, path = tempfile.mkstemp(dir=folder, suffix=".part")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(letter.as_bytes())
        os.replace(path, folder / f"{safe}.eml")
    except BaseException:
        os.unlink(path)
        raise
