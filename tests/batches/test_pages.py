"""The Bench in a browser without a script: every step as a page, one after the other, and what each refuses."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from batches.models import Bag, Bench, Soak
from coop.models import Deed, the_club
from tests.makers import batches as make
from tests.makers.coop import coordinator, member, sign_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def room() -> make.Room:
    return make.room()


def page(client: Client, url: str, status: int = 200) -> str:
    answer = client.get(url)
    assert answer.status_code == status, (url, answer.status_code)
    return answer.content.decode()


def send(client: Client, url: str, **fields: Any) -> Any:
    """Fill the form that stands at an address and press its button; a second tap of it does nothing."""
    form = client.get(url).context["form"]
    data = {"key": form["key"].value(), **fields}
    answer = client.post(url, data)
    if answer.status_code == 302:
        deeds = Deed.objects.count()
        again = client.post(url, data)
        assert again.status_code == 302, again.content.decode()
        assert Deed.objects.count() == deeds
    return answer


def kept(answer: Any) -> str:
    assert answer.status_code == 302, answer.content.decode()
    return str(answer["Location"])


def test_a_plain_batch_is_clicked_from_plan_to_close(client: Client, room: make.Room) -> None:
    sign_in(client, coordinator())
    planned = send(
        client,
        reverse("batches:plan"),
        day="2026-11-20",
        recipe=room.recipe.pk,
        instructions=room.instructions.pk,
        target_mg="4000",
        blanks=room.blanks.pk,
        place=room.shed.pk,
        mixes="1",
    )
    bench_url = kept(planned)
    bench = Bench.objects.get()
    assert "Open the bench" in page(client, bench_url)
    sign_in(client, room.leader)
    gear, ready = ["goggles", "gloves", "mask"], ["water", "eye_wash", "first_aid", "spill_powder"]
    start = reverse("batches:start", args=[bench.pk])
    people = [room.leader.pk, room.mate.pk]
    onward = kept(send(client, start, people=people, gear=gear, ready=ready, room_mc="21"))
    assert "/check/scale" in onward
    onward = kept(send(client, onward, equipment=room.scale.pk, reference="2000", reading="2000,4"))
    onward = kept(send(client, onward, equipment=room.thermometer.pk, reference="18", reading="18,2"))
    onward = kept(send(client, onward, strips="60", blanks=room.blanks.pk))
    soak = Soak.objects.get()
    dry = "\n".join(str(mass / 1000) for mass in make.DRY)
    onward = kept(send(client, onward, masses_mg=dry))
    for line in sorted(bench.plan["mixes"][0]["lines"], key=lambda line: line["role"] == "acid"):
        assert "/weigh" in onward
        assert "reach" in page(client, onward)
        onward = kept(send(client, onward, mass_mg=f"{line['mass_mg'] / 1000:.1f}".replace(".", ",")))
    onward = kept(send(client, onward, total_mg="4000"))
    assert "Sharp smell" in page(client, onward)
    onward = kept(send(client, onward, solution_mc="20", clarity="grains"))
    mix = bench.mixes.get()
    pour = reverse("batches:pour", args=[bench.pk, mix.pk])
    kept(
        send(
            client,
            pour,
            soak=soak.pk,
            before_mg="5200",
            after_mg="1210",
            temp_mc="52",
            clarity="clear",
            covered_mm="12",
            has_lid="on",
        )
    )
    lift = reverse("batches:lift", args=[bench.pk, soak.pk])
    asked = send(client, lift, min_mc="20", max_mc="23", clarity="clear", drain_min="10")
    assert asked.status_code == 422
    form = asked.context["form"]
    assert not form.fields["confirmed"].widget.is_hidden
    kept(send(client, lift, min_mc="20", max_mc="23", clarity="clear", drain_min="10", confirmed="on"))
    wet = "; ".join(str(mass / 1000) for mass in make.WET)
    kept(send(client, reverse("batches:wet", args=[bench.pk, soak.pk]), masses_mg=wet))
    kept(send(client, reverse("batches:sample_in", args=[bench.pk, soak.pk]), strips="2", net_mg="57,2"))
    kept(
        send(
            client,
            reverse("batches:bag_in", args=[bench.pk, soak.pk]),
            strips="58",
            tare_mg="11",
            gross_mg="1670",
            has_label="on",
        )
    )
    kept(send(client, reverse("batches:back", args=[bench.pk, soak.pk]), mass_mg="3100", clarity="clear"))
    kept(
        send(
            client,
            reverse("batches:check", args=[bench.pk, "scale"]) + "?after",
            equipment=room.scale.pk,
            reference="2000",
            reading="2000",
        )
    )
    kept(send(client, reverse("batches:close", args=[bench.pk]), note=""))
    bench.refresh_from_db()
    assert bench.state == "closed"
    assert Bag.objects.get().net_mg == 1_659_000


def test_a_far_off_mass_is_asked_about_once_and_kept_when_confirmed(client: Client, room: make.Room) -> None:
    bench = make.started(room)
    sign_in(client, room.leader)
    mix = bench.mixes.get()
    url = reverse("batches:weigh", args=[bench.pk, mix.pk]) + f"?item={room.acid.code_id}"
    asked = send(client, url, mass_mg="144")
    assert asked.status_code == 422
    assert "Did you mean" in asked.content.decode()
    assert not mix.weighings.exists()
    data = {"key": asked.context["form"]["key"].value(), "mass_mg": "144", "confirmed": "on"}
    assert client.post(url, data).status_code == 302
    assert mix.weighings.get().mass_mg == 144_000


def test_a_double_tap_weighs_in_once(client: Client, room: make.Room) -> None:
    bench = make.started(room)
    sign_in(client, room.leader)
    mix = bench.mixes.get()
    url = reverse("batches:weigh", args=[bench.pk, mix.pk]) + f"?item={room.glycerine.code_id}"
    key = client.get(url).context["form"]["key"].value()
    for _tap in range(2):
        assert client.post(url, {"key": key, "mass_mg": "2500"}).status_code == 302
    assert mix.weighings.count() == 1


@pytest.mark.parametrize("text", ["", "kg", "NaN", "1e99", "-5", "2.500,0", "=1+1", "二千", "9" * 60])
def test_a_mass_that_cannot_be_read_gets_a_sentence_and_loses_nothing(
    client: Client, room: make.Room, text: str
) -> None:
    bench = make.started(room)
    sign_in(client, room.leader)
    mix = bench.mixes.get()
    url = reverse("batches:weigh", args=[bench.pk, mix.pk]) + f"?item={room.acid.code_id}"
    answer = send(client, url, mass_mg=text)
    assert answer.status_code == 422
    assert answer.context["form"].errors
    assert not mix.weighings.exists()


def test_one_person_alone_opens_no_bench(client: Client, room: make.Room) -> None:
    bench = make.planned(room)
    sign_in(client, room.leader)
    gear, ready = ["goggles", "gloves"], ["water", "eye_wash", "first_aid", "spill_powder"]
    answer = send(client, reverse("batches:start", args=[bench.pk]), people=[room.leader.pk], gear=gear, ready=ready)
    assert answer.status_code == 422
    assert "alone" in answer.content.decode()
    bench.refresh_from_db()
    assert bench.state == "planned"


def test_a_releaser_who_was_not_there_releases_after_a_fresh_code(client: Client, room: make.Room) -> None:
    soak = make.closed(room)
    code = soak.item.code_id
    sign_in(client, room.releaser)
    shown = page(client, reverse("batches:release", args=[code]))
    assert "Yours to decide" in shown
    url = reverse("batches:decide", args=[code, "release"])
    assert kept(send(client, url, note="by the record"))
    soak.refresh_from_db()
    assert soak.state == "released"
    sign_in(client, room.releaser, fresh=False)
    assert client.get(url).status_code == 302


def test_the_team_may_look_but_not_release(client: Client, room: make.Room) -> None:
    soak = make.closed(room)
    room.leader.is_releaser = True
    room.leader.save()
    sign_in(client, room.leader)
    shown = page(client, reverse("batches:soak", args=[soak.item.code_id]))
    assert "You were at this bench" in shown
    answer = send(client, reverse("batches:decide", args=[soak.item.code_id, "release"]))
    assert answer.status_code == 422
    soak.refresh_from_db()
    assert soak.state == "lifted"


def test_every_page_of_a_thing_shows_its_thread(client: Client, room: make.Room) -> None:
    soak = make.released(room)
    sign_in(client, room.leader)
    returned = soak.returned.get()
    for name, code in (
        ("mix", soak.bench.mixes.get().item.code_id),
        ("soak", soak.item.code_id),
        ("bag", soak.bags.first().item.code_id),  # type: ignore[union-attr]
        ("sample", soak.samples.get().item.code_id),
        ("returned", returned.item.code_id),
    ):
        assert 'class="thread' in page(client, reverse(f"batches:{name}", args=[code])), name


def test_the_bench_is_closed_to_members_and_strangers(client: Client, room: make.Room) -> None:
    bench = make.started(room)
    urls = [
        reverse("bench"),
        reverse("batches:bench", args=[bench.pk]),
        reverse("batches:equipment"),
        reverse("batches:recipes"),
    ]
    for url in urls:
        assert client.get(url).status_code == 302
    sign_in(client, member())
    for url in urls:
        assert client.get(url).status_code == 403


def test_the_list_asks_as_much_for_three_benches_as_for_one(
    client: Client, room: make.Room, django_assert_num_queries: Any
) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    make.started(room)
    sign_in(client, room.leader)
    page(client, reverse("bench"))
    with CaptureQueriesContext(connection) as one:
        page(client, reverse("bench"))
    make.started(room)
    make.started(room)
    with CaptureQueriesContext(connection) as three:
        page(client, reverse("bench"))
    assert len(three) == len(one)


def test_recipes_and_instructions_are_written_on_pages(client: Client, room: make.Room) -> None:
    sign_in(client, coordinator())
    fields = {
        "name": "Winter", "w_ppb": "0,36", "uptake_mg": "15", "content_low_mg": "5", "content_high_mg": "6",
        "tub_mg": "4000", "tub_strips": "80", "u_w_ppb": "0,002", "soak_hours": "48", "source": "the club's meeting",
    }  # fmt: skip
    kept(send(client, reverse("batches:write_recipe"), **fields))
    kind = make.hive_kind()
    kept(
        send(
            client,
            reverse("batches:write_instructions"),
            name="Winter",
            days="40",
            source="the leaflet",
            **{f"dose_{kind.pk}": "4"},
        )
    )
    shown = page(client, reverse("batches:recipes"))
    assert "Winter" in shown
    assert "4 strips" in shown


def test_the_bar_and_the_words_follow_the_limits_of_the_bench(client: Client, room: make.Room) -> None:
    club = the_club()
    club.limits = {"part_fine_pct": 1.0, "part_stop_pct": 4.0, "covered_mm": 14}
    club.save()
    bench = make.started(room)
    sign_in(client, room.leader)
    mix = bench.mixes.get()
    line = next(line for line in bench.plan["mixes"][0]["lines"] if line["role"] == "glycerine")
    weigh = reverse("batches:weigh", args=[bench.pk, mix.pk]) + f"?item={room.glycerine.code_id}"
    reach = client.get(weigh).context["reach"]
    assert (reach.fine_mg, reach.warn_mg) == (round(line["mass_mg"] / 100), round(line["mass_mg"] / 25))
    assert "14 mm" in page(client, reverse("batches:pour", args=[bench.pk, mix.pk]))
