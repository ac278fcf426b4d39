"""Nothing secret reaches a log."""

import logging

import pytest

from coop.logs import NoSecrets, blot


@pytest.mark.parametrize(
    "text",
    [
        "cannot reach postgresql://coop:hunter2hunter2@db/strips",
        "GET /come-in/hunter2hunter2hunter2hunter2",
        "token=hunter2hunter2",
        'body {"code": "hunter2hunter2"}',
        "Authorization: hunter2hunter2",
    ],
)
def test_it_blots_what_is_secret(text: str):
    assert "hunter2" not in blot(text)


@pytest.mark.parametrize("text", ["3 letters sent", "/items/KXJV3Y4X not found", "redis://host:6379/0 is away"])
def test_it_leaves_the_rest_alone(text: str):
    assert blot(text) == text


def test_the_filter_blots_the_finished_message():
    record = logging.LogRecord("coop", logging.INFO, "", 1, "at %s", ("redis://:hunter2@host",), None)
    assert NoSecrets().filter(record)
    assert record.getMessage() == "at redis://:***@host"
