"""How every page looks, to a machine: no fault of access in either theme, nothing wider than the smallest phone.

The demo club is told once, and each role walks from its Today over every link, one page of each kind.
"""

import json
import re
from collections import deque
from collections.abc import Iterator
from urllib.parse import urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from tests.browser.hand import DESK, PHONE, Hand
from tests.engines.server import Server, running

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.sqlite]

ROLES = ("coordinator", "releaser", "volunteer", "member")
OF_MEMBERS = {"/", "/share-out", "/hives", "/me"}
ROOMS = OF_MEMBERS | {"/shelf", "/bench", "/trace"}
NARROWEST = 320
AXE = Axe().axe_script
CONTRAST = {"runOnly": ["color-contrast"], "resultTypes": ["violations"]}
EVERYTHING = {"resultTypes": ["violations"]}
#: where a link does something else than show a page of ours
ELSEWHERE = re.compile(
    r"^/(theme/|sign-out|api/|static/|fresh|in/|no-reminders/|shelf/files/(empty|everything)/)"
    r"|/certificate$|/count-sheet$|/shopping-list/print$"
)
_VARIES = re.compile(r"/(?:\d+|[0-9A-Z]{8})(?=/|$)")
_PERSON = re.compile(r"^  (\w+) +(\S+@\S+) ", re.MULTILINE)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    with running(tmp_path_factory.mktemp("look") / "data", "--demo") as server:
        yield server


@pytest.fixture(scope="module")
def hands(demo: Server, browser: Browser) -> dict[str, Hand]:
    """Whoever the start command named, each signed in once, and a stranger."""
    people = dict(_PERSON.findall("".join(demo.words)))
    found = {role: Hand(browser, demo.url, people[role]).sign_in_to_the_demo() for role in ROLES}
    return found | {"stranger": Hand(browser, demo.url)}


@pytest.fixture(scope="module")
def checked() -> set[str]:
    """Kinds of pages that were looked at in full, as whichever role came first."""
    return set()


def kind_of(path: str) -> str:
    """Pages of one kind have one address but for numbers and codes."""
    return _VARIES.sub("/*", path)


def walk(hand: Hand, begin: list[str]) -> Iterator[str]:
    """Each kind of page once, as far as links lead; the page stands open while it is looked at."""
    seen: set[str] = set()
    waiting = deque(begin)
    while waiting:
        address = waiting.popleft()
        kind = kind_of(urlsplit(address).path)
        if kind in seen:
            continue
        seen.add(kind)
        answer = hand.page.goto(address)
        assert answer is not None
        assert answer.status == 200, (address, answer.status)
        links = hand.page.eval_on_selector_all("a[href]", "(all) => all.map((one) => one.getAttribute('href'))")
        waiting.extend(link for link in links if is_page(link))
        yield address


def is_page(link: str) -> bool:
    parts = urlsplit(link)
    is_ours = not parts.scheme and not parts.netloc and parts.path.startswith("/")
    return is_ours and not ELSEWHERE.search(parts.path) and "as=" not in parts.query


def faults(page: Page, address: str) -> list[str]:
    """What is wrong with the page that stands open, at both widths and in both themes."""
    return [*outline_faults(page, address), *access_faults(page, address)]


def outline_faults(page: Page, address: str) -> list[str]:
    """One heading of the first level, and nothing that runs out of the narrowest screen."""
    found = [] if page.locator("h1").count() == 1 else [f"{address}: {page.locator('h1').count()} h1"]
    page.set_viewport_size({**PHONE, "width": NARROWEST})
    wide = page.evaluate("document.documentElement.scrollWidth")
    return found if wide <= NARROWEST else [*found, f"{address}: {wide} px wide on {NARROWEST}: {too_wide(page)}"]


def access_faults(page: Page, address: str) -> list[str]:
    """Everything at both widths by day; by night the colours are what differs."""
    found = []
    page.evaluate(AXE)
    for size in (PHONE, DESK):
        page.set_viewport_size(size)
        for theme, options in (("day", EVERYTHING), ("night", CONTRAST)):
            page.evaluate("(theme) => { document.documentElement.dataset.theme = theme }", theme)
            for one in page.evaluate("(options) => axe.run(options).then((all) => all.violations)", options):
                where = json.dumps([node["html"][:160] for node in one["nodes"]][:3], ensure_ascii=False)
                found.append(f"{address} at {size['width']} by {theme}: {one['id']}, {one['help']}: {where}")
    return found


def too_wide(page: Page) -> str:
    script = """(most) => [...document.querySelectorAll('main *, .bar *')]
        .filter((one) => one.getBoundingClientRect().right > most + 1)
        .slice(0, 2).map((one) => one.outerHTML.slice(0, 160))"""
    return json.dumps(page.evaluate(script, NARROWEST), ensure_ascii=False)


@pytest.mark.parametrize("role", ROLES)
def test_no_page_of_a_role_has_a_fault(hands: dict[str, Hand], checked: set[str], role: str):
    """Rooms in full for every role, other pages in full for the first that comes to one of their kind."""
    page, walked = hands[role].page, set()
    found: list[str] = []
    for address in walk(hands[role], ["/"]):
        kind = kind_of(urlsplit(address).path)
        walked.add(kind)
        is_known = kind in checked and kind not in ROOMS
        found += outline_faults(page, address) if is_known else faults(page, address)
        checked.add(kind)
    assert not found, "\n".join(found)
    assert walked >= (OF_MEMBERS if role == "member" else ROOMS)


def test_no_page_of_a_stranger_has_a_fault(hands: dict[str, Hand]):
    member = hands["member"]
    member.go("/hives")
    known = [f"/c/{code}" for code in member.codes()[:1]]
    hand, found = hands["stranger"], []
    for address in walk(hand, ["/sign-in", *known]):
        found += faults(hand.page, address)
    for address in ("/c/nothing", "/in/nothing", "/no-such-page"):
        hand.page.goto(address)
        found += faults(hand.page, address)
    assert not found, "\n".join(found)


@pytest.mark.parametrize(
    ("role", "address"),
    [("stranger", "/sign-in"), ("coordinator", "/bench/plan"), ("volunteer", "/bench"), ("member", "/hives/new")],
)
def test_the_keyboard_leads_past_the_bar_to_the_deed(hands: dict[str, Hand], role: str, address: str):
    page = hands[role].go(address).page
    page.set_viewport_size(DESK)
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    assert page.evaluate("document.activeElement.getBoundingClientRect().top") >= 0
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"
    for _press in range(60):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.matches('main .is-filled, .deed-bar .is-filled')"):
            outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
            assert outline != "none", "where the keyboard is cannot be seen"
            return
    pytest.fail(f"the filled button of {address} cannot be reached")
