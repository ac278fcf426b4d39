"""Whose names are told: a volunteer works with bags, not with people."""

import pytest
from django.test import Client
from django.urls import reverse

from coop import reader
from tests.makers import members as make
from tests.makers.api import Api
from tests.makers.coop import coordinator, member, sign_in, volunteer

pytestmark = pytest.mark.django_db


def test_names_of_members_are_for_coordinators_and_for_themselves() -> None:
    lotte, pia = member("Lotte Krane"), volunteer("Pia Lund")
    readers = [(coordinator(), True), (lotte, True), (pia, False), (member("Otto"), False), (object(), False)]
    with reader.one_request():
        for who, knows in readers:
            reader.is_read_by(who)
            assert reader.may_learn(lotte) is knows
            assert reader.name_of(pia) == "Pia Lund"
    assert reader.name_of(lotte) == "Lotte Krane"


@pytest.mark.parametrize("knows", [True, False])
def test_the_ledger_and_the_bag_tell_a_volunteer_no_member(client: Client, knows: bool) -> None:
    lotte = member("Lotte Krane")
    make.basis()
    bag = make.shelf_bags([20])[0]
    make.handed(bag, lotte)
    person = coordinator() if knows else volunteer()
    sign_in(client, person)
    ledger = reverse("inventory:ledger")
    for url in (ledger, f"{ledger}?as=csv", reverse("batches:bag", args=[bag.item.code_id])):
        answer = client.get(url)
        assert answer.status_code == 200
        assert ("Lotte Krane" in answer.content.decode()) is knows, url
    api = Api(person)
    assert ("Lotte Krane" in str(api.get("movements"))) is knows
    assert ("Lotte Krane" in str(api.get(f"items/{bag.item.code_id}"))) is knows
