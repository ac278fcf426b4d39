"""Units at the border: comma and point, wrong units, nonsense."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coop import units


@pytest.mark.parametrize(
    ("text", "mg"),
    [
        ("1807", 1_807_000),
        ("1 807", 1_807_000),
        ("1\u202f807,2", 1_807_200),
        ("1807.2 g", 1_807_200),
        ("1,5 kg", 1_500_000),
        ("250 mg", 250),
        ("0", 0),
        ("-3,5", -3_500),
        ("\u22123.5", -3_500),
    ],
)
def test_a_mass_is_read_with_comma_or_point_and_any_unit(text: str, mg: int) -> None:
    assert units.mass_mg(text) == mg


@pytest.mark.parametrize(
    "text",
    ["", " ", "g", "NaN", "inf", "1e99", "-1e400", "1.807,2", "1,2,3", "12 lb", "zwölf", "=1+1", "1.00001", "9" * 80],
)
def test_what_is_no_mass_gets_a_sentence(text: str) -> None:
    with pytest.raises(units.BadUnit) as trouble:
        units.mass_mg(text)
    assert str(trouble.value)


@given(st.integers(-(10**14), 10**14))
def test_a_written_mass_reads_back_exactly(mg: int) -> None:
    sign, whole, rest = ("-" if mg < 0 else ""), abs(mg) // 1000, abs(mg) % 1000
    assert units.mass_mg(f"{sign}{whole},{rest:03d}") == mg


def test_the_other_units_scale_exactly() -> None:
    assert units.temp_mc("52,5 °C") == 52_500
    assert units.fraction_ppb("0.3749525") == 374_952_500
    assert units.fraction_ppb("37,5 %") == 375_000_000
    assert units.cents("10,48") == 1_048
    assert units.pieces("98") == 98
    with pytest.raises(units.BadUnit):
        units.pieces("9,5")
