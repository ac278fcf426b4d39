"""A real mail server on loopback that keeps what it is sent, and can be told to refuse."""

import contextlib
import email
import email.policy
import threading
from collections.abc import Iterator
from email.message import EmailMessage
from typing import Any

from aiosmtpd.controller import Controller

from deploy.engines import free_port


class Postbox:
    """What arrived, in order. `refusal` (such as "451 later") is answered to every letter while it is set."""

    def __init__(self) -> None:
        self.letters: list[EmailMessage] = []
        self.refusal = ""
        self.port = 0
        self._lock = threading.Lock()

    @property
    def url(self) -> str:
        return f"smtp+plain://127.0.0.1:{self.port}"

    def to(self, address: str) -> list[EmailMessage]:
        return [letter for letter in self.letters if letter["X-To"] == address]

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        if self.refusal:
            return self.refusal
        letter = email.message_from_bytes(envelope.original_content, policy=email.policy.default)
        letter["X-To"] = envelope.rcpt_tos[0]
        with self._lock:
            self.letters.append(letter)
        return "250 kept"


@contextlib.contextmanager
def smtp() -> Iterator[Postbox]:
    box = Postbox()
    box.port = free_port()
    controller = Controller(box, hostname="127.0.0.1", port=box.port)
    controller.start()
    try:
        yield box
    finally:
        controller.stop()
