"""Ways in: the mailed code, links that work once, fresh codes. Letters travel over a real mail server."""

import datetime as dt
import re
from io import StringIO
from typing import Any

import pytest
import time_machine
from django.core.cache import cache
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from coop import fresh, letters
from coop.command import new_key
from coop.commands import invitations
from coop.models import FreshCode, Invitation, Letter, Person
from tests.engines.smtp import Postbox
from tests.makers import coop as make

pytestmark = pytest.mark.django_db
SIGN_IN = "/sign-in"
CODE = "/sign-in/code"


@pytest.fixture(autouse=True)
def _counts_start_anew() -> None:
    cache.clear()


def deliver() -> letters.Tally:
    return letters.send_due(timezone.now(), only_urgent=True)


def code_in(text: str) -> str:
    found = re.search(r"\b[346789CDFHJKMNPRTVWXY]{3} [346789CDFHJKMNPRTVWXY]{3}\b", text)
    assert found, text
    return found.group()


def body_of(letter: Any) -> str:
    return str(letter.get_content())


def is_in(client: Client) -> bool:
    return client.get(reverse("account")).status_code == 200


def test_a_mailed_code_signs_in_the_browser_that_asked_and_no_other(mailing: Postbox) -> None:
    pia = make.member("Pia")
    mine, other = Client(), Client()
    answer = mine.post(SIGN_IN, {"email": str(pia.email).upper()})
    assert answer["Location"] == CODE
    assert deliver().sent == 1
    (letter,) = mailing.letters
    code = code_in(body_of(letter))
    assert "List-Unsubscribe" not in letter
    other.post(SIGN_IN, {"email": "somebody@else.example"})
    other.post(CODE, {"code": code, "action": "verify"})
    assert not is_in(other)
    assert mine.post(CODE, {"code": code.lower().replace(" ", ""), "action": "verify"}).status_code == 302
    assert is_in(mine)
    assert Client().post(CODE, {"code": code, "action": "verify"}).status_code == 302


def test_an_unknown_address_is_answered_the_same_and_gets_no_letter(mailing: Postbox) -> None:
    pia = make.member("Pia")
    gone = make.member("Otto", is_active=False)
    pages = []
    for email in (pia.email, gone.email, "nobody@example.org"):
        client = Client()
        answer = client.post(SIGN_IN, {"email": email})
        assert answer["Location"] == CODE
        pages.append(_without_what_differs(client.get(CODE).content.decode(), str(email)))
    assert pages[0] == pages[1] == pages[2]
    assert deliver().sent == 1


def _without_what_differs(page: str, email: str) -> str:
    return re.sub(r'value="[^"]{30,}"', "", page.replace(email, "E"))


def test_a_code_has_three_tries_and_ten_minutes(mailing: Postbox) -> None:
    pia = make.member("Pia")
    client = Client()
    client.post(SIGN_IN, {"email": pia.email})
    deliver()
    code = code_in(body_of(mailing.letters[0]))
    for _try in range(3):
        client.post(CODE, {"code": "333 333", "action": "verify"})
    client.post(CODE, {"code": code, "action": "verify"})
    assert not is_in(client)
    cache.clear()
    client.post(SIGN_IN, {"email": pia.email})
    deliver()
    code = code_in(body_of(mailing.letters[1]))
    with time_machine.travel(timezone.now() + dt.timedelta(minutes=11)):
        client.post(CODE, {"code": code, "action": "verify"})
        assert not is_in(client)


def test_codes_are_asked_for_three_times_a_minute_and_no_more() -> None:
    pia = make.member("Pia")
    answers = [Client().post(SIGN_IN, {"email": pia.email}).status_code for _time in range(4)]
    assert answers == [302, 302, 302, 200]
    assert Letter.objects.count() == 3


def test_nobody_signs_up_by_themselves() -> None:
    for path in ("/signup", "/sign-up", "/accounts/signup/", "/sign-in/signup"):
        assert Client().get(path).status_code == 404


def test_a_code_s_letter_is_secret_and_forgets_its_text_once_sent(mailing: Postbox) -> None:
    pia, maren = make.member("Pia"), make.coordinator("Maren")
    Client().post(SIGN_IN, {"email": pia.email})
    letter = Letter.objects.get()
    code = code_in(letter.body)
    page = make.sign_in(Client(), maren).get(reverse("letter", args=[letter.pk])).content.decode()
    assert code not in page
    deliver()
    letter.refresh_from_db()
    assert (letter.state, letter.body, letter.is_secret) == ("sent", "", True)


