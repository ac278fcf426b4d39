"""Where the matter of a doubted lot went, on the ledger alone: the invented figures of the recall case."""

from fractions import Fraction

import pytest

from coop.models import Person
from inventory.models import Item, Place
from inventory.science.shares import WHOLE
from members.trace.find import find
from members.trace.holders import holders_of, pieces_of
from members.trace.reach import reach_of
from members.trace.upstream import upstream_of
from tests.makers import brew, inventory
from tests.makers.coop import member

pytestmark = pytest.mark.django_db
G = 1000
Cause = brew.Cause


class Story:
    """Three batches in a chain of returned solution, one apart, one still in the tub."""

    def __init__(self) -> None:
        self.shed = inventory.shed()
        acid, glycerine, strips = inventory.acid(), inventory.glycerine(), inventory.strips()
        self.k = inventory.lot(acid, self.shed, quantity=25_000 * G)
        self.n = inventory.lot(acid, self.shed, quantity=25_000 * G)
        self.q = inventory.lot(acid, self.shed, quantity=25_000 * G)
        self.gl = inventory.lot(glycerine, self.shed, quantity=50_000 * G)
        self.blanks = inventory.lot(strips, self.shed, quantity=1000)
        s1, b1, r1 = self.batch([(self.k, 1200), (self.n, 600), (self.gl, 3000)], [(40, 604), (40, 596)], 20, 30, 3520)
        s2, b2, r2 = self.batch([(r1, 2500), (self.n, 900), (self.gl, 1500)], [(30, 447), (30, 453)], 25, 30, 3915)
        s3, b3, r3 = self.batch([(r2, 2000), (self.q, 1125), (self.gl, 1875)], [(30, 455), (30, 445)], 20, 30, 4020)
        self.apart, _bags, _back = self.batch([(self.q, 1500), (self.gl, 2500)], [(20, 300)], 0, 0, 1000)
        mix = brew.mix(
            *[(item, self.shed, mass * G) for item, mass in ((self.k, 400), (self.q, 1100), (self.gl, 2500))]
        )
        self.tub = brew.soak((mix, 4000 * G), blanks=(self.blanks, self.shed, 60))
        self.soaks, self.bags, self.back = [s1, s2, s3], [*b1, *b2, *b3], [r1, r2, r3]
        self.people: dict[str, Person] = {}

    def batch(self, inputs, bags, before, after, back):
        mix = brew.mix(*[(item, self.shed, mass * G) for item, mass in inputs])
        total = sum(mass for _item, mass in inputs)
        lost = Place.objects.the(Place.Kind.LOST)
        if before:
            brew.go(brew.Move(mix, Place.objects.bench_of(mix), lost, before * G, Cause.LOSS))
        strips = sum(count for count, _mass in bags) + 2
        soak = brew.soak((mix, (total - before) * G), blanks=(self.blanks, self.shed, strips))
        made = [brew.bag(soak, self.shed, count, mass * G) for count, mass in bags]
        brew.bag(soak, Place.objects.the(Place.Kind.RETAINED), 2, 30 * G, kind="sample")
        returned = brew.give_back(soak, self.shed, back * G)
        if after:
            brew.go(brew.Move(mix, Place.objects.bench_of(soak), lost, after * G, Cause.LOSS))
        return soak, made, returned

    def at(self, name: str) -> Place:
        self.people.setdefault(name, member(name))
        return Place.objects.of_member(self.people[name])

    def give(self, bag: Item, name: str, strips: int, whole: int) -> Item:
        """A bag, or a part of it, to somebody."""
        thing = bag if strips == whole else brew.part(bag, self.shed, strips)
        brew.go(brew.Move(thing, self.shed, self.at(name), strips, Cause.HAND_OVER))
        return thing

    def hives(self, name: str) -> Place:
        return Place.objects.create(kind=Place.Kind.HIVES, name=f"{name} hill", person=self.people[name])

    def hand_out(self) -> None:
        b1a, b1b, b2a, _b2b, b3a, b3b = self.bags
        one = self.give(b1a, "M07", 40, 40)
        brew.go(brew.Move(one, self.at("M07"), self.hives("M07"), 24, Cause.STRIPS_IN))
        self.give(b1b, "M11", 16, 40)
        two = self.give(b1b, "M03", 24, 24)
        passed = brew.part(two, self.at("M03"), 8)
        brew.go(brew.Move(passed, self.at("M03"), self.at("M19"), 8, Cause.PASS_ON))
        hill = self.hives("M03")
        brew.go(brew.Move(two, self.at("M03"), hill, 16, Cause.STRIPS_IN))
        brew.go(brew.Move(two, hill, Place.objects.the(Place.Kind.DESTROYED), 15, Cause.STRIPS_OUT))
        brew.go(brew.Move(two, hill, Place.objects.the(Place.Kind.LOST), 1, Cause.MISSING))
        self.give(b2a, "M11", 28, 30)
        back = self.give(b3a, "M22", 12, 30)
        quarantine = Place.objects.the(Place.Kind.QUARANTINE)
        brew.go(brew.Move(back, self.at("M22"), quarantine, 12, Cause.BRING_BACK))
        self.give(b3b, "M05", 20, 30)
        self.give(b3b, "M31", 8, 10)


@pytest.fixture
def story() -> Story:
    return Story()


