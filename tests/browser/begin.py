"""A club begins: its coordinator enters people, a legal basis, a recipe, instruments, and what came in at the door."""

import datetime as dt
import re

from tests.browser.hand import ZONE, Hand

#: when the batch was begun that is typed in later, three days on
START = (dt.datetime.now(dt.UTC) - dt.timedelta(days=3)).replace(second=0, microsecond=0)


def set_up_the_club(ada: Hand) -> None:
    """People, what the sheet says, kinds of hive, and the basis without which nothing is handed over."""
    for name, role, may in (
        ("Ben", "volunteer", {}),
        ("Cleo", "volunteer", {}),
        ("Rex", "member", {"is_releaser": True}),
        ("Mole", "member", {}),
    ):
        ada.go("/people").follow("Add a person")
        ada.fill(name=name, email=f"{name.lower()}@example.org", role=role, **may)
        ada.press("Add to the club").sees("On the list")
    ada.go("/club/change").fill(
        phone="+33 1 99 00 12 34",
        signal_word="Danger",
        hazard_text="Causes serious eye damage.",
        mask_text="half mask as the sheet names it",
    )
    ada.press("Keep the change").sees("Changed.")
    ada.go("/club/hive-kinds/new").fill(name="full hive").press("Add to the list").sees("Added.")
    today = dt.datetime.now(ZONE).date()
    ada.go("/club/legal-basis/new").fill(
        subject="supply",
        rule="an invented rule",
        reference="section 0",
        checked_by="Ada",
        valid_from=today - dt.timedelta(days=200),
        valid_until=today + dt.timedelta(days=400),
    )
    ada.press("Note the basis").sees("Noted.")


def set_up_the_bench(ada: Hand) -> None:
    ada.go("/recipes/write").fill(
        name="Summer",
        w_ppb="0,36",
        uptake_mg="15",
        content_low_mg="4,9",
        content_high_mg="6",
        tub_mg="4000",
        tub_strips="80",
        u_w_ppb="0,0015",
        source="the club's meeting",
    )
    ada.press("Keep the recipe").sees("Kept as a new version.")
    ada.go("/instructions/write").fill(name="Summer", days="42", source="an invented leaflet")
    ada.labelled("Strips for one hive: full hive", "3").press("Keep the instructions").sees("Kept as a new version.")
    for kind, word, facts in (
        ("scale", "Add the scale", {"name": "Bench scale", "resolution": "0,1", "capacity": "15 kg"}),
        (
            "thermometer",
            "Add the thermometer",
            {"name": "Probe", "resolution": "0,1", "capacity": "110", "u_check": "0,2"},
        ),
    ):
        ada.go(f"/instruments/add/{kind}").fill(**facts).press(word).sees("Added.")


def receive_all(ada: Hand) -> str:
    """Acid, glycerine and blanks come in at the door; answers with the acid's code."""
    ada.go("/shelf/suppliers/new").fill(name="Calder", lead_days="10").press("Add the supplier").sees("Calder")
    ada.go("/shelf/sheds/new").fill(name="Red shed").press("Add the shed").sees("Red shed")
    long_ago = START - dt.timedelta(days=20)
    lots = (
        ("Oxalic acid dihydrate", "acid", {"quantity": "10 kg", "form": "dihydrate", "assay_ppb": "99,8 %"}),
        ("Glycerine", "glycerine", {"quantity": "20 kg"}),
        ("Strip blanks", "strip", {"quantity": "500", "dry_strip_mg": "13,6"}),
    )
    for name, kind, _facts in lots:
        ada.go("/shelf/materials/new").fill(name=name, kind=kind).press("Add the material").sees("Added.")
    ada.go("/shelf/receive").fill(supplier="Calder", paper_number="N 7", happened_at=long_ago)
    ada.press("Begin the delivery").sees("Nothing is entered yet.")
    received = {}
    for name, kind, facts in lots:
        ada.follow(name)
        if kind == "acid":
            ada.sees("Receive Oxalic acid dihydrate").fill(certificate_names_form=True)
        ada.fill(supplier_lot=f"{kind} 7", place="Red shed", happened_at=long_ago, **facts)
        ada.press("Receive the lot").sees("Received. Its code is", "write it on the lot now", "Print the labels")
        told = re.search(r"Its code is (\w{4} \w{4})", ada.text)
        assert told is not None
        received[kind] = told[1].replace(" ", "")
    ada.go("/shelf").sees("Oxalic acid dihydrate", "10 000", "500")
    return received["acid"]
