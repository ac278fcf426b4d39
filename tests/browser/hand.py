"""Somebody at a browser: goes, fills in, presses, reads. Signs in with the code that was mailed."""

import datetime as dt
import re
import time
from email.message import EmailMessage
from typing import Literal
from zoneinfo import ZoneInfo

from playwright.sync_api import Browser, Locator, Page, TimeoutError

from tests.engines.smtp import Postbox

PHONE = {"width": 360, "height": 740}
DESK = {"width": 1280, "height": 900}
ZONE = ZoneInfo("Europe/Paris")
_CODE = re.compile(r"^ {4}(\S[\S ]*?)\s*$", re.MULTILINE)


def plain(text: str) -> str:
    """Without narrow and no-break spaces, runs of space as one."""
    return " ".join(text.replace("\u202f", " ").replace("\xa0", " ").split())


class Hand:
    """One person's browser. Names are of form fields; words are what stands on links and buttons."""

    def __init__(self, browser: Browser, url: str, email: str = "", size: dict = DESK, scripts: bool = True) -> None:
        self.context = browser.new_context(
            viewport=size, java_script_enabled=scripts, base_url=url, locale="en-GB", timezone_id="Europe/Paris"
        )
        self.page: Page = self.context.new_page()
        self.page.set_default_timeout(15_000)
        self.email = email

    def go(self, path: str) -> "Hand":
        answer = self.page.goto(path)
        assert answer is not None
        assert answer.status < 400, (path, answer.status)
        return self

    def sign_in(self, postbox: Postbox) -> "Hand":
        self.go("/sign-in")
        before = len(postbox.to(self.email))
        self.fill(email=self.email).press("Send me a code")
        self.fill(code=code_in(arrived(postbox, self.email, before))).press("Sign in")
        return self.sees("Sign out")

    def sign_in_to_the_demo(self) -> "Hand":
        """A demo sends no mail: its code stands on the page."""
        self.go("/sign-in").fill(email=self.email).press("Send me a code")
        found = re.search(r"The code is (\w+ \w+)", self.sees("The code is").text)
        assert found, self.text
        return self.fill(code=found[1]).press("Sign in").sees("Sign out")

    def confirm(self, postbox: Postbox) -> "Hand":
        """Is it you? The fresh code that is asked for before what cannot be undone."""
        self.sees("Is it you?")
        before = len(postbox.to(self.email))
        self.press("Send me a code")
        return self.fill(code=code_in(arrived(postbox, self.email, before))).press("Go on")

    def fill(self, **fields: object) -> "Hand":
        """Text, a tick (True), a choice by its value or by the words on it, several ticks (a list), a moment."""
        for name, value in fields.items():
            found = self.page.locator(f'main [name="{name}"]:not([type=hidden])')
            self._open_around(found.first)
            for one in value if isinstance(value, list) else [value]:
                self._enter(found, one)
        return self

    def _enter(self, found: Locator, value: object) -> None:
        first = found.first
        kind = first.evaluate("(box) => box.tagName === 'SELECT' ? 'select' : box.type")
        if kind == "select":
            options = first.evaluate("(box) => [...box.options].map((one) => [one.value, one.text])")
            fits = [n for n, (known, text) in enumerate(options) if str(value) == known or str(value) in plain(text)]
            assert fits, (value, options)
            first.select_option(index=fits[0])
        elif kind in ("checkbox", "radio") and value is True:
            first.check()
        elif kind in ("checkbox", "radio"):
            self._choice(found, str(value)).check()
        elif isinstance(value, dt.datetime):
            first.fill(value.astimezone(ZONE).strftime("%Y-%m-%dT%H:%M"))
        else:
            first.fill(str(value))

    def _choice(self, found: Locator, word: str) -> Locator:
        """By value, else by the words beside it."""
        for box in found.all():
            if box.get_attribute("value") == word:
                return box
        return self.page.locator("main label").filter(has_text=word).locator("input")

    def _open_around(self, box: Locator) -> None:
        """A part that is folded away is opened first, as a person does."""
        folded = box.locator("xpath=ancestor::details[not(@open)]/summary")
        for summary in folded.all():
            summary.click()

    def press(self, word: str) -> "Hand":
        self._one("button", word).click()
        return self

    def keep(self) -> "Hand":
        """The one big button of a bench step, whatever stands on it."""
        self.page.locator("button[form=step]").click()
        return self

    def follow(self, word: str) -> "Hand":
        self._one("link", word).click()
        return self

    def _one(self, role: Literal["button", "link"], word: str) -> Locator:
        """By the words on it, where they stand first."""
        found = self.page.get_by_role(role, name=word, exact=True).first
        try:
            found.wait_for(timeout=10_000)
        except TimeoutError as trouble:
            raise AssertionError(f"no {role} “{word}” on {self.page.url}:\n{self.text[:3000]}") from trouble
        return found

    def labelled(self, label: str, text: str) -> "Hand":
        """Fill in the box that these words stand over."""
        self.page.get_by_label(label).first.fill(text)
        return self

    def sees(self, *words: str) -> "Hand":
        for word in words:
            end = time.monotonic() + 10
            while word not in self.text:
                assert time.monotonic() < end, f"“{word}” is not on {self.page.url}:\n{self.text[:3000]}"
                time.sleep(0.05)
        return self

    @property
    def text(self) -> str:
        return plain(self.page.locator("body").inner_text())

    @property
    def title(self) -> str:
        return plain(self.page.locator("h1").inner_text())

    def codes(self, within: str = "main") -> list[str]:
        """The codes that stand on the page, in their order."""
        texts = self.page.locator(f"{within} .code").all_text_contents()
        found = [re.sub(r"\s", "", text) for text in texts]
        return [code for code in found if re.fullmatch(r"[0-9A-Z]{8}", code)]


def arrived(postbox: Postbox, address: str, before: int) -> EmailMessage:
    end = time.monotonic() + 20
    while len(postbox.to(address)) <= before:
        assert time.monotonic() < end, f"no letter came to {address}"
        time.sleep(0.1)
    return postbox.to(address)[-1]


def code_in(letter: EmailMessage) -> str:
    part = letter.get_body(("plain",))
    assert part is not None
    found = _CODE.search(part.get_content())
    assert found, part.get_content()
    return found[1]
