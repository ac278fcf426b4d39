"""The members' proofs: hives hold what treatments say, hand-overs moved, divisions give the same again."""

from collections import defaultdict
from collections.abc import Iterator

from django.db.models import F, Q, Sum

from coop.registry import proofs
from inventory.models import Holding, Place
from members.models import HandOver, Return, Round, RoundKeeper, Share, ShareOut, Treatment, TreatmentLine
from members.queries import records


@proofs.register("members.hives")
def hives() -> Iterator[str]:
    """Strips of each bag in the hives of each apiary are what its treatments put in and did not take out."""
    right: dict[tuple[int, int], int] = defaultdict(int)
    rows = TreatmentLine.objects.order_by().values_list("treatment__apiary__place", "item")
    for place, item, inside in rows.annotate(n=Sum(F("strips_in") - F("strips_out") - F("strips_chewed"))):
        right[place, item] += int(inside)
    held = Holding.objects.filter(place__kind=Place.Kind.HIVES, quantity__gt=0)
    kept = {(place, item): strips for place, item, strips in held.values_list("place", "item", "quantity")}
    for pair in sorted(right.keys() | kept.keys()):
        if right.get(pair, 0) != kept.get(pair, 0):
            yield (
                f"place {pair[0]} holds {kept.get(pair, 0)} strips of item {pair[1]}, "
                f"its treatments say {right.get(pair, 0)}"
            )


@proofs.register("members.treatments")
def treatments() -> Iterator[str]:
    """A treatment is out when its last strip is, and due as its instructions say."""
    for row in Treatment.objects.for_list():
        inside = (row.strips_in or 0) - (row.strips_out or 0) - (row.strips_chewed or 0)  # type: ignore[attr-defined]
        if (inside == 0) != (row.out_on is not None):
            yield f"treatment {row.pk} has {inside} strips in and is out on {row.out_on}"
        if (row.due_on - row.in_on).days != row.instructions.days:
            yield f"treatment {row.pk} is due on {row.due_on}, its instructions say {row.instructions.days} days"


@proofs.register("members.hand_overs")
def hand_overs() -> Iterator[str]:
    """Every hand-over and return stands in the ledger with its strips, between the right people."""
    for name, rows, wrong in (
        ("hand-over", HandOver.objects.all(), ~Q(movement__target__person=F("receiver"))),
        ("return", Return.objects.all(), ~Q(movement__source__person=F("person"))),
    ):
        differs = ~Q(movement__quantity=F("strips")) | ~Q(movement__item=F("item")) | wrong
        for pk in rows.filter(differs).values_list("pk", flat=True):  # type: ignore[attr-defined]
            yield f"{name} {pk} and its movement differ"


@proofs.register("members.share_outs")
def share_outs() -> Iterator[str]:
    """A division's stored input gives its stored outcome again, and shares are what the last one gave."""
    for run in ShareOut.objects.select_related("round").iterator():
        if not records.is_repeatable(run):
            yield f"share-out {run.pk} does not come out again as it is stored"
    for round in Round.objects.filter(state=Round.State.SHARED).prefetch_related("share_outs", "shares"):
        last = next(iter(round.share_outs.all()), None)
        given = last.result["given"] if last else {}
        for share in round.shares.all():
            if share.doses != sum(given.get(str(share.person_id), [])):
                yield f"share {share.pk} is {share.doses} hive doses, the division gave another number"


@proofs.register("members.rounds")
def rounds() -> Iterator[str]:
    """Whoever asks was frozen with hives, and collected shares were handed over."""
    for keeper in RoundKeeper.objects.all():
        if keeper.hives != sum(keeper.hives_by_kind.values()):
            yield f"round {keeper.round_id} froze {keeper.hives} hives of person {keeper.person_id}, kinds differ"
    for share in Share.objects.with_handed().filter(state=Share.State.COLLECTED):
        if share.handed < share.strips:  # type: ignore[attr-defined]
            yield f"share {share.pk} is called collected and was not all handed over"
