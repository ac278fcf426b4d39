"""What the pages of the Bench link to opens to whoever is shown it; rework and help are within reach."""

import re
from html import unescape
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from batches.commands.bagging import correct_bag
from batches.commands.deciding import decide_deviation, open_deviation, send_to_rework
from batches.models import Deviation, Soak
from batches.pages.help import SUBJECTS
from inventory.models import Question
from tests.makers import batches as make
from tests.makers.coop import coordinator, deed, member, sign_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def room() -> make.Room:
    return make.room()


def read(client: Client, url: str) -> str:
    answer = client.get(url)
    assert answer.status_code == 200, (url, answer.status_code)
    return answer.content.decode()


def links(html: str) -> list[str]:
    """Addresses inside the page itself, without the bar."""
    main = html.split("<main", 1)[1].split("</main>")[0]
    return [unescape(url) for url in re.findall(r'<a[^>]* href="(/[^"]*)"', main)]


def cold(room: make.Room) -> Soak:
    """A closed batch whose room was too cold: one check needs a reason."""
    soak = make.closed(room)
    Soak.objects.filter(pk=soak.pk).update(min_mc=16_500)
    return Soak.objects.get(pk=soak.pk)


def test_a_releaser_who_is_only_a_member_can_follow_every_link(client: Client, room: make.Room) -> None:
    soak = cold(room)
    room.do(open_deviation, bench=soak.bench, soak=soak, kind="other", text="a strip fell", reason="thrown away")
    Question.objects.create(item=soak.item, kind=Question.Kind.LATE, text="where from?", deed=deed())
    sign_in(client, room.releaser)
    url = reverse("batches:release", args=[soak.item.code_id])
    shown = read(client, url)
    assert "Weighed" in shown or "How it was made" in shown
    found = [link for link in links(shown) if not link.startswith("#")]
    assert any("/deviation/" in link for link in found)
    assert not any("/bench/" in link for link in found if "/help/" not in link)
    for link in found:
        assert client.get(link).status_code == 200, link
    for verdict in ("release", "rework", "reject"):
        for link in links(read(client, reverse("batches:decide", args=[soak.item.code_id, verdict]))):
            assert client.get(link).status_code == 200, link


def test_a_volunteer_finds_the_link_to_a_reason_under_its_row(client: Client, room: make.Room) -> None:
    soak = cold(room)
    sign_in(client, room.leader)
    shown = read(client, reverse("batches:soak", args=[soak.item.code_id]))
    url = next(link for link in links(shown) if "row=room" in link)
    form = client.get(url).context["form"]
    data = {"key": form["key"].value(), "text": form["text"].value(), "reason": "Frost; content and AV pass."}
    for _tap in range(2):
        assert client.post(url, data).status_code == 302
    deviation = Deviation.objects.get()
    assert (deviation.kind, deviation.soak) == ("room", soak)
    again = read(client, reverse("batches:soak", args=[soak.item.code_id]))
    assert "Frost; content and AV pass." in again
    assert not any("row=room" in link for link in links(again))
    sign_in(client, room.releaser)
    url = reverse("batches:releaser_decides_deviation", args=[deviation.pk])
    key = client.get(url).context["form"]["key"].value()
    for _tap in range(2):
        assert client.post(url, {"key": key, "is_accepted": "yes"}).status_code == 302
    deviation.refresh_from_db()
    assert deviation.is_accepted


def test_a_declined_reason_may_be_given_anew(client: Client, room: make.Room) -> None:
    soak = cold(room)
    made = room.do(open_deviation, bench=soak.bench, soak=soak, kind="room", text="cold", reason="it was")
    room.do(decide_deviation, by=coordinator(), deviation=made, is_accepted=False)
    sign_in(client, room.leader)
    assert any("row=room" in link for link in links(read(client, reverse("batches:soak", args=[soak.item.code_id]))))


def test_bags_that_need_a_reason_each_have_their_own_link(client: Client, room: make.Room) -> None:
    soak = make.closed(room)
    for bag, each in zip(make.bags(soak), (27_550, 29_650), strict=True):
        room.do(correct_bag, bag=bag, net_mg=bag.strips * each, reason="weighed again")
    sign_in(client, room.leader)
    found = links(read(client, reverse("batches:soak", args=[soak.item.code_id])))
    assert {bag.item.code_id for bag in make.bags(soak)} == {
        link.split("row=bag-")[1][:8] for link in found if "row=bag-" in link
    }


