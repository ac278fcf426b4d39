"""A list of three rows asks the database no more often than a list of one, on every list page and in every list of
the API."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from coop import access
from coop.models import Letter
from coop.site.api import patterns
from inventory.commands.incidents import spill
from inventory.models import Item
from tests.makers import batches, inventory, members
from tests.makers.coop import coordinator, do, member, releaser, sign_in
from tests.makers.world import World

pytestmark = [pytest.mark.django_db, pytest.mark.slow]


def grow(world):
    """Two more of everything that is listed."""
    for number in range(2):
        inventory.shed()
        inventory.supplier()
        inventory.material("acid")
        inventory.hold(inventory.lot(world.room.acid.material, world.room.shed))
        inventory.lot(world.room.blanks.material, world.room.shed)
        do(spill, item=world.drums, place=world.room.shed, quantity=1, what="an invented spill")
        batches.hive_kind(f"hive kind {number}")
        batches.recipe()
        batches.instructions()
        batches.scale()
        members.basis()
        releaser()
        members.apiary(member(), hives=2)
        members.draft(world.room.instructions, name=f"round {number}")
        members.handed(world.bag, world.people["owner"], strips=1)
        Letter.objects.create(
            key=f"more {number}", to="x@example.org", subject="x", body="x", message_id=f"<{number}@example.org>",
            send_after=world.letter.send_after,
        )  # fmt: skip


def plain_lists():
    """Addresses without parameters that answer a GET to a coordinator."""
    for path, pattern in patterns():
        mark = access.mark_of(pattern.callback)
        if "<" not in path and mark and mark.who is not access.NOBODY and not path.startswith("sign-out"):
            yield f"/{path}"


def queries(client, url):
    with CaptureQueriesContext(connection) as seen:
        answer = client.get(url)
    return len(seen) if answer.status_code == 200 else None


def test_no_list_asks_more_often_for_more_rows():
    world = World()
    client = sign_in(Client(), coordinator(is_releaser=True))
    urls = [url for url in plain_lists() if not url.startswith("/api/v1/schema")]
    urls += [world.path("shelf/materials/<int:pk>"), world.path("shelf/sheds/<int:pk>")]
    urls += [world.path("trace/code/<str:code>/reach"), "/people?as=csv", "/shelf?as=csv"]
    few = {url: queries(client, url) for url in urls}
    grow(world)
    many = {url: queries(client, url) for url in urls}
    grew = {url: (few[url], many[url]) for url in urls if few[url] is not None and (many[url] or 0) > few[url]}
    assert grew == {}
    assert sum(count is not None for count in few.values()) > 30
    assert Item.objects.count() > 10
