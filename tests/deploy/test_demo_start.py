"""The demo, started from nothing: it prints whom to sign in as, and each gets in with the code on the screen."""

import contextlib
import http.cookiejar
import re
import shutil
import sqlite3
import urllib.parse
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import psutil
import pytest

from tests.engines.server import Server, running, start, tree

pytestmark = [pytest.mark.slow, pytest.mark.sqlite]


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with running(tmp_path_factory.mktemp("demo") / "data", "--demo", COOP_SMTP_URL="smtp://mail.example.org") as server:
        yield server


def people(server: Server) -> dict[str, str]:
    """Role -> mail address, as the start command printed them."""
    found = re.findall(r"^  (\w+) +(\S+@\S+) ", "".join(server.words), re.MULTILINE)
    return {str(role): str(email) for role, email in found}


class Browser:
    """Follows links and sends forms as a browser without scripts does."""

    def __init__(self, server: Server) -> None:
        jar = urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar())
        self.opener = urllib.request.build_opener(jar, urllib.request.ProxyHandler({}))
        self.home, self.address, self.page = server.url, "", ""

    def go(self, address: str, **form: str) -> str:
        data = None
        if form:
            token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', self.page)
            assert token, self.page
            data = urllib.parse.urlencode({"csrfmiddlewaretoken": token[1], **form}).encode()
        with self.opener.open(urllib.parse.urljoin(self.home, address), data, timeout=30) as answer:
            self.address, self.page = answer.url, answer.read().decode()
        return self.page

    def sign_in(self, email: str) -> str:
        self.go("/sign-in")
        self.go("/sign-in", email=email)
        code = re.search(r"The code is\s+(?:<[^>]+>)*([A-Z0-9]{2,}(?:[\s-][A-Z0-9]{2,})*)", self.page)
        assert code, self.page
        return self.go(self.address, code=code[1])


def test_it_says_whom_to_sign_in_as(demo: Server):
    assert set(people(demo)) == {"coordinator", "releaser", "volunteer", "member"}


@pytest.mark.parametrize("role", ["coordinator", "releaser", "volunteer", "member"])
def test_each_role_gets_in_with_the_code_on_the_screen(demo: Server, role: str):
    browser = Browser(demo)
    page = browser.sign_in(people(demo)[role])
    assert urllib.parse.urlsplit(browser.address).path == "/", browser.address
    assert "/sign-out" in page


def test_no_mail_leaves_the_demo(demo: Server):
    """What its story reminds of is written into the data folder; a code is not even that."""
    Browser(demo).sign_in(people(demo)["member"])
    with contextlib.closing(sqlite3.connect(next(demo.data.glob("*.sqlite3")))) as book:
        assert book.execute("SELECT is_demo FROM coop_club").fetchall() == [(1,)]  # so its letters are files
        assert book.execute("SELECT count(*) FROM coop_letter WHERE is_secret").fetchone() == (0,)


def test_it_stays_small_with_pages_in_use(demo: Server):
    browser = Browser(demo)
    browser.sign_in(people(demo)["coordinator"])
    for address in (
        "/shelf",
        "/bench",
        "/share-out",
        "/hives",
        "/people",
        "/trace",
        "/api/v1/docs",
        "/api/v1/schema",
    ):
        assert browser.go(address)
    used = {pid: psutil.Process(pid).memory_full_info().pss for pid in tree(demo.process.pid)}
    assert sum(used.values()) < 300e6, used


def test_a_demo_is_never_started_as_a_real_club(demo: Server, tmp_path: Path):
    copy = tmp_path / "data"
    copy.mkdir()
    original, clone = sqlite3.connect(demo.data / "coop.sqlite3"), sqlite3.connect(copy / "coop.sqlite3")
    with contextlib.closing(original), contextlib.closing(clone):
        original.backup(clone)
    shutil.copy(demo.data / "secret_key", copy)
    answer = start("--data", str(copy), "--prepare")
    assert answer.returncode != 0
    assert "holds the demo club" in answer.stderr
