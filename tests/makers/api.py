"""A program at the API, signed in as somebody: posts deeds under fresh keys and reads what comes back."""

import datetime as dt
from typing import Any

from django.test import Client

from coop.command import new_key
from coop.models import Person
from tests.makers.coop import sign_in


class Api:
    """Paths are given below /api/v1/. `now` is sent as happened_at where it is set."""

    def __init__(self, person: Person, fresh: bool = True) -> None:
        self.client = sign_in(Client(), person, fresh)
        self.now: dt.datetime | None = None

    def send(self, path: str, key: str = "", **body: Any) -> Any:
        """The bare response to a post."""
        if self.now is not None:
            body.setdefault("happened_at", self.now.isoformat())
        headers = {"Idempotency-Key": key or new_key()}
        return self.client.post(f"/api/v1/{path}", body, content_type="application/json", headers=headers)

    def post(self, path: str, **body: Any) -> Any:
        """The answer to a deed that must be done."""
        response = self.send(path, **body)
        assert response.status_code == 201, (path, response.status_code, response.content.decode()[:600])
        return response.json()

    def refused(self, path: str, code: str, **body: Any) -> Any:
        """The problem document of a deed that must be refused, with this code."""
        response = self.send(path, **body)
        assert response.status_code in (403, 404, 409, 422), (path, response.status_code, response.content[:600])
        answer = response.json()
        assert answer["code"] == code, answer
        return answer

    def get(self, path: str, **query: Any) -> Any:
        response = self.client.get(f"/api/v1/{path}", query)
        assert response.status_code == 200, (path, response.status_code, response.content.decode()[:600])
        return response.json()
