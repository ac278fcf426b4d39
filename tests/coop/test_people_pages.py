"""Who may see and do what about people, the club and letters: nobody, member, volunteer, releaser, coordinator."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from coop import letters, shed
from coop.command import new_key
from coop.commands import club, invitations, legal
from coop.models import ApiToken, Club, HiveKind, LegalBasis, Person, ShedPhone
from tests.makers import coop as make

pytestmark = pytest.mark.django_db

FOR_COORDINATORS = [
    "people",
    "person_new",
    "shed_phones",
    "shed_phone_new",
    "club_change",
    "hive_kinds",
    "hive_kind_new",
    "legal_bases",
    "legal_basis_new",
    "outbox",
]
ABOUT_A_PERSON = [
    "person",
    "person_change",
    "person_role",
    "person_releaser",
    "person_invite",
    "person_sign_out",
    "person_call",
    "person_leave",
]


def as_(person: Person | None, fresh: bool = True) -> Client:
    client = Client()
    return make.sign_in(client, person, fresh) if person else client


@pytest.fixture
def cast() -> dict[str, Person | None]:
    return {
        "nobody": None,
        "member": make.member("Pia Lindqvist"),
        "volunteer": make.volunteer("Jonas Weir"),
        "releaser": make.releaser("Ruta Celm"),
        "coordinator": make.coordinator("Maren Holt"),
    }


@pytest.mark.parametrize("name", FOR_COORDINATORS)
def test_the_club_s_own_pages_open_to_coordinators_only(cast: dict[str, Person | None], name: str) -> None:
    found = {who: as_(person).get(reverse(name)).status_code for who, person in cast.items()}
    assert found == {"nobody": 302, "member": 403, "volunteer": 403, "releaser": 403, "coordinator": 200}


@pytest.mark.parametrize("name", ABOUT_A_PERSON)
def test_pages_about_a_person_open_to_coordinators_only(cast: dict[str, Person | None], name: str) -> None:
    member = cast["member"]
    assert member is not None
    url = reverse(name, args=[member.pk])
    found = {who: as_(person).get(url).status_code for who, person in cast.items()}
    assert found == {"nobody": 302, "member": 403, "volunteer": 403, "releaser": 403, "coordinator": 200}


@pytest.mark.parametrize("name", ["account", "account_change", "account_sign_out_everywhere", "token_new", "club"])
def test_everyone_signed_in_has_a_page_of_their_own(cast: dict[str, Person | None], name: str) -> None:
    found = {who: as_(person).get(reverse(name)).status_code for who, person in cast.items()}
    assert found == {"nobody": 302, "member": 200, "volunteer": 200, "releaser": 200, "coordinator": 200}


@pytest.mark.parametrize(
    "name", ["person_new", "person_change", "person_role", "person_releaser", "person_leave", "legal_basis_new"]
)
def test_what_is_deep_asks_for_a_fresh_code(cast: dict[str, Person | None], name: str) -> None:
    member = cast["member"]
    assert member is not None
    url = reverse(name, args=[] if name.endswith("_new") else [member.pk])
    answer = as_(cast["coordinator"], fresh=False).get(url)
    assert answer.status_code == 302
    assert answer["Location"].startswith(reverse("fresh"))


def test_taking_the_people_away_as_a_file_asks_for_a_fresh_code(cast: dict[str, Person | None]) -> None:
    url = reverse("people")
    stale, fresh = as_(cast["coordinator"], fresh=False), as_(cast["coordinator"])
    assert stale.get(url).status_code == 200
    assert stale.get(url, {"as": "csv"})["Location"].startswith(reverse("fresh"))
    assert b"Pia Lindqvist" in fresh.get(url, {"as": "csv"}).getvalue()


def test_a_coordinator_adds_a_person_once_however_often_they_tap() -> None:
    client = as_(make.coordinator())
    sent = {"key": new_key(), "name": "Ewa  Brandt", "email": "ewa@example.org", "role": "volunteer"}
    for _tap in range(2):
        answer = client.post(reverse("person_new"), sent)
        assert answer.status_code == 302
    ewa = Person.objects.get(email="ewa@example.org")
    assert (ewa.name, ewa.role, ewa.is_releaser) == ("Ewa Brandt", "volunteer", False)


def test_an_e_mail_that_is_taken_is_refused_beside_the_box() -> None:
    pia = make.member("Pia Lindqvist")
    client = as_(make.coordinator())
    sent = {"key": new_key(), "name": "Another", "email": str(pia.email).upper(), "role": "member"}
    answer = client.post(reverse("person_new"), sent)
    assert answer.status_code == 422
    assert "is in the club already" in answer.content.decode()
    assert "Another" in answer.content.decode()


def test_a_member_changes_their_own_reminders_and_nothing_of_their_role() -> None:
    pia = make.member("Pia Lindqvist")
    sent = {"key": new_key(), "name": "Pia L", "phone": "12", "address": "", "role": "coordinator", "email": "x@y.z"}
    assert as_(pia).post(reverse("account_change"), sent).status_code == 302
    email = pia.email
    pia.refresh_from_db()
    assert (pia.name, pia.wants_reminders, pia.role, pia.email) == ("Pia L", False, "member", email)


def test_a_token_is_shown_once_and_revoked_by_its_owner_only() -> None:
    pia, otto = make.member("Pia"), make.member("Otto")
    sent = {"key": new_key(), "name": "my scales"}
    page = as_(pia).post(reverse("token_new"), sent).content.decode()
    token = ApiToken.objects.get(person=pia)
    word = page.split("<code>")[1].split("</code>")[0]
    assert token.digest not in page
    assert word not in as_(pia).get(reverse("account")).content.decode()
    url = reverse("token_revoke", args=[token.pk])
    assert as_(otto).post(url, {"key": new_key()}).status_code == 404
    assert as_(pia).post(url, {"key": new_key()}).status_code == 302
    token.refresh_from_db()
    assert token.revoked_at is not None


def test_the_only_coordinator_cannot_step_down_or_leave() -> None:
    maren = make.coordinator("Maren")
    for name, more in (("person_role", {"role": "member"}), ("person_leave", {})):
        answer = as_(maren).post(reverse(name, args=[maren.pk]), {"key": new_key(), **more})
        assert answer.status_code == 422
        assert "only coordinator" in answer.content.decode()
    maren.refresh_from_db()
    assert maren.is_coordinator


def test_who_leaves_is_gone_by_name_and_signed_out() -> None:
    pia, maren = make.member("Pia Lindqvist", phone="12 34"), make.coordinator("Maren")
    client = as_(pia)
    assert client.get(reverse("account")).status_code == 200
    answer = as_(maren).post(reverse("person_leave", args=[pia.pk]), {"key": new_key()})
    assert answer.status_code == 302
    pia.refresh_from_db()
    assert (pia.name, pia.email, pia.phone) == (f"Left the club ({pia.pk})", None, "")
    assert client.get(reverse("account")).status_code == 302
    assert as_(maren).get(reverse("person", args=[pia.pk])).status_code == 404


def test_a_coordinator_changes_the_club_and_a_wrong_zone_is_refused() -> None:
    client = as_(make.coordinator())
    page = client.get(reverse("club_change"))
    known = {name: value or "" for name, value in page.context["form"].initial.items()}
    sent = {**known, "key": new_key(), "zone": "Europe/Riga", "poison_phone": "112"}
    assert client.post(reverse("club_change"), sent).status_code == 302
    assert Club.objects.get().zone == "Europe/Riga"
    answer = client.post(reverse("club_change"), {**sent, "key": new_key(), "zone": "Mars/Base"})
    assert answer.status_code == 422
    assert "is not a time zone" in answer.content.decode()


def test_kinds_of_hive_are_added_and_renamed() -> None:
    client = as_(make.coordinator())
    client.post(reverse("hive_kind_new"), {"key": new_key(), "name": "top bar", "order": 3})
    kind = HiveKind.objects.get(name="top bar")
    again = client.post(reverse("hive_kind_new"), {"key": new_key(), "name": "Top  Bar", "order": 4})
    assert again.status_code == 422
    client.post(reverse("hive_kind", args=[kind.pk]), {"key": new_key(), "name": "long hive", "order": 3})
    kind.refresh_from_db()
    assert kind.name == "long hive"
    assert "long hive" in client.get(reverse("hive_kinds")).content.decode()


def test_a_legal_basis_is_noted_shown_and_ended() -> None:
    client = as_(make.coordinator())
    sent = {
        "key": new_key(),
        "subject": "supply",
        "rule": "Order on hive treatments",
        "reference": "section 4",
        "checked_by": "the bee inspector",
        "valid_from": "2020-01-01",
        "valid_until": "2090-01-01",
    }
    backwards = client.post(reverse("legal_basis_new"), {**sent, "key": new_key(), "valid_until": "2019-01-01"})
    assert backwards.status_code == 422
    assert client.post(reverse("legal_basis_new"), sent).status_code == 302
    basis = LegalBasis.objects.get()
    assert "Order on hive treatments" in client.get(reverse("club")).content.decode()
    assert client.get(reverse("legal_basis", args=[basis.pk])).status_code == 200
    assert client.post(reverse("legal_basis_end", args=[basis.pk]), {"key": new_key()}).status_code == 302
    assert "nothing valid is noted" in client.get(reverse("club")).content.decode()


def test_a_shed_phone_sees_the_bench_only_and_is_out_once_revoked() -> None:
    maren, jonas = make.coordinator("Maren"), make.volunteer("Jonas")
    page = as_(maren).post(reverse("shed_phone_new"), {"key": new_key(), "name": "the old one", "person": jonas.pk})
    link = page.content.decode().split("<code>")[1].split("</code>")[0]
    phone = Client()
    path = "/" + link.split("/", 3)[3]
    assert phone.get(path).status_code == 200
    assert phone.post(path).status_code == 302
    assert Client().post(path).status_code == 410
    assert phone.get(reverse("account"))["Location"] == shed.BENCH
    assert phone.get(reverse("api_me"))["Location"] == shed.BENCH
    assert phone.get(reverse("account_logout")).status_code == 200
    row = ShedPhone.objects.get()
    as_(maren).post(reverse("shed_phone_revoke", args=[row.pk]), {"key": new_key()})
    assert phone.get(shed.BENCH).status_code in (302, 404)
    assert phone.get(reverse("account"))["Location"].startswith(reverse("account_request_login_code"))


@pytest.mark.parametrize("name", ["people", "hive_kinds", "legal_bases", "outbox", "shed_phones"])
def test_a_list_asks_as_often_for_three_rows_as_for_one(name: str) -> None:
    maren = make.coordinator("Maren")
    client = as_(maren)
    counts = []
    for rows in (1, 2):
        for number in range(rows):
            _one_more_of_everything(maren, f"{rows}{number}")
        with CaptureQueriesContext(connection) as seen:
            assert client.get(reverse(name)).status_code == 200
        counts.append(len(seen))
    assert counts[0] == counts[1]


def _one_more_of_everything(maren: Person, mark: str) -> None:
    make.member(f"Member {mark}")
    make.do(club.add_hive_kind, name=f"kind {mark}")
    day = timezone.now().date()
    make.do(
        legal.note_legal_basis,
        subject="supply",
        rule=mark,
        reference="a",
        checked_by="b",
        valid_from=day,
        valid_until=day,
    )
    make.do(invitations.add_shed_phone, name=mark, person=maren)
    letters.queue(key=f"k{mark}", to="a@example.org", subject="s", body="b", now=timezone.now())
