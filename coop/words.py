"""Single-use words: made from the key of the deed that asked for them, kept only as a digest.

The same deed sent twice (a double tap, a retry after a crash) gives the same word again, so nothing has to be stored in
the clear to be idempotent. Without the server's secret key nobody can make one.
"""

import base64
import hashlib
import hmac
import secrets

from django.conf import settings

#: digits and letters that no one mistakes for each other when a code is read aloud
CODE_LETTERS = "346789CDFHJKMNPRTVWXY"
CODE_LENGTH = 6


def word_for(purpose: str, actor_id: int, key: str) -> str:
    """A word of 256 bits for links and tokens, the same for the same purpose, actor and key."""
    message = f"{purpose}\0{actor_id}\0{key}".encode()
    mac = hmac.new(settings.SECRET_KEY.encode(), message, hashlib.sha256).digest()
    return base64.urlsafe_b64encode(mac).rstrip(b"=").decode()


def digest(word: str, salt: str = "") -> str:
    """What the database keeps of a word. Short codes need a salt (the person) and a limit on tries."""
    return hmac.new(settings.SECRET_KEY.encode(), f"{salt}\0{word}".encode(), hashlib.sha256).hexdigest()


def short_code() -> str:
    """Six letters for typing, about 26 bits: only with few tries and a short life."""
    return "".join(secrets.choice(CODE_LETTERS) for _place in range(CODE_LENGTH))


def plain(code: str) -> str:
    """A typed short code without spaces, dashes and lower case."""
    return "".join(letter for letter in code.upper() if letter.isalnum())


def spaced(code: str) -> str:
    return f"{code[:3]} {code[3:]}"
