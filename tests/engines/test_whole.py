"""The whole server, started as an operator starts it, with real mail, real Redis and the engine of the suite."""

import http.cookiejar
import re
import time
import urllib.parse
import urllib.request
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.engines.server import CLUB, Server, own_database, running
from tests.engines.smtp import Postbox

pytestmark = pytest.mark.slow


def until(question: Callable[[], object], seconds: float = 30) -> None:
    end = time.monotonic() + seconds
    while not question():
        assert time.monotonic() < end, "it did not happen in time"
        time.sleep(0.2)


def ask_for_a_code(server: Server, email: str) -> str:
    """As a browser does it; answers with the page that comes back."""
    jar = http.cookiejar.CookieJar()
    browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(jar), urllib.request.ProxyHandler({}))
    with browser.open(f"{server.url}/sign-in", timeout=20) as page:
        token = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', page.read().decode())
    assert token
    form = urllib.parse.urlencode({"csrfmiddlewaretoken": token[1], "email": email}).encode()
    with browser.open(f"{server.url}/sign-in", form, timeout=20) as page:
        return str(page.read().decode())


def check_the_whole(server: Server, postbox: Postbox) -> None:
    """Well within the first seconds, and a code that is asked for on the page arrives once, at the right person's."""
    until(lambda: server.health()[0] == 200)
    ask_for_a_code(server, "ada@example.org")
    ask_for_a_code(server, "stranger@example.org")
    until(lambda: postbox.letters)
    time.sleep(2)
    assert [letter["X-To"] for letter in postbox.letters] == ["ada@example.org"]
    assert postbox.letters[0]["Message-ID"]
    assert not any("Traceback" in line for line in server.words)


@pytest.mark.sqlite
def test_embedded(tmp_path: Path, postbox: Postbox):
    with running(tmp_path / "data", *CLUB, COOP_SMTP_URL=postbox.url) as server:
        check_the_whole(server, postbox)
        assert not (tmp_path / "data" / "letters").exists()


@pytest.mark.redis
@pytest.mark.postgresql
@pytest.mark.django_db
def test_with_postgresql_and_redis(tmp_path: Path, postbox: Postbox, redis_url: str):
    with own_database() as database:
        elsewhere = {"COOP_DATABASE_URL": database, "COOP_REDIS_URL": redis_url}
        with running(tmp_path / "data", *CLUB, COOP_SMTP_URL=postbox.url, **elsewhere) as server:
            check_the_whole(server, postbox)
            assert not (tmp_path / "data" / "coop.sqlite3").exists()
