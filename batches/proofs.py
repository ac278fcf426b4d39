"""The bench's proofs: pieces close, masses and strengths follow from what was entered, releases were by outsiders."""

from collections.abc import Iterator

from django.db import models
from django.db.models import F, Q, Sum

from batches import strength, team
from batches.models import Bag, Bench, Deviation, Mix, Release, Soak, Solution, Weighing
from coop.registry import proofs
from inventory.models import Holding, Item, Movement, Place


@proofs.register("batches.pieces")
def pieces() -> Iterator[str]:
    """Strips laid are strips bagged, retained, spoiled or still at the tub; nothing is in between."""
    for soak in Soak.objects.select_related("item").iterator():
        strips = _pieces_out(soak)
        if sum(strips.values()) != soak.strips:
            yield f"soak {soak.item_id} has {soak.strips} strips, accounted for are {strips}"


def _pieces_out(soak: Soak) -> dict[str, int]:
    bags = soak.bags.filter(parent=None).aggregate(n=Sum("strips"))["n"] or 0
    samples = soak.samples.aggregate(n=Sum("strips"))["n"] or 0
    at_tub = Holding.objects.filter(item=soak.item).aggregate(n=Sum("quantity"))["n"] or 0
    found = _net(Movement.objects.filter(item=soak.item), "source", Place.Kind.FOUND)
    return {"bags": bags, "samples": samples, "tub, spoiled or lost": at_tub, "found": -found}


def _net(movements: "models.QuerySet[Movement]", end: str, kind: str) -> int:
    """What came from (or went to) places of a kind, less what reversals took back."""
    other = "target" if end == "source" else "source"
    there = movements.filter(**{f"{end}__kind": kind}, reverses=None).aggregate(n=Sum("quantity"))["n"] or 0
    back = movements.filter(**{f"{other}__kind": kind}).exclude(reverses=None).aggregate(n=Sum("quantity"))["n"] or 0
    return int(there - back)


@proofs.register("batches.weighings")
def weighings() -> Iterator[str]:
    """Each weighing stands in the ledger twice with its mass: out of the lot, and as made of the mix."""
    rows = Weighing.objects.filter(mass_mg__gt=0)
    wrong = rows.exclude(drawn__quantity=F("mass_mg")) | rows.exclude(made__quantity=F("mass_mg"))
    for pk in wrong.values_list("pk", flat=True):
        yield f"weighing {pk} and its movements differ"
    for pk in rows.filter(Q(drawn__reversed_by__isnull=False) | Q(made__reversed_by__isnull=False)).values_list(
        "pk", flat=True
    ):
        yield f"weighing {pk} names a movement that was reversed"


@proofs.register("batches.strengths")
def strengths() -> Iterator[str]:
    """A computed strength is what the weighings give now; what is titrated has a titration behind it."""
    for mix in Mix.objects.select_related("item__solution", "bench__recipe").iterator():
        solution = getattr(mix.item, "solution", None)
        weighed = strength.weighed_ppb(mix)
        if solution is None:
            if weighed is not None:
                yield f"mix {mix.item_id} was weighed and has no strength"
        elif solution.weighed_ppb != weighed:
            yield f"mix {mix.item_id} has strength {solution.weighed_ppb}, its weighings say {weighed}"
    titrated = Solution.objects.filter(source=Solution.Source.TITRATED, item__kind__in=["mix", "soak"])
    for item in titrated.filter(item__titrations=None).values_list("item_id", flat=True):
        yield f"item {item} is called titrated and has no titration"


@proofs.register("batches.releases")
def releases() -> Iterator[str]:
    """Whoever released was not of the bench team, and what is released has its decision."""
    rows = Release.objects.filter(verdict=Release.Verdict.RELEASED).select_related("soak__bench", "person")
    for release in rows:
        if release.person_id in team.team_of(release.soak.bench):
            yield f"release {release.pk} is by {release.person.name}, who was at the bench"
    for verdict, state in (
        (Release.Verdict.RELEASED, Soak.State.RELEASED),
        (Release.Verdict.REJECTED, Soak.State.REJECTED),
    ):
        for soak in Soak.objects.filter(state=state).prefetch_related("releases"):
            newest = next(iter(soak.releases.all()), None)
            if newest is None or newest.verdict != verdict:
                yield f"soak {soak.item_id} is {state} without that decision"


@proofs.register("batches.bags")
def bags() -> Iterator[str]:
    """Bags, samples, mixes and soaks have their items and their facts, one each; a part belongs to a whole bag."""
    for kind, facts in (
        (Item.Kind.BAG, "bag"),
        (Item.Kind.SOAK, "soak"),
        (Item.Kind.MIX, "mix"),
        (Item.Kind.SAMPLE, "sample"),
    ):
        for pk in Item.objects.filter(kind=kind, **{f"{facts}__isnull": True}).values_list("pk", flat=True):
            yield f"item {pk} is a {kind} without its facts"
    for pk in Bag.objects.filter(parent__parent__isnull=False).values_list("pk", flat=True):
        yield f"bag {pk} is a part of a part"
    for pk in Bag.objects.exclude(parent=None).exclude(soak=F("parent__soak")).values_list("pk", flat=True):
        yield f"bag {pk} is a part of a bag of another soak"


@proofs.register("batches.ended")
def ended() -> Iterator[str]:
    """A bench that was closed has no solution left in pails and tubs."""
    left = Holding.objects.filter(
        Q(place__item__mix__bench__state=Bench.State.CLOSED) | Q(place__item__soak__bench__state=Bench.State.CLOSED),
        place__kind=Place.Kind.BENCH,
        item__unit="mass",
        quantity__gt=0,
    )
    for row in left.select_related("place"):
        yield f"{row.quantity} of item {row.item_id} stand on a closed bench, at {row.place.name}"
    for pk in Deviation.objects.filter(decided__actor=F("opened__actor")).values_list("pk", flat=True):
        yield f"deviation {pk} was decided by whoever opened it"
