"""The ground through the API: tokens and sessions, fresh codes, who may do what, problems with a sentence."""

from typing import Any

import pytest
from django.core.cache import cache
from django.test import Client
from django.utils import timezone

from coop import fresh, letters, words
from coop.command import new_key
from coop.models import ApiToken, Club, FreshCode, HiveKind, LegalBasis, Letter, Person
from tests.coop.test_signin import code_in
from tests.makers import coop as make

pytestmark = pytest.mark.django_db
BASE = "/api/v1"


@pytest.fixture(autouse=True)
def _counts_start_anew() -> None:
    cache.clear()


class Program:
    """A program with a token, sending JSON."""

    def __init__(self, person: Person | None) -> None:
        self.headers: dict[str, str] = {}
        self.person = person
        if person:
            word = words.word_for("token", person.pk, new_key())
            ApiToken.objects.create(person=person, name="test", digest=words.digest(word))
            self.headers["Authorization"] = f"Token {word}"

    def get(self, path: str, **query: Any) -> Any:
        return Client().get(BASE + path, query, headers=self.headers)

    def post(self, path: str, body: dict[str, Any] | None = None, key: str = "", code: str = "") -> Any:
        headers = {**self.headers, "Idempotency-Key": key or new_key(), **({"Fresh-Code": code} if code else {})}
        return Client().post(BASE + path, body or {}, content_type="application/json", headers=headers)

    def deep(self, path: str, body: dict[str, Any] | None = None) -> Any:
        return self.post(path, body, code=fresh.make(self.person) if self.person else "")


@pytest.fixture
def cast() -> dict[str, Program]:
    return {
        "nobody": Program(None),
        "member": Program(make.member("Pia")),
        "volunteer": Program(make.volunteer("Jonas")),
        "releaser": Program(make.releaser("Ruta")),
        "coordinator": Program(make.coordinator("Maren")),
    }


OPEN_TO_ALL = ["/me", "/tokens", "/club", "/hive-kinds"]
OPEN_TO_COORDINATORS = ["/people", "/legal-bases"]


@pytest.mark.parametrize("path", OPEN_TO_ALL)
def test_what_every_member_may_read(cast: dict[str, Program], path: str) -> None:
    found = {who: program.get(path).status_code for who, program in cast.items()}
    assert found == {"nobody": 401, "member": 200, "volunteer": 200, "releaser": 200, "coordinator": 200}


@pytest.mark.parametrize("path", OPEN_TO_COORDINATORS)
def test_what_coordinators_may_read(cast: dict[str, Program], path: str) -> None:
    found = {who: program.get(path).status_code for who, program in cast.items()}
    assert found == {"nobody": 401, "member": 403, "volunteer": 403, "releaser": 403, "coordinator": 200}


DEEDS = [
    ("/people/add", {"name": "Ewa"}),
    ("/people/{pia}/change", {"phone": "1"}),
    ("/people/{pia}/role", {"role": "volunteer"}),
    ("/people/{pia}/releaser", {"may_release": True}),
    ("/people/{pia}/invite", {}),
    ("/people/{pia}/sign-out", {}),
    ("/people/{pia}/leave", {}),
    ("/club/change", {"phone": "2"}),
    ("/hive-kinds/add", {"name": "top bar"}),
    (
        "/legal-bases/note",
        {
            "subject": "supply",
            "rule": "r",
            "reference": "s",
            "checked_by": "c",
            "valid_from": "2026-01-01",
            "valid_until": "2027-01-01",
        },
    ),
]
SHALLOW = ("/people/{pia}/invite", "/people/{pia}/sign-out", "/club/change", "/hive-kinds/add")


@pytest.mark.parametrize(("path", "body"), DEEDS)
def test_what_coordinators_alone_may_do(cast: dict[str, Program], path: str, body: dict[str, Any]) -> None:
    pia = cast["member"].person
    assert pia is not None
    url = path.format(pia=pia.pk)
    found = {who: program.deep(url, body).status_code for who, program in cast.items()}
    assert found == {"nobody": 401, "member": 403, "volunteer": 403, "releaser": 403, "coordinator": 201}


@pytest.mark.parametrize(("path", "body"), [one for one in DEEDS if one[0] not in SHALLOW])
def test_what_is_deep_wants_a_fresh_code(cast: dict[str, Program], path: str, body: dict[str, Any]) -> None:
    pia = cast["member"].person
    assert pia is not None
    answer = cast["coordinator"].post(path.format(pia=pia.pk), body)
    assert answer.status_code == 403
    assert answer.json()["code"] == "fresh_code"
    assert answer["Content-Type"] == "application/problem+json"


def test_a_fresh_code_comes_by_letter_and_opens_one_deed(cast: dict[str, Program]) -> None:
    maren = cast["coordinator"]
    assert maren.post("/fresh-code").status_code == 202
    letter = Letter.objects.get()
    assert letter.is_secret
    code, key = code_in(letter.body), new_key()
    body = {"name": "Ewa", "email": "ewa@example.org"}
    first = maren.post("/people/add", body, key=key, code=code)
    again = maren.post("/people/add", body, key=key, code=code)
    assert (first.status_code, again.status_code) == (201, 201)
    assert first.json() == again.json()
    assert maren.post("/people/add", {"name": "Other"}, code=code).status_code == 403
    assert Person.objects.filter(name="Ewa").count() == 1


def test_a_fresh_code_is_not_another_person_s(cast: dict[str, Program]) -> None:
    cast["volunteer"].post("/fresh-code")
    code = code_in(Letter.objects.get().body)
    assert cast["coordinator"].post("/people/add", {"name": "Ewa"}, code=code).status_code == 403


