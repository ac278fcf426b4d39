"""A few blanks on the scale tell the lot its dry mass and uptake."""

from typing import Any

import pytest

from coop.command import Refused
from inventory.commands.samples import measure_strips
from inventory.models import StripSample
from tests.makers import inventory as make
from tests.makers.coop import do

pytestmark = pytest.mark.django_db


def test_strip_by_strip_the_means_go_to_the_lot() -> None:
    item = make.lot(make.strips())
    sample = do(measure_strips, item=item, dry_mg=[11_600, 12_000], wet_mg=[24_600, 25_400], note="from the top")
    item.lot.refresh_from_db()
    assert (item.lot.dry_strip_mg, item.lot.uptake_mg) == (11_800, 13_200)
    assert (sample.dry_mg, sample.wet_mg, sample.note) == ([11_600, 12_000], [24_600, 25_400], "from the top")


def test_strips_weighed_together() -> None:
    item = make.lot(make.strips())
    dry, wet = {"count": 10, "total_mg": 118_000}, {"count": 10, "total_mg": 250_000}
    do(measure_strips, item=item, dry_mg=dry, wet_mg=wet)
    item.lot.refresh_from_db()
    assert (item.lot.dry_strip_mg, item.lot.uptake_mg) == (11_800, 13_200)


def test_dry_alone_leaves_the_uptake_as_it_was_and_the_newest_counts() -> None:
    item = make.lot(make.strips(), uptake_mg=13_000, dry_strip_mg=11_000)
    do(measure_strips, item=item, dry_mg=[11_600])
    do(measure_strips, item=item, dry_mg=[11_900])
    item.lot.refresh_from_db()
    assert (item.lot.dry_strip_mg, item.lot.uptake_mg) == (11_900, 13_000)
    assert item.lot.samples.count() == 2


@pytest.mark.parametrize(
    ("facts", "code"),
    [
        ({"dry_mg": []}, "strips"),
        ({"dry_mg": [0]}, "strips"),
        ({"dry_mg": [-5]}, "strips"),
        ({"dry_mg": [11_800] * 101}, "strips"),
        ({"dry_mg": {"count": 0, "total_mg": 5}}, "strips"),
        ({"dry_mg": [11_800, 11_900], "wet_mg": [25_000]}, "pairs"),
        ({"dry_mg": [1_180]}, "did_you_mean"),
        ({"dry_mg": [118_000]}, "did_you_mean"),
        ({"dry_mg": {"count": 1, "total_mg": 118_000}}, "did_you_mean"),
        ({"dry_mg": [25_000], "wet_mg": [11_800]}, "did_you_mean"),
        ({"dry_mg": [11_800], "wet_mg": [250_000]}, "did_you_mean"),
        ({"dry_mg": {"count": 2, "total_mg": 50_000}, "wet_mg": {"count": 2, "total_mg": 23_600}}, "did_you_mean"),
    ],
)
def test_what_is_unlikely_is_asked_and_what_cannot_be_is_refused(facts: dict[str, Any], code: str) -> None:
    item = make.lot(make.strips())
    with pytest.raises(Refused) as refusal:
        do(measure_strips, item=item, **facts)
    assert refusal.value.code == code
    assert not StripSample.objects.exists()
    if code == "did_you_mean":
        assert do(measure_strips, item=item, confirmed=True, **facts)


def test_only_blanks_are_measured_so() -> None:
    with pytest.raises(Refused) as refusal:
        do(measure_strips, item=make.lot(), dry_mg=[11_800])
    assert refusal.value.code == "kind"
