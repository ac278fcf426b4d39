"""The whole road of one strip, clicked through by each role: from receiving a sack to strips out and disposed of.

One test, since each part stands on the one before; its parts are functions in the order of the road. Nothing is
prepared: the club is founded, and all else is entered on pages. The soak was three days ago and is typed in later.
"""

import datetime as dt
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.browser.begin import START, receive_all, set_up_the_bench, set_up_the_club
from tests.browser.hand import PHONE, ZONE, Hand
from tests.engines.server import CLUB, Server, running, shell
from tests.engines.smtp import Postbox

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.sqlite]

DRY = "13,5 13,7 13,6 13,4 13,8 13,6 13,6 13,5 13,7 13,6"
WET = "28,5 28,8 28,6 28,3 28,9 28,7 28,5 28,6 28,7 28,4"


class Road:
    """The server, its mail, and who is at which browser; `after` moves the clock of what is typed in later."""

    def __init__(self, browser: Browser, server: Server, postbox: Postbox) -> None:
        self.browser, self.server, self.postbox = browser, server, postbox
        self.now = START

    def hand(self, name: str = "", **how: object) -> Hand:
        email = f"{name}@example.org" if name else ""
        made = Hand(self.browser, self.server.url, email, **how)
        return made.sign_in(self.postbox) if name else made

    def after(self, minutes: float = 1) -> dt.datetime:
        self.now += dt.timedelta(minutes=minutes)
        return self.now


@pytest.fixture
def road(browser: Browser, tmp_path: Path, postbox: Postbox) -> Iterator[Road]:
    with running(tmp_path / "data", *CLUB, COOP_SMTP_URL=postbox.url) as server:
        yield Road(browser, server, postbox)


def test_the_whole_road_of_one_strip(road: Road):
    ada = road.hand("ada")
    set_up_the_club(ada)
    set_up_the_bench(ada)
    acid = receive_all(ada)
    plan_a_batch(ada)
    ben = road.hand("ben", size=PHONE)
    open_and_check(road, ben)
    mix_and_pour(road, ben)
    soak = lift_and_bag(road, ben)
    release(road, soak)
    mole = road.hand("mole", size=PHONE, scripts=False)
    keep_hives(mole)
    open_a_round(ada)
    ask(mole)
    share_out(ada)
    bag = hand_over(ada)
    read_the_bag(mole, bag)
    strips_in(mole)
    trace_hold_and_lift(road, ada, mole, acid, bag)
    strips_out(mole)
    end(ada, bag)
    assert shell(road.server.data, "from django.core.management import call_command as c; c('prove')")
    assert not any("Traceback" in line for line in road.server.words)


def plan_a_batch(ada: Hand) -> None:
    ada.go("/bench").follow("Plan the first batch")
    ada.fill(day=START.astimezone(ZONE).date(), recipe="Summer", instructions="Summer", target_mg="4000")
    ada.fill(blanks="Strip blanks", place="Red shed").press("Plan the batch")
    ada.sees("Planned. The figures to reach stand below.", "Oxalic acid dihydrate", "Open the bench")


def open_and_check(road: Road, ben: Hand) -> None:
    """Two people in gear, water at hand; scale and thermometer checked; strips laid, ten weighed dry."""
    ben.go("/bench").follow(f"Go on with {day_words(START)}").follow("Open the bench")
    ben.sees("Goggles and gloves on.", "One person alone handles no acid.")
    ben.fill(people=["Cleo"], gear=["goggles", "gloves", "mask"], room_mc="21", happened_at=road.now)
    ben.fill(ready=["water", "eye_wash", "first_aid", "spill_powder"]).keep()
    ben.sees("Check the scale").fill(reference="2000", reading="2000,1", happened_at=road.after()).keep()
    ben.sees("Check the thermometer").fill(reference="18", reading="18,2", happened_at=road.after()).keep()
    ben.sees("Lay the strips").fill(strips="60", blanks="Strip blanks", happened_at=road.after(3)).keep()
    ben.sees("Weigh the marked strips dry").fill(masses_mg=DRY, happened_at=road.after(5)).keep()


