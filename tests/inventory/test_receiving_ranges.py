"""What is unlikely at the door is asked about once, with what was likely meant, and then believed."""

import datetime as dt
from typing import Any

import pytest

from coop.command import Refused
from inventory import holds, ledger
from inventory.models import Item
from tests.makers import inventory as make
from tests.makers.coop import club

pytestmark = pytest.mark.django_db

KG, G = make.KG, 1_000


def asked(**facts: Any) -> Refused:
    with pytest.raises(Refused) as refusal:
        make.lot(confirmed=False, **facts)
    assert refusal.value.code == "did_you_mean"
    assert not Item.objects.exists()
    return refusal.value


def plain(text: str) -> str:
    return text.replace("\u202f", " ")


def test_grams_for_kilograms_are_caught_and_the_kilograms_offered() -> None:
    acid = make.acid(name="Acid", least_at_once=1 * KG, most_at_once=50 * KG)
    refusal = asked(material=acid, quantity=25 * G)
    expected = "Acid: 25 g is less than usual (from 1 000 g). Did you mean 25 kg? If not, confirm it."
    assert plain(refusal.sentence) == expected
    assert refusal.facts["meant"] == 25 * KG
    assert ledger.on_hand(make.lot(acid, quantity=25 * G, confirmed=True)) == 25 * G


def test_kilograms_for_grams_are_caught_and_the_grams_offered() -> None:
    acid = make.acid(least_at_once=10 * G, most_at_once=500 * G)
    refusal = asked(material=acid, quantity=25 * KG)
    assert "Did you mean 25 g?" in plain(refusal.sentence)


def test_where_a_thousandth_lies_outside_too_nothing_is_offered() -> None:
    refusal = asked(material=make.acid(most_at_once=50 * KG, least_at_once=KG), quantity=60 * KG)
    assert "meant" not in refusal.facts
    assert "Is the unit right?" in refusal.sentence


def test_strips_are_counted_and_named() -> None:
    refusal = asked(material=make.strips(least_at_once=100), quantity=5)
    assert "5 strips" in plain(refusal.sentence)


def test_drums_that_do_not_hold_the_amount_are_asked_about() -> None:
    drums = [
        {"name": "a", "tare_mg": 500 * G, "gross_mg": 12_500 * G},
        {"name": "b", "tare_mg": 500 * G, "gross_mg": 12_500 * G},
    ]
    refusal = asked(quantity=25 * KG, containers=drums)
    assert "24 000 g net" in plain(refusal.sentence)
    assert refusal.facts["net_mg"] == 24 * KG
    assert make.lot(quantity=24_200 * G, containers=drums, confirmed=False)
    assert make.lot(quantity=25 * KG, containers=drums, confirmed=True)
    assert make.lot(
        quantity=25 * KG, containers=[drums[0], {"name": "c"}], confirmed=False
    )  # one not weighed: nothing to compare


def test_both_doubts_are_said_at_once_so_that_one_tick_answers_both() -> None:
    drum = [{"name": "a", "tare_mg": 0, "gross_mg": 10 * KG}]
    refusal = asked(material=make.acid(most_at_once=50 * KG), quantity=60 * KG, containers=drum)
    assert {"net_mg"} < {*refusal.facts}
    assert "more than usual" in refusal.sentence
    assert "The containers hold" in refusal.sentence


def test_a_material_may_be_held_on_arrival() -> None:
    careful = make.acid(holds_on_arrival=True)
    [own] = holds.holds_of(make.lot(careful))
    assert "until somebody has looked" in own.reason
    [said] = holds.holds_of(make.lot(careful, hold_reason="torn sack"))
    assert said.reason == "torn sack"
    assert holds.holds_of(make.lot(make.acid())) == []


def test_a_lot_past_its_date_is_asked_about_once() -> None:
    yesterday = club().today() - dt.timedelta(days=1)
    with pytest.raises(Refused) as refusal:
        make.lot(best_before=yesterday, confirmed=False)
    assert refusal.value.code == "did_you_mean"
    assert make.lot(best_before=yesterday, confirmed=True)
    assert make.lot(best_before=club().today(), confirmed=False)
