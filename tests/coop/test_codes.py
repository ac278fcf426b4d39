"""Codes: drawn, read back in any dress, misread ones named."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_37_36

from coop import codes
from coop.command import Refused

LETTERS = st.sampled_from(codes.ALPHABET)


def test_a_drawn_code_has_no_look_alikes_and_a_check_character_of_the_standard() -> None:
    for _round in range(500):
        code = codes.draw()
        assert set(code) <= set(codes.ALPHABET)
        assert mod_37_36.is_valid(code)
    assert not set("0O1ILQ2Z5S8BU") & set(codes.ALPHABET)


@given(st.integers(0, 7), LETTERS)
def test_one_wrong_character_is_always_noticed(place: int, letter: str) -> None:
    code = codes.draw()
    wrong = code[:place] + letter + code[place + 1 :]
    assert codes.is_valid(wrong) == (wrong == code)


@given(st.integers(0, 6))
def test_two_neighbours_swapped_are_noticed(place: int) -> None:
    code = codes.draw()
    swapped = code[:place] + code[place + 1] + code[place] + code[place + 2 :]
    assert codes.is_valid(swapped) == (swapped == code)


def test_a_code_is_read_with_spaces_hyphens_and_small_letters() -> None:
    code = codes.draw()
    for dress in (code.lower(), codes.spaced(code), f"{code[:4]}-{code[4:]}", f"  {code[:2]} {code[2:]}\n"):
        assert codes.check(dress) == code


@pytest.mark.django_db
def test_a_misread_code_names_the_known_ones_near_it() -> None:
    code = codes.new_code().text
    other = next(letter for letter in codes.ALPHABET if letter != code[3])
    with pytest.raises(Refused) as refusal:
        codes.check(code[:3] + other + code[4:])
    assert codes.spaced(code) in refusal.value.sentence


@pytest.mark.parametrize("text", ["", "KXJV", "KXJV 3Y4X 9", "ЖЖЖЖЖЖЖЖ", "OOOO1111", "<script>", "9" * 4000])
@pytest.mark.django_db
def test_what_is_no_code_gets_a_sentence(text: str) -> None:
    with pytest.raises(Refused) as refusal:
        codes.check(text)
    assert len(refusal.value.sentence) < 200
