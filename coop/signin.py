"""How the sign-in library fits this club: nobody signs up by themselves, and its mails become letters."""

import datetime as dt
from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from coop import letters, words
from coop.command import new_key
from coop.models import Club, Person


class Adapter(DefaultAccountAdapter):  # type: ignore[misc]
    error_messages = {
        **DefaultAccountAdapter.error_messages,
        "incorrect_code": gettext_lazy("That is not the code that was sent. Look again, or ask for a new one."),
        "too_many_login_attempts": gettext_lazy("Too many tries. Wait a few minutes, then ask for a new code."),
        "rate_limited": gettext_lazy("A code was sent a moment ago. Wait a minute before asking for another."),
    }

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        """People come in by invitation only."""
        return False

    def can_delete_email(self, email_address: Any) -> bool:
        return False

    def generate_login_code(self) -> str:
        return words.spaced(words.short_code())

    def add_message(self, request: HttpRequest, level: int, *args: Any, **kwargs: Any) -> None:
        """As the library says it, but a demo does not say that a code is on its way."""
        template = kwargs.get("message_template") or (args[0] if args else "")
        if "login_code_sent" in str(template) and letters.is_demo():
            return
        super().add_message(request, level, *args, **kwargs)

    def send_mail(self, template_prefix: str, email: str, context: dict[str, Any]) -> None:
        """Every mail of the library becomes a secret letter that goes at once; a demo shows its code instead."""
        club = Club.objects.filter(pk=1).first()
        if club is not None and club.is_demo:
            if "code" in context:
                show_demo_code(context["request"], str(context["code"]))
            return
        known = {**context, "club": club, "minutes": settings.ACCOUNT_LOGIN_BY_CODE_TIMEOUT // 60}
        send_code(
            email,
            render_to_string(f"{template_prefix}_subject.txt", known),
            render_to_string(f"{template_prefix}_message.txt", known),
            Person.objects.here().filter(email__iexact=email).first(),
        )


def send_code(email: str, subject: str, body: str, person: Person | None) -> None:
    """A letter with a code: it overtakes the others, is useless after ten minutes, and a worker is woken for it."""
    now = timezone.now()
    letters.queue(
        key=f"code:{new_key()}",
        person=person,
        to=email,
        subject=subject,
        body=body.strip() + "\n",
        kind="code",
        is_secret=True,
        now=now,
        expires_at=now + dt.timedelta(seconds=settings.ACCOUNT_LOGIN_BY_CODE_TIMEOUT),
    )
    letters.ring()


def send_fresh_code(person: Person, code: str) -> None:
    """The code asked before what needs a second look. The person has an e-mail."""
    club = Club.objects.filter(pk=1).first()
    known = {"person": person, "club": club, "code": words.spaced(code), "minutes": 10}
    subject = _("%(club)s: a code to confirm that it is you") % {"club": club.name if club else ""}
    send_code(str(person.email), subject, render_to_string("coop/letters/fresh_code.txt", known), person)


def show_demo_code(request: HttpRequest, code: str) -> None:
    messages.info(request, _("This is the demo, so no mail is sent. The code is %(code)s") % {"code": code})