def test_the_demo_shows_its_code_and_sends_no_mail(mailing: Postbox) -> None:
    make.club(is_demo=True)
    pia = make.member("Pia")
    client = Client()
    page = client.post(SIGN_IN, {"email": pia.email}, follow=True).content.decode()
    client.post(CODE, {"code": code_in(page), "action": "verify"})
    assert is_in(client)
    assert not Letter.objects.exists()
    deliver()
    assert mailing.letters == []


def test_an_invitation_comes_by_mail_and_lets_in_once(mailing: Postbox) -> None:
    maren, pia = make.coordinator("Maren"), make.member("Pia")
    url = reverse("person_invite", args=[pia.pk])
    make.sign_in(Client(), maren).post(url, {"key": new_key()})
    deliver()
    (letter,) = mailing.to(str(pia.email))
    path = re.search(r"http://[^/]+(/in/\S+)", body_of(letter)).group(1)  # type: ignore[union-attr]
    client = Client()
    assert client.get(path).status_code == 200
    assert client.get(path).status_code == 200, "looking does not use it up"
    assert client.post(path)["Location"] == "/"
    assert is_in(client)
    late = Client()
    assert late.post(path).status_code == 410
    assert not is_in(late)


def test_a_second_invitation_voids_the_first() -> None:
    maren, pia = make.coordinator("Maren"), make.member("Pia")
    for _time in range(2):
        make.do(invitations.invite, by=maren, person=pia)
    assert Invitation.objects.filter(person=pia).count() == 1


def test_somebody_without_e_mail_cannot_be_invited() -> None:
    pia = make.member("Pia", email=None)
    answer = make.sign_in(Client(), make.coordinator()).post(
        reverse("person_invite", args=[pia.pk]), {"key": new_key()}
    )
    assert answer.status_code == 422
    assert "has no e-mail" in answer.content.decode()


def let_in(*args: str, **options: Any) -> str:
    out = StringIO()
    call_command("let_in", *args, stdout=out, **options)
    found = re.search(r"http://[^/]+(/in/\S+)", out.getvalue())
    assert found, out.getvalue()
    return found.group(1)


def test_the_shell_lets_somebody_in_once_within_ten_minutes() -> None:
    pia = make.member("Pia")
    path = let_in(str(pia.email))
    client = Client()
    assert client.post(path).status_code == 302
    assert is_in(client)
    assert Client().post(path).status_code == 410
    later = let_in(str(pia.email))
    with time_machine.travel(timezone.now() + dt.timedelta(minutes=10, seconds=1)):
        assert Client().post(later).status_code == 410


def test_the_shell_can_make_a_coordinator_of_somebody_new() -> None:
    make.club()
    path = let_in("maren@example.org", make_coordinator=True, name="Maren Holt")
    maren = Person.objects.get(email="maren@example.org")
    assert (maren.name, maren.role) == ("Maren Holt", "coordinator")
    assert Client().post(path).status_code == 302


def test_the_shell_refuses_whom_it_does_not_know() -> None:
    make.club()
    with pytest.raises(CommandError, match="Nobody of the club"):
        let_in("nobody@example.org")


def test_a_form_sent_too_late_waits_for_the_code_and_is_then_done(mailing: Postbox) -> None:
    maren = make.coordinator("Maren")
    client = make.sign_in(Client(), maren, fresh=False)
    sent = {"key": new_key(), "name": "Ewa Brandt", "email": "ewa@example.org", "role": "member"}
    asked = client.post(reverse("person_new"), sent)
    assert not Person.objects.filter(email="ewa@example.org").exists()
    back = {"next": reverse("person_new")}
    assert client.get(asked["Location"]).status_code == 200
    client.post(reverse("fresh"), {**back, "action": "send"})
    deliver()
    code = code_in(body_of(mailing.letters[0]))
    wrong = client.post(reverse("fresh"), {**back, "action": "check", "code": "333333"})
    assert wrong.status_code == 422
    client.post(reverse("fresh"), {**back, "action": "check", "code": code})
    assert Person.objects.get(email="ewa@example.org").name == "Ewa Brandt"
    assert client.get(reverse("person_new")).status_code == 200, "it stays fresh for a while"