def mix_and_pour(road: Road, ben: Hand) -> None:
    """Each figure is read off the page and weighed in to the tenth of a gram; clear twice; poured hot."""
    total = 0.0
    for what in ("Glycerine", "Oxalic acid dihydrate"):
        ben.sees(f"Weigh in {what}")
        if "acid" in what:
            ben.sees("Mask, goggles and gloves on.", "Causes serious eye damage.")
        figure = to_reach(ben)
        total += figure
        ben.fill(mass_mg=f"{figure:.1f}".replace(".", ","), happened_at=road.after(3)).keep()
    ben.sees("Weigh the whole pail").fill(total_mg=f"{total:.1f}", happened_at=road.after()).keep()
    for minutes, temp, clarity in ((0, 20, "lumps"), (10, 40, "grains"), (8, 52, "clear"), (3, 54, "clear")):
        if "Enter a reading" in ben.text:
            ben.follow("Enter a reading")
        ben.sees("Sharp smell:")
        ben.fill(solution_mc=str(temp), clarity=clarity, was_stirred=True, happened_at=road.after(minutes)).keep()
        ben.sees("Next reading")
    ben.sees("clear twice, 3 minutes apart").follow("Pour onto the strips")
    ben.fill(mass_mg=f"{total - 10:.1f}", temp_mc="52", clarity="clear", covered_mm="12", has_lid=True)
    ben.fill(happened_at=road.after(5)).keep()
    ben.sees("Poured:", "Look into the tub")


def lift_and_bag(road: Road, ben: Hand) -> str:
    """A look, the lift after 48 hours, wet masses, sample, two bags, the rest back; closed. The soak's code."""
    ben.follow("Look into the tub").fill(is_covered=True, min_mc="20", max_mc="22", happened_at=road.after(14 * 60))
    ben.keep().sees("Lift and drain")
    ben.follow("Lift and drain")
    ben.fill(min_mc="20", max_mc="23", clarity="clear", drain_min="10", happened_at=road.after(34 * 60)).keep()
    ben.sees("Weigh the marked strips wet").fill(masses_mg=WET, happened_at=road.after(10)).keep()
    ben.sees("Keep a sample").fill(strips="2", net_mg="57,2", happened_at=road.after()).keep()
    for _bag in range(2):
        ben.sees("Bag and weigh").fill(strips="29", tare_mg="11", gross_mg="840,4", has_label=True)
        ben.fill(happened_at=road.after(2)).keep()
    ben.sees("Put the solution back")
    found = re.search(r"The book has ([\d ]+(?:\.\d+)?) g there", ben.text)
    assert found, ben.text
    back = float(found[1].replace(" ", "")) - 7
    ben.fill(mass_mg=f"{back:.1f}", container="can 1", clarity="clear", happened_at=road.after()).keep()
    ben.sees("Check the scale").fill(reference="2000", reading="2000", happened_at=road.after()).keep()
    ben.sees("Close the bench").fill(note="as planned", happened_at=road.after()).keep()
    ben.sees("Closed. Somebody who was not here decides on the release.")
    return ben.codes()[-1] if not ben.page.locator('a[href*="/soak/"]').count() else soak_of(ben)


def soak_of(hand: Hand) -> str:
    address = hand.page.locator('a[href*="/soak/"]').first.get_attribute("href") or ""
    return address.strip("/").split("/")[1]


def release(road: Road, soak: str) -> None:
    """By somebody who was not at the bench, whose sign-in is a day old: a fresh code is asked for."""
    rex = road.hand("rex")
    rex.go(f"/soak/{soak}/release")
    rex.sees("Yours to decide", "None forbids it.", "On the bench were")
    sign_ins_grow_old(road, "rex")
    rex.follow("Release 58 strips").confirm(road.postbox)
    rex.fill(note="by the record").press("Release 58 strips").sees("Released. The bags may be handed over.")


def sign_ins_grow_old(road: Road, name: str) -> None:
    code = f"""
from importlib import import_module
from django.conf import settings
from django.contrib.sessions.models import Session
from coop.models import Person
person = str(Person.objects.get(email="{name}@example.org").pk)
store = import_module(settings.SESSION_ENGINE).SessionStore
for row in Session.objects.all():
    if row.get_decoded().get("_auth_user_id") == person:
        session = store(row.session_key)
        session["account_authentication_methods"] = [{{"method": "code", "at": 1}}]
        session.save()
"""
    shell(road.server.data, code)


def keep_hives(mole: Hand) -> None:
    mole.go("/hives").follow("Add my first apiary").fill(name="Bank", where="Willow Bank").press("Add the apiary")
    mole.sees("Hives at Bank").fill(kind="full hive", count="4").press("Add the hives").sees("on the list")


