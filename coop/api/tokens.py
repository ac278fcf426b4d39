"""Sign-in of programs: `Authorization: Token …`, of which the database keeps a digest only."""

import datetime as dt

from django.db.models import Q
from django.utils import timezone
from rest_framework import authentication, exceptions
from rest_framework.request import Request

from coop import words
from coop.models import ApiToken, Person

NOTE_EVERY = dt.timedelta(minutes=5)


class TokenAuthentication(authentication.BaseAuthentication):
    """A token acts as the person who made it, with their role of this moment. A wrong one is refused."""

    def authenticate(self, request: Request) -> tuple[Person, ApiToken] | None:
        header = authentication.get_authorization_header(request).split()
        if not header or header[0].lower() != b"token":
            return None
        if len(header) != 2:
            raise exceptions.AuthenticationFailed("Send: Authorization: Token, a space, the token.")
        token = self._known(header[1])
        now = timezone.now()
        stale = Q(last_used_at=None) | Q(last_used_at__lt=now - NOTE_EVERY)
        ApiToken.objects.filter(stale, pk=token.pk).update(last_used_at=now)
        return token.person, token

    def _known(self, word: bytes) -> ApiToken:
        digest = words.digest(word.decode("ascii", errors="replace"))
        found = ApiToken.objects.select_related("person").filter(digest=digest, revoked_at=None).first()
        if found is None or not found.person.is_active:
            raise exceptions.AuthenticationFailed("This token is not known, or was revoked.")
        return found

    def authenticate_header(self, request: Request) -> str:
        return "Token"