def test_a_lots_share_falls_from_batch_to_batch(story):
    found = {row.item.pk: row for row in reach_of(story.k).rows}
    expected = [Fraction(1, 4), Fraction(25, 196), Fraction(5, 98)]
    for soak, share in zip(story.soaks, expected, strict=True):
        assert abs(found[soak.pk].share - share * WHOLE) <= 2
    assert [round(found[soak.pk].of_acid / WHOLE * 100, 3) for soak in story.soaks] == [66.667, 34.014, 13.605]
    assert found[story.tub.pk].share == WHOLE // 10
    assert story.apart.pk not in found


def test_grams_of_the_lot_by_bag_and_strip(story):
    found = {row.item.pk: row for row in reach_of(story.k).rows}
    told = [(found[bag.pk].of_it_mg, found[bag.pk].each_mg) for bag in story.bags]
    assert told == [
        (151_000, 3775), (149_000, 3725), (57_015, 1901), (57_781, 1926), (23_214, 774), (22_704, 757)
    ]  # fmt: skip


def test_every_gram_drawn_of_it_stands_in_one_row(story):
    reach = reach_of(story.k)
    parts = [part for row in reach.rows for part in row.parts]
    assert reach.drawn_mg == 1_600_000 == sum(part.of_it_mg for part in parts)
    by_kind = {(row.item.kind, part.kind): part for row in reach.rows for part in row.parts}
    assert by_kind["soak", "bench"].of_it_mg == 400_000
    shelf = [part.of_it_mg for row in reach.rows for part in row.parts if row.item.kind == "returned"]
    assert shelf == [255_000, 244_260, 205_102]
    kept = [row.of_it_mg for row in reach.rows if row.item.kind == "sample"]
    assert kept == [7_500, 3_827, 1_531]


def test_everybody_it_ever_reached_the_passed_on_included(story):
    story.hand_out()
    holders = holders_of([row.item for row in reach_of(story.k).rows])
    told = {one.person.name: (one.strips, one.where) for one in holders}
    assert list(told) == ["M03", "M05", "M07", "M11", "M19", "M22", "M31"]
    assert told["M03"] == (0, "passed 8 on, 15 out and destroyed, 1 lost")
    assert told["M07"] == (40, "24 in hives, 16 unopened")
    assert told["M11"] == (44, "44 unopened")
    assert told["M19"][0] == 8
    assert told["M22"] == (0, "brought 12 back")
    assert [giver.name for giver in next(one for one in holders if one.person.name == "M19").came_from.values()] == [
        "M03"
    ]


def test_the_strips_close(story):
    story.hand_out()
    pieces = pieces_of([row.item for row in reach_of(story.k).rows])
    assert (pieces.made, pieces.in_store, pieces.retained, pieces.with_members) == (206, 64, 6, 120)
    assert (pieces.destroyed, pieces.lost, pieces.difference) == (15, 1, 0)


def test_parts_of_a_bag_carry_their_part_of_the_grams(story):
    story.hand_out()
    reach = reach_of(story.k)
    assert reach.drawn_mg == sum(row.of_it_mg or 0 for row in reach.rows)
    of_second = [row.of_it_mg for row in reach.rows if row.item.kind == "bag" and row.each_mg == 3725]
    assert sum(of_second) == 149_000
    assert len(of_second) == 3


def test_a_lot_of_strips_is_traced_by_pieces(story):
    reach = reach_of(story.blanks)
    assert reach.drawn_mg is None
    assert {row.of_it_mg for row in reach.rows} == {None}
    assert pieces_of([row.item for row in reach.rows]).made == 206 + 22


def test_upstream_names_every_ancestor_with_its_share(story):
    found = {row.item.pk: row for row in upstream_of(story.bags[4])}
    assert round(found[story.k.pk].share / WHOLE, 6) == 0.05102
    assert found[story.blanks.pk].share is None
    assert found[story.soaks[2].pk].pieces == 30
    assert round(found[story.back[1].pk].share / WHOLE, 3) == 0.4
    assert story.tub.pk not in found


def test_a_found_gram_in_the_tub_is_unexplained_with_its_sign(story):
    mix = brew.mix((story.k, story.shed, 1000 * G))
    soak = brew.soak((mix, 1000 * G), blanks=None)
    tub, found = Place.objects.bench_of(soak), Place.objects.the(Place.Kind.FOUND)
    brew.go(brew.Move(mix, found, tub, 5 * G, Cause.UNEXPLAINED))
    brew.go(brew.Move(mix, tub, Place.objects.the(Place.Kind.LOST), 1005 * G, Cause.LOSS))
    reach = reach_of(story.k)
    told = next(row for row in reach.rows if row.item == soak)
    assert sorted((part.kind, part.of_it_mg) for part in told.parts) == [("lost", 1_005_000), ("unexplained", -5_000)]
    assert reach.drawn_mg == sum(row.of_it_mg or 0 for row in reach.rows) == 2_600_000


def test_a_code_is_found_however_it_is_written(story):
    code = story.k.code_id
    for text in (code, f" {code[:4]} {code[4:]} ", f"{code[:4]}-{code[4:]}".lower(), f"https://club.example/c/{code}"):
        assert find(text).item == story.k
    assert find("").item is None


def test_a_misread_code_brings_the_near_ones(story):
    code = story.k.code_id
    swapped = next(code[:i] + code[i + 1] + code[i] + code[i + 2 :] for i in range(7) if code[i] != code[i + 1])
    found = find(swapped)
    assert found.item is None
    assert code in found.near
    assert "does not fit" in found.sentence