def open_a_round(ada: Hand) -> None:
    closes = dt.datetime.now(dt.UTC) + dt.timedelta(days=5)
    ada.go("/share-out").follow("Plan the first round").fill(name="Autumn round", closes_at=closes)
    ada.press("Plan the round").sees("Nobody can ask before it opens.").follow("Open for asks")
    ada.press("Open for asks").sees("Hives are frozen and the numbers are drawn.")


def ask(mole: Hand) -> None:
    mole.go("/share-out").follow("Ask for strips").sees("You keep 4", "each gets 3 strips or none.")
    mole.labelled("For how many hives: full hive", "4").press("Ask").sees(
        "Noted. It can be changed until", "4 hive doses for 4 hives"
    )


def share_out(ada: Hand) -> None:
    ada.page.reload()
    ada.sees("4 hive doses asked").follow("Close the round").press("Close the round").sees("Closed.")
    ada.follow("Share out 58 strips").press("Share out").sees("Shared out.", "4 hive doses for 4 asked")


def hand_over(ada: Hand) -> str:
    """From the pick list: 12 of a bag become a part with a code of its own. Not without the cautions."""
    ada.page.goto(ada.page.url.rstrip("/") + "/pack")
    ada.sees("12 strips to pack", "12 of it").page.locator("main td a.code").first.click()
    ada.sees("Danger.", "Causes serious eye damage.", "The club supplies on this basis: an invented rule")
    ada.press("Hand over").sees("cautions")
    ada.fill(cautions=True).press("Hand over").sees("12 strips handed to Mole", "Everything was collected.")
    return ada.codes()[0]


def read_the_bag(mole: Hand, bag: str) -> None:
    mole.go("/hives").sees("You hold 12 strips")
    mole.go(f"/hives/strips/{bag}").sees("released, no hold known", "12 strips", "an invented leaflet")


def strips_in(mole: Hand) -> None:
    mole.follow("Strips in: Bank").sees("Gloves on, and eye protection.", "Each hive gets a whole dose or none.")
    mole.press("Strips are in").sees("In. They are due out on", "a reminder comes before")


def trace_hold_and_lift(road: Road, ada: Hand, mole: Hand, acid: str, bag: str) -> None:
    """Who holds what was made of the acid; a hold that reaches the member's bag, and its end."""
    stranger = road.hand()
    stranger.go(f"/c/{bag}").sees("No hold known at", "+33 1 99 00 12 34")
    assert "Mole" not in stranger.text
    ada.go("/trace").fill(code=f"{acid[:4].lower()} {acid[4:].lower()}").press("Trace it")
    ada.sees("Who holds what", "Mole").follow("Put on hold")
    ada.fill(reason="the sack smells of solvent").press("Put on hold").sees("On hold, with everything made from it.")
    mole.go(f"/hives/strips/{bag}").sees("On hold: do not use these strips.")
    stranger.go(f"/c/{bag}").sees("Not cleared", "Do not use.")
    ada.follow("Lift the hold").fill(reason="it was the floor polish").press("Lift the hold").sees("Lifted.")
    stranger.go(f"/c/{bag}").sees("No hold known at")


def strips_out(mole: Hand) -> None:
    """Three come out of three hives each; of the last hive two, one was chewed away."""
    mole.go("/hives").follow("Not all of them")
    outs = mole.page.locator('main input[name^="out_"]')
    gone = mole.page.locator('main input[name^="gone_"]')
    outs.nth(0).fill("2")
    gone.nth(0).fill("1")
    mole.press("Note what came out").sees("Noted.")
    mole.go("/hives").press("Strips are out").sees("Out, and on the record.")


def end(ada: Hand, bag: str) -> None:
    """The book says where all of it went: disposed of, one missing, nothing in a hive or with the member."""
    ada.go(f"/trace/code/{bag}").sees("destroyed")
    ada.go("/hives/record").sees("Mole", "Bank")


def to_reach(hand: Hand) -> float:
    return int(hand.page.locator("[data-reach]").get_attribute("data-target") or 0) / 1000


def day_words(moment: dt.datetime) -> str:
    local = moment.astimezone(ZONE)
    year = f" {local.year}" if local.year != dt.datetime.now(ZONE).year else ""
    return f"{local:%a} {local.day} {local:%b}{year}"