def test_what_waited_is_not_sent_to_another_page(mailing: Postbox) -> None:
    maren, pia = make.coordinator("Maren"), make.member("Pia")
    client = make.sign_in(Client(), maren, fresh=False)
    client.post(reverse("person_leave", args=[pia.pk]), {"key": new_key()})
    client.get(reverse("person_new"))
    back = {"next": reverse("person_new")}
    client.post(reverse("fresh"), {**back, "action": "send"})
    deliver()
    client.post(reverse("fresh"), {**back, "action": "check", "code": code_in(body_of(mailing.letters[0]))})
    pia.refresh_from_db()
    assert pia.left_at is None


def test_a_form_drawn_fresh_may_be_sent_for_an_hour() -> None:
    maren = make.coordinator("Maren")
    client = make.sign_in(Client(), maren)
    url = reverse("person_new")
    with time_machine.travel(timezone.now() + dt.timedelta(minutes=40)):
        assert client.get(url)["Location"].startswith(reverse("fresh"))
        sent = {"key": new_key(), "name": "Ewa", "email": "", "role": "member"}
        assert client.post(url, sent)["Location"].startswith("/people/")


def test_the_next_address_of_the_fresh_page_stays_in_the_house(mailing: Postbox) -> None:
    client = make.sign_in(Client(), make.member("Pia"), fresh=False)
    for bad in ("https://evil.example/", "//evil.example/", "javascript:alert(1)"):
        client.post(reverse("fresh"), {"next": bad, "action": "send"})
        deliver()
        code = code_in(body_of(mailing.letters[-1]))
        cache.clear()
        answer = client.post(reverse("fresh"), {"next": bad, "action": "check", "code": code})
        assert answer["Location"] == "/"


def test_a_fresh_code_has_five_tries_and_dies_with_ten_minutes() -> None:
    pia, otto = make.member("Pia"), make.member("Otto")
    code = fresh.make(pia)
    assert not fresh.spend(otto, code, "x"), "it is bound to the person"
    for _try in range(5):
        assert not fresh.spend(pia, "333333", "x")
    assert not fresh.spend(pia, code, "x")
    code = fresh.make(pia)
    late = timezone.now() + dt.timedelta(minutes=10, seconds=1)
    assert not fresh.spend(pia, code, "x", late)
    assert fresh.spend(pia, code, "x")
    assert fresh.spend(pia, code, "x"), "the retry of the same deed"
    assert not fresh.spend(pia, code, "y"), "one deed only"
    assert code not in FreshCode.objects.get().digest


def test_signing_out_everywhere_ends_the_other_browser() -> None:
    pia = make.member("Pia")
    one, other = make.sign_in(Client(), pia), make.sign_in(Client(), pia)
    one.post(reverse("account_sign_out_everywhere"), {"key": new_key()})
    assert not is_in(other)
    one.post(reverse("account_logout"))
    assert not is_in(one)


def test_a_changed_e_mail_no_longer_signs_in(mailing: Postbox) -> None:
    pia, maren = make.member("Pia"), make.coordinator("Maren")
    old = str(pia.email)
    Client().post(SIGN_IN, {"email": old})
    deliver()
    sent = {"key": new_key(), "name": "Pia", "email": "new@example.org"}
    make.sign_in(Client(), maren).post(reverse("person_change", args=[pia.pk]), sent)
    cache.clear()
    Client().post(SIGN_IN, {"email": old})
    assert deliver().sent == 0
    Client().post(SIGN_IN, {"email": "new@example.org"})
    assert deliver().sent == 1


def test_the_test_letter_says_what_the_mail_server_answers(mailing: Postbox) -> None:
    make.club()
    out = StringIO()
    call_command("sendtestletter", "ola@example.org", stdout=out)
    assert "took the letter" in out.getvalue()
    mailing.refusal = "550 no such mailbox"
    with pytest.raises(CommandError, match="550 no such mailbox"):
        call_command("sendtestletter", "ola@example.org")
    with pytest.raises(CommandError, match="no e-mail address"):
        call_command("sendtestletter", "ola")