def test_somebody_without_e_mail_is_told_that_no_code_can_be_sent() -> None:
    answer = Program(make.coordinator("Maren", email=None)).post("/fresh-code")
    assert (answer.status_code, answer.json()["code"]) == (422, "no_email")
    assert not FreshCode.objects.exists()


def test_codes_are_asked_for_five_times_a_minute(cast: dict[str, Program]) -> None:
    answers = [cast["member"].post("/fresh-code").status_code for _time in range(6)]
    assert answers == [202] * 5 + [429]


def test_the_list_names_people_and_does_not_say_how_to_reach_them(cast: dict[str, Program]) -> None:
    maren = cast["coordinator"]
    row = maren.get("/people").json()["results"][0]
    assert set(row) == {"id", "name", "role", "is_releaser", "joined_on"}
    assert maren.get("/people/export").status_code == 403
    assert maren.person is not None
    headers = {**maren.headers, "Fresh-Code": fresh.make(maren.person)}
    rows = Client().get(f"{BASE}/people/export", headers=headers).json()["results"]
    assert "email" in rows[0]


def test_the_list_filters_and_pages(cast: dict[str, Program]) -> None:
    found = cast["coordinator"].get("/people", role="volunteer", limit=1).json()
    assert (found["count"], found["results"][0]["name"]) == (1, "Jonas")


def test_a_token_is_made_shown_and_revoked(cast: dict[str, Program]) -> None:
    pia = cast["member"]
    assert pia.person is not None
    code, key = fresh.make(pia.person), new_key()
    made = pia.post("/tokens/make", {"name": "scales"}, key=key, code=code).json()
    again = pia.post("/tokens/make", {"name": "scales"}, key=key, code=code).json()
    assert made == again
    headers = {"Authorization": f"Token {made['token']}"}
    assert Client().get(f"{BASE}/me", headers=headers).json()["name"] == "Pia"
    assert cast["volunteer"].post(f"/tokens/{made['id']}/revoke").status_code == 404
    assert pia.post(f"/tokens/{made['id']}/revoke").status_code == 201
    answer = Client().get(f"{BASE}/me", headers=headers)
    assert answer.status_code == 401
    assert answer["WWW-Authenticate"] == "Token"
    assert not any("token" in row for row in pia.get("/tokens").json()["results"])


@pytest.mark.parametrize("header", ["Token", "Token a b", "Token nonsense", "token \xff"])
def test_a_wrong_token_is_refused_even_where_a_session_would_do(header: str) -> None:
    client = make.sign_in(Client(), make.member("Pia"))
    assert client.get(f"{BASE}/me", headers={"Authorization": header}).status_code == 401


def test_a_session_reads_and_must_bear_the_csrf_token_to_write() -> None:
    client = make.sign_in(Client(enforce_csrf_checks=True), make.member("Pia"))
    assert client.get(f"{BASE}/me").status_code == 200
    headers = {"Idempotency-Key": new_key()}
    answer = client.post(f"{BASE}/me/change", {"phone": "1"}, content_type="application/json", headers=headers)
    assert answer.status_code == 403


def test_a_fresh_session_needs_no_code() -> None:
    client = make.sign_in(Client(), make.coordinator("Maren"))
    headers = {"Idempotency-Key": new_key()}
    answer = client.post(f"{BASE}/people/add", {"name": "Ewa"}, content_type="application/json", headers=headers)
    assert answer.status_code == 201


def test_one_changes_oneself_but_not_one_s_role(cast: dict[str, Program]) -> None:
    pia = cast["member"]
    answer = pia.post("/me/change", {"phone": "12", "wants_reminders": False, "role": "coordinator"})
    assert answer.status_code == 201
    assert (answer.json()["phone"], answer.json()["role"], answer.json()["wants_reminders"]) == ("12", "member", False)
    assert pia.post("/me/change", {}).status_code == 422


def test_a_deed_without_a_key_is_refused_with_a_sentence(cast: dict[str, Program]) -> None:
    answer = Client().post(f"{BASE}/me/change", {"phone": "1"}, headers=cast["member"].headers)
    assert answer.status_code in (400, 415)


def test_the_same_key_with_other_figures_is_a_conflict(cast: dict[str, Program]) -> None:
    key = new_key()
    assert cast["coordinator"].post("/hive-kinds/add", {"name": "top bar"}, key=key).status_code == 201
    answer = cast["coordinator"].post("/hive-kinds/add", {"name": "long hive"}, key=key)
    assert (answer.status_code, answer.json()["code"]) == (409, "key_used")
    assert list(HiveKind.objects.values_list("name", flat=True)) == ["top bar"]


def test_a_refusal_says_which_field_and_nothing_is_written(cast: dict[str, Program]) -> None:
    maren = cast["coordinator"]
    answer = maren.post("/club/change", {"zone": "Mars/Base"})
    assert answer.status_code in (400, 422)
    assert "is not a time zone" in answer.content.decode()
    assert Club.objects.get().zone == "Europe/Paris"
    assert maren.deep("/people/99999/role", {"role": "member"}).status_code == 404


def test_a_legal_basis_is_noted_and_ended(cast: dict[str, Program]) -> None:
    maren, body = cast["coordinator"], DEEDS[-1][1]
    made = maren.deep("/legal-bases/note", body).json()
    assert maren.deep(f"/legal-bases/{made['id']}/end").json()["ended_at"] is not None
    assert maren.deep(f"/legal-bases/{made['id']}/end").status_code == 422
    assert LegalBasis.objects.count() == 1


def test_a_letter_of_the_api_s_invitation_is_queued(cast: dict[str, Program]) -> None:
    pia = cast["member"].person
    assert pia is not None
    assert cast["coordinator"].post(f"/people/{pia.pk}/invite").status_code == 201
    assert letters.expire(timezone.now()) == 0
    assert Letter.objects.get().kind == "invitation"
