"""A lot's page: its papers set right, and a few strips weighed in pairs of boxes."""

import datetime as dt
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from coop.command import new_key
from inventory.commands.lots import change_lot
from inventory.commands.samples import measure_strips
from inventory.models import Amendment, Item, StripSample
from tests.makers import inventory as make
from tests.makers.coop import coordinator, do, sign_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def keeper() -> Any:
    return sign_in(Client(), coordinator("Ida Holm"))


def url(name: str, item: Item) -> str:
    return reverse(f"inventory:{name}", args=[item.code_id])


def plain(answer: Any) -> str:
    text: str = answer.content.decode()
    return text.replace("\u202f", " ")


def typed(item: Item, **more: Any) -> dict[str, Any]:
    lot = item.lot
    return {
        "key": new_key(),
        "supplier": lot.supplier_id,
        "supplier_lot": lot.supplier_lot,
        "grade": lot.grade,
        "form": lot.form,
        "assay_ppb": "",
        "price_cents": f"{lot.price_cents / 100:.2f}",
        "reason": "read again on the sack",
        **more,
    }


def test_papers_are_set_right_and_the_page_tells_what_was(keeper: Client) -> None:
    item, other = make.lot(supplier_lot="OX-L"), make.supplier(name="Calder")
    assert 'value="OX-L"' in plain(keeper.get(url("lot_change", item)))
    told = typed(
        item, supplier=other.pk, supplier_lot="OX-K", assay_ppb="99,4 %", price_cents="1", best_before="2030-01-31"
    )
    assert keeper.post(url("lot_change", item), told).status_code == 302
    item.refresh_from_db(), item.lot.refresh_from_db()
    assert (item.lot.supplier_lot, item.lot.assay_ppb, item.best_before) == ("OX-K", 994_000_000, dt.date(2030, 1, 31))
    page = plain(keeper.get(url("lot", item)))
    assert "their lot from “OX-L” to “OX-K”" in page
    assert "to Calder" in page
    assert "price from 0.00 EUR to 1.00 EUR" in page
    assert "read again on the sack" in page


def test_what_stands_already_is_filled_in_as_it_stands(keeper: Client) -> None:
    item = make.lot(assay_ppb=994_500_000, price_cents=11_250, best_before=dt.date(2030, 1, 31))
    form = keeper.get(url("lot_change", item)).context["form"]
    told = {"key": new_key(), "reason": "x", **{name: form[name].value() for name in form.fields if name != "key"}}
    told = {**told, "reason": "x", "best_before": "2030-01-31"}
    answer = keeper.post(url("lot_change", item), told)
    assert answer.status_code == 422
    assert "That is what the book says already." in plain(answer)
    assert not Amendment.objects.exists()


def test_without_a_reason_nothing_is_changed_and_nothing_lost(keeper: Client) -> None:
    item = make.lot()
    answer = keeper.post(url("lot_change", item), typed(item, grade="food grade", reason=""))
    assert answer.status_code == 422
    assert 'value="food grade"' in plain(answer)
    assert not Amendment.objects.exists()


def boxes(*pairs: tuple[str, str], **more: str) -> dict[str, str]:
    found = {"key": new_key(), **more}
    for number, (dry, wet) in enumerate(pairs, 1):
        found |= {f"dry_{number}": dry, f"wet_{number}": wet}
    return found


def test_pairs_of_boxes_become_a_sample_with_mean_and_spread(keeper: Client) -> None:
    item = make.lot(make.strips())
    answer = keeper.post(url("strip_sample", item), boxes(("11,6", "24.6"), ("12.0", "25,4")), follow=True)
    page = plain(answer)
    assert "One strip weighs 11.80 g ± 0.28 g dry and takes up 13.20 g ± 0.28 g." in page
    item.lot.refresh_from_db()
    assert (item.lot.dry_strip_mg, item.lot.uptake_mg) == (11_800, 13_200)


def test_strips_weighed_together_on_the_page(keeper: Client) -> None:
    item = make.lot(make.strips())
    told = boxes(count="10", dry_total="118", wet_total="250")
    assert keeper.post(url("strip_sample", item), told).status_code == 302
    assert StripSample.objects.get().dry_mg == {"count": 10, "total_mg": 118_000}
    assert keeper.post(url("strip_sample", item), boxes(count="10", dry_total="118")).status_code == 302


@pytest.mark.parametrize(
    "told",
    [
        boxes(),
        boxes(("11.8", ""), ("11.9", "25")),
        boxes(("", "25")),
        boxes(("11.8", ""), count="10", dry_total="118"),
        boxes(count="10"),
        boxes(dry_total="118"),
        boxes(count="-1", dry_total="118"),
        boxes(("NaN", "")),
        boxes(("1e99", "")),
        boxes(("-11.8", "")),
        boxes(("11.8 kg", "")),
        boxes(("x" * 200, "")),
    ],
)
def test_what_cannot_be_read_gets_a_sentence(keeper: Client, told: dict[str, str]) -> None:
    item = make.lot(make.strips())
    answer = keeper.post(url("strip_sample", item), told)
    assert answer.status_code == 422
    assert answer.context["form"].errors
    assert not StripSample.objects.exists()


def test_an_unlikely_strip_is_ticked_and_kept(keeper: Client) -> None:
    item = make.lot(make.strips())
    told = boxes(("118", ""))
    answer = keeper.post(url("strip_sample", item), told)
    assert answer.status_code == 422
    assert 'type="checkbox" name="confirmed"' in plain(answer)
    assert keeper.post(url("strip_sample", item), {**told, "confirmed": "on"}).status_code == 302


def test_only_blanks_have_the_page(keeper: Client) -> None:
    assert keeper.get(url("strip_sample", make.lot())).status_code == 404


def test_three_samples_and_changes_ask_no_more_queries_than_one(keeper: Client) -> None:
    item = make.lot(make.strips())

    def more() -> None:
        do(measure_strips, item=item, dry_mg=[11_800])
        do(change_lot, item=item, supplier=make.supplier(), reason="read again")

    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert keeper.get(url("lot", item)).status_code == 200
        return len(seen)

    more(), queries()
    before = queries()
    more(), more()
    assert queries() == before
