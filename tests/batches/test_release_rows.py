"""A row of the release table and the deviations that belong to it."""

import pytest

from batches.commands.bagging import correct_bag
from batches.commands.deciding import decide_deviation, open_deviation, release_soak
from batches.queries.release import release_table
from coop.command import Refused
from tests.makers import batches as make
from tests.makers.coop import coordinator

pytestmark = pytest.mark.django_db


def test_a_reason_accepted_for_one_bag_does_not_cover_another() -> None:
    room = make.room()
    soak = make.closed(room)
    light, heavy = make.bags(soak)
    for bag, each in ((light, 28_600 - 1_050), (heavy, 28_600 + 1_050)):
        room.do(correct_bag, bag=bag, net_mg=bag.strips * each, reason="weighed again")
    rows = [row for row in release_table(soak).rows if row.key == "bag"]
    assert [row.verdict for row in rows] == ["reason", "reason"]
    assert [row.kind for row in rows] == [f"bag-{bag.item.code_id}" for bag in (light, heavy)]

    def accept(kind: str) -> None:
        made = room.do(
            open_deviation, after=1, bench=soak.bench, soak=soak, kind=kind, text="off", reason="marked on the bag"
        )
        room.do(decide_deviation, by=coordinator(), after=1, deviation=made, is_accepted=True)

    accept(rows[0].kind)
    with pytest.raises(Refused) as refused:
        room.do(release_soak, by=room.releaser, after=1, soak=soak)
    assert refused.value.code == "reason"
    assert refused.value.facts["rows"] == ["bag"]
    accept(rows[1].kind)
    assert room.do(release_soak, by=room.releaser, after=1, soak=soak).verdict == "released"
