"""Nothing secret reaches a log: long random words and passwords in addresses are blotted out."""

import logging
import re

_BLOTS = (
    (re.compile(r"(\w+://[^/\s:@]*:)[^@\s/]+(@)"), r"\1***\2"),
    (re.compile(r"(?<=/)(?=[A-Za-z0-9_-]*[0-9])(?=[A-Za-z0-9_-]*[A-Za-z])[A-Za-z0-9_:-]{20,}"), "***"),
    (
        re.compile(r"(?i)(\b(?:token|key|code|password|secret|authorization)\b[\"']?\s*[=:]\s*[\"']?)[^\s\"'&,;]{6,}"),
        r"\1***",
    ),
)


def blot(text: str) -> str:
    """The text without passwords of addresses, path parts that look like single-use links, and `key=value` secrets."""
    for pattern, instead in _BLOTS:
        text = pattern.sub(instead, text)
    return text


class NoSecrets(logging.Filter):
    """Blots the finished message and keeps the record otherwise as it is."""

    def filter(self, record: logging.LogRecord) -> bool:
        record.msg, record.args = blot(record.getMessage()), ()
        return True