def test_every_way_of_rework_is_a_link_that_opens(client: Client, room: make.Room) -> None:
    soak = make.closed(room)
    room.do(send_to_rework, by=room.releaser, after=1, soak=soak, note="heat it again")
    sign_in(client, room.leader)
    found = links(read(client, reverse("batches:soak", args=[soak.item.code_id])))
    for name in ("/lift", "/wet", "/heat", "/weigh", "/pour", "/count", "/sample", "/back", "/loss", "/check/scale"):
        assert any(name in link for link in found), name
    for link in found:
        assert client.get(link).status_code == 200, link
    bag_links = links(read(client, reverse("batches:bag", args=[make.bags(soak)[0].item.code_id])))
    assert any("/split-off" in link for link in bag_links)


def test_the_count_is_corrected_on_a_page(client: Client, room: make.Room) -> None:
    bench = make.started(room)
    soak = make.poured(room, bench)
    sign_in(client, room.leader)
    url = reverse("batches:count_again", args=[bench.pk, soak.pk])
    key = client.get(url).context["form"]["key"].value()
    for _tap in range(2):
        assert client.post(url, {"key": key, "strips": "59", "reason": "counted at the lift"}).status_code == 302
    soak.refresh_from_db()
    assert soak.strips == 59


def test_old_solution_is_entered_and_gets_its_page(client: Client, room: make.Room) -> None:
    sign_in(client, coordinator())
    url = reverse("batches:enter_solution")
    fields: dict[str, Any] = {"mass_mg": "1200,5", "place": room.shed.pk, "w_ppb": "0,352", "u_ppb": "0,002"}
    fields |= {"reuse": "1", "reheats": "1", "clarity": "clear", "key": client.get(url).context["form"]["key"].value()}
    answer = client.post(url, fields)
    assert answer.status_code == 302
    assert "1\u202f200.5" in read(client, answer["Location"])


def test_the_heat_page_shows_the_last_reading_and_keeps_the_form_behind_one_button(
    client: Client, room: make.Room
) -> None:
    bench = make.started(room)
    mix = make.weighed(room, bench)
    sign_in(client, room.leader)
    url = reverse("batches:heat", args=[bench.pk, mix.pk])
    shown = read(client, url)
    assert "data-countdown" in shown
    assert 'name="solution_mc"' not in shown
    assert "Pour onto the strips" in shown
    entering = read(client, url + "?enter")
    assert 'name="solution_mc"' in entering
    assert "Sharp smell" in entering
    assert "Sharp smell" in shown


def test_whom_to_call_is_one_tap_away_on_every_step(client: Client, room: make.Room) -> None:
    bench = make.started(room)
    soak = make.poured(room, bench)
    mix = bench.mixes.get()
    sign_in(client, room.leader)
    call = f'href="{reverse("batches:call")}"'
    pages = [reverse("bench"), reverse("batches:bench", args=[bench.pk])]
    pages += [reverse(f"batches:{name}", args=[bench.pk]) for name in ("start", "join", "close", "abandon", "lay")]
    pages += [reverse(f"batches:{name}", args=[bench.pk, mix.pk]) for name in ("weigh", "pail", "heat", "pour")]
    pages += [reverse(f"batches:{name}", args=[bench.pk, soak.pk]) for name in ("dry", "look", "lift", "bag_in")]
    pages += [reverse("batches:check", args=[bench.pk, kind]) for kind in ("scale", "thermometer")]
    for url in pages:
        assert call in read(client, url), url


def test_a_member_reads_the_help_and_whom_to_call(client: Client, room: make.Room) -> None:
    sign_in(client, member())
    assert "Poison line" in read(client, reverse("batches:call"))
    for link in links(read(client, reverse("batches:help"))):
        read(client, link)
    for subject in SUBJECTS:
        assert all(client.get(link).status_code == 200 for link in links(read(client, f"/bench/help/{subject}")))
    assert client.get("/bench/help/dose").status_code == 404
