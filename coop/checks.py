"""Mistakes in the settings, told as system checks with a hint before they cost somebody an evening."""

import os
from collections.abc import Sequence
from typing import Any

from django.apps import AppConfig
from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, Warning, register
from django.db import connections

from coop import triggers


@register(Tags.security, deploy=True)
def address_is_reachable(app_configs: Sequence[AppConfig] | None, **kwargs: Any) -> list[CheckMessage]:
    address = settings.CONF.address
    if address.is_loopback and not settings.IS_DEMO:
        return [
            Warning(
                "The site's address is this machine's own, so links in letters open for nobody else.",
                hint="Set COOP_ADDRESS to the address people type, such as https://strips.example.org.",
                id="coop.W001",
            )
        ]
    if not address.is_https and not address.is_loopback:
        return [
            Warning(
                "The site's address starts with http://: codes travel readable.",
                hint="Put a proxy with a certificate in front, and set COOP_ADDRESS to its https:// address.",
                id="coop.W002",
            )
        ]
    return []


@register(Tags.security, deploy=True)
def letters_leave_the_house(app_configs: Sequence[AppConfig] | None, **kwargs: Any) -> list[CheckMessage]:
    if settings.CONF.smtp or settings.IS_DEMO:
        return []
    return [
        Warning(
            f"No mail server is set: letters are only written as files in {settings.LETTER_FOLDER}.",
            hint="Set COOP_SMTP_URL, then try it with: manage.py sendtestletter you@example.org",
            id="coop.W003",
        )
    ]


@register()
def data_folder_is_writable(app_configs: Sequence[AppConfig] | None, **kwargs: Any) -> list[CheckMessage]:
    folder = settings.DATA_FOLDER
    if not folder.exists() or os.access(folder, os.W_OK | os.X_OK):
        return []
    return [
        Error(
            f"The data folder {folder} cannot be written to.",
            hint="Give it to the account that runs the server, or set COOP_DATA to another folder.",
            id="coop.E001",
        )
    ]


@register(Tags.database)
def triggers_stand(
    app_configs: Sequence[AppConfig] | None, databases: Sequence[str] | None = None, **kwargs: Any
) -> list[CheckMessage]:
    """Only where tables stand: before the first migration there is nothing to guard."""
    troubles: list[CheckMessage] = []
    for alias in databases or ():
        if "coop_deed" not in connections[alias].introspection.table_names():
            continue
        gone = triggers.missing(alias)
        if gone:
            troubles.append(
                Error(
                    f"The database has lost guards: {', '.join(gone)}.",
                    hint="Stop the server and run: manage.py migrate, which lays them again. Then: manage.py prove",
                    id="coop.E002",
                )
            )
    return troubles
