"""A shed counted by two people on two phones, one of them called away in the middle: the right movements come of it."""

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.browser.hand import PHONE, Hand
from tests.browser.test_look import faults
from tests.engines.server import CLUB, Server, running, shell
from tests.engines.smtp import Postbox

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.sqlite]

#: a shed with a lot in two drums, cans of glycerine, blanks, and a jar that the book has in the other shed
FILL = """
import json
from coop.command import new_key
from coop.commands.people import add_person
from coop.models import Person
from inventory.commands.receiving import receive
from inventory.commands.settings import add_material, add_shed, add_supplier
ada = Person.objects.get(email="ada@example.org")
def do(command, **facts):
    return command(actor=ada, key=new_key(), **facts)
for name in ("Ben", "Cleo"):
    do(add_person, name=name, email=f"{name.lower()}@example.org", role="volunteer")
shed, other = do(add_shed, name="Cold shed"), do(add_shed, name="Warm shed")
calder = do(add_supplier, name="Calder")
acid = do(add_material, name="Oxalic acid dihydrate", kind="acid")
glycerine = do(add_material, name="Glycerine", kind="glycerine")
strips = do(add_material, name="Strip blanks", kind="strip")
drums = [{"name": f"drum {n}", "tare_mg": 1_000_000, "gross_mg": 6_000_000} for n in (1, 2)]
made = {
    "acid": do(receive, material=acid, supplier=calder, place=shed, quantity=10_000_000, form="dihydrate",
               certificate_names_form=True, containers=drums),
    "can": do(receive, material=glycerine, supplier=calder, place=shed, quantity=20_000_000),
    "jar": do(receive, material=glycerine, supplier=calder, place=other, quantity=500_000),
    "blanks": do(receive, material=strips, supplier=calder, place=shed, quantity=477),
}
print(json.dumps({name: item.code_id for name, item in made.items()}))
"""
BOOK = """
import json
from inventory.models import Holding, Movement
rows = Movement.objects.filter(cause="count")
print(json.dumps({
    "movements": sorted([m.item.code_id, m.quantity, m.source.kind, m.target.kind] for m in rows),
    "notes": [m.note for m in rows],
    "there": {h.item.code_id: h.quantity for h in Holding.objects.filter(place__name="Cold shed")},
}))
"""


@pytest.fixture
def club(tmp_path: Path, postbox: Postbox) -> Iterator[Server]:
    with running(tmp_path / "data", *CLUB, COOP_SMTP_URL=postbox.url) as server:
        yield server


def at(hand: Hand, code: str) -> bool:
    return hand.page.url.endswith(code)


def count(hand: Hand, code: str, figures: dict[str, str]) -> Hand:
    """On the page of one thing: what is there, box by box, with no figure of the book in sight."""
    assert at(hand, code), hand.page.url
    for label, figure in figures.items():
        hand.labelled(label, figure)
    return hand.press("This is what is there").sees("Kept:")


def test_two_people_on_two_phones_one_called_away_end_in_the_right_movements(
    browser: Browser, club: Server, postbox: Postbox
) -> None:
    codes = json.loads(shell(club.data, FILL))
    ben = Hand(browser, club.url, "ben@example.org", size=PHONE).sign_in(postbox)
    cleo = Hand(browser, club.url, "cleo@example.org", size=PHONE).sign_in(postbox)
    ben.go("/shelf").follow("Count Cold shed").sees("10 000", "477").follow("Begin a stocktake")
    found = faults(ben.page, "begin")
    ben.press("Begin the stocktake").sees("Cold shed: 3 things left to count")
    take = ben.page.url
    cleo.go("/shelf").follow("Count Cold shed").sees("Ben began").follow("Go on counting")
    assert not any(figure in cleo.text for figure in ("10 000", "20 000", "477"))
    cleo.follow("Count the next")
    ben.follow("Count the next")
    assert ben.page.url != cleo.page.url, "both were sent to one thing"
    first, last = (next(name for name, code in codes.items() if at(one, code)) for one in (ben, cleo))
    answers = {
        "acid": {"drum 1, gross": "5,5 kg", "drum 2, gross": "6000", "Loose": "40"},
        "can": {"How much is there": "20000"},
        "blanks": {"How much is there": "460"},
    }
    found += faults(ben.page, "count")
    ben.page.set_viewport_size(PHONE)
    count(cleo, codes[last], answers[last])

    # Ben is called away with a figure typed in and not kept; his phone lies off, and he begins again on it later
    state = ben.context.storage_state()
    ben.page.get_by_role("textbox").first.fill("1")
    ben.context.close()
    again = Hand(browser, club.url, "ben@example.org", size=PHONE)
    again.context.close()
    again.context = browser.new_context(viewport=PHONE, base_url=club.url, storage_state=state, locale="en-GB")
    again.page = again.context.new_page()
    ben = again
    ben.go(take).sees("2 things left to count", "Cleo").follow("Count the next")
    count(ben, codes[first], answers[first])
    left = next(name for name in answers if name not in (first, last))
    count(ben, codes[left], answers[left])
    ben.go(take).labelled("Count something else: its code", codes["jar"]).press("Count it")
    count(ben, codes["jar"], {"How much is there": "480 g"})

    # a second look at what differs, each by the other where it can be; nobody is shown a figure meanwhile
    cleo.go(take).sees("Cold shed: look again at 3 things")
    found += faults(cleo.page, "look again")
    cleo.page.set_viewport_size(PHONE)
    assert not any(figure in cleo.text for figure in ("10 000", "9 540", "477", "460", "480"))
    seconds = {**answers, "blanks": {"How much is there": "461"}, "jar": {"How much is there": "480"}}
    cleo.follow("Look again at the next")
    for _look in range(3):
        name = next(name for name, code in codes.items() if at(cleo, code))
        count(cleo, codes[name], seconds[name])
    cleo.sees("All counted: 3 differences").follow("See the differences")
    cleo.sees("10 000", "9 540", "−460", "477", "460", "461", "−16", "+480")
    found += faults(cleo.page, "differences")
    cleo.page.set_viewport_size(PHONE)
    cleo.press("Write 3 differences into the book").sees("It is in the book.", "3 differences written")
    found += faults(cleo.page, "report")
    ben.go(take).sees("3 differences written")

    book = json.loads(shell(club.data, BOOK))
    assert book["movements"] == sorted(
        [
            [codes["acid"], 460_000, "shed", "unexplained"],
            [codes["blanks"], 16, "shed", "unexplained"],
            [codes["jar"], 480_000, "found", "shed"],
        ]
    )
    assert book["there"] == {
        codes["acid"]: 9_540_000, codes["can"]: 20_000_000, codes["blanks"]: 461, codes["jar"]: 480_000,
    }  # fmt: skip
    assert all("Cold shed" in note and "Cleo" in note for note in book["notes"])
    assert not found, "\n".join(found)
