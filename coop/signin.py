"""How the sign-in library fits this club: nobody signs up by themselves."""

from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from django.http import HttpRequest


class Adapter(DefaultAccountAdapter):  # type: ignore[misc]
    def is_open_for_signup(self, request: HttpRequest) -> bool:
        """People come in by invitation only."""
        return False

    def can_delete_email(self, email_address: Any) -> bool:
        return False
