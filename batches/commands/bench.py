"""The bench record itself: start, who is there, who records, close, abandon."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.db.models import Sum
from django.utils.translation import gettext as _

from batches import team, tub
from batches.limits import in_force
from batches.models import Bench, Deviation, Mix, Presence, Soak
from coop import wording
from coop.command import Refused, command
from coop.models import Deed, Person
from inventory import ledger
from inventory.ledger import new_item
from inventory.models import Holding, Item, Place

READY = ("water", "eye_wash", "first_aid", "spill_powder")
WET_GEAR = ("goggles", "gloves")
#: what may cling to an emptied pail: bench judgement (common practice, no published source)
MOST_CLINGS_MG, MOST_CLINGS_PCT = 100_000, 3


@command("batches.start_bench", gate=True)
def start_bench(
    deed: Deed,
    *,
    bench: Bench,
    presence: Sequence[Mapping[str, Any]],
    ready: Sequence[str] = (),
    room_mc: int | None = None,
) -> Bench:
    """Open a planned bench; who starts it records it. `presence`: [{"person": Person, "gear": ["goggles", ...]}].

    Refused: code "alone" with fewer than two people (no acid for one person alone), "gear" where goggles or gloves
    are missing, "not_ready" where water, eye wash, first aid or spill powder does not stand ready, "state" twice.
    """
    if bench.state != Bench.State.PLANNED:
        raise Refused(_("This bench was started already."), code="state")
    people = {entry["person"].pk: entry for entry in presence}
    if len(people) < 2:
        raise Refused(_("One person alone handles no acid. Start when a second one is there."), code="alone")
    _refuse_bare(people.values())
    missing = [name for name in READY if name not in ready]
    if missing:
        raise Refused(
            _("Not everything stands ready: %(missing)s.") % {"missing": ", ".join(missing).replace("_", " ")},
            code="not_ready",
            missing=missing,
        )
    bench.state, bench.recorder, bench.started_at = Bench.State.RUNNING, deed.actor, deed.happened_at
    bench.ready, bench.room_mc, bench.limits = list(ready), room_mc, in_force().as_dict()
    bench.save()
    for entry in people.values():
        team.enter(deed, bench, entry["person"], list(entry.get("gear", [])))
    team.enter(deed, bench)
    for number in range(1, max(len(bench.plan.get("mixes", [])), 1) + 1):
        item = new_item(deed, kind=Item.Kind.MIX, unit="mass")
        Mix.objects.create(item=item, bench=bench, number=number)
    return bench


def _refuse_bare(presence: Any) -> None:
    for entry in presence:
        missing = [name for name in WET_GEAR if name not in entry.get("gear", [])]
        if missing:
            raise Refused(
                _("%(name)s has no %(gear)s on. Goggles and gloves for everything wet.")
                % {"name": entry["person"].name, "gear": wording.listed(missing)},
                code="gear",
                missing=missing,
            )


@command("batches.join_bench", gate=True)
def join_bench(deed: Deed, *, bench: Bench, person: Person, gear: Sequence[str] = ()) -> Presence:
    """Somebody came later, or was forgotten. A fact: it is kept even where it names the releaser (see team.enter)."""
    return team.enter(deed, bench, person, list(gear))


@command("batches.take_over", gate=True)
def take_over(deed: Deed, *, bench: Bench) -> Bench:
    """Who does this records from now on; who recorded before stays in the team. Refused (code "state") when ended."""
    if bench.state != Bench.State.RUNNING:
        raise Refused(_("Only a running bench can be taken over."), code="state")
    if bench.recorder is not None:
        team.enter(deed, bench, bench.recorder)
    team.enter(deed, bench)
    bench.recorder = deed.actor
    bench.save(update_fields=["recorder"])
    return bench


@command("batches.add_mix", gate=True)
def add_mix(deed: Deed, *, bench: Bench) -> Mix:
    """One more pail on this bench, beyond those planned. Refused (code "state") before the start."""
    if bench.state == Bench.State.PLANNED:
        raise Refused(_("Start the bench first."), code="state")
    team.enter(deed, bench)
    number = bench.mixes.count() + 1
    return Mix.objects.create(item=new_item(deed, kind=Item.Kind.MIX, unit="mass"), bench=bench, number=number)


@command("batches.close_bench", gate=True)
def close_bench(deed: Deed, *, bench: Bench, note: str = "") -> Bench:
    """End the bench: what is left in pails is a loss that was seen, what is left in tubs is unexplained, with its sign.

    Refused: code "state" unless it runs; "soaking" while strips are in a tub; "strips" where pieces are not accounted
    for (bag them, retain them, or declare them spoiled or missing); "pail" while a pail still holds solution.
    """
    if bench.state != Bench.State.RUNNING:
        raise Refused(_("Only a running bench can be closed."), code="state")
    soaks = list(bench.soaks.select_related("item", "bench__recipe"))
    for soak in soaks:
        _refuse_unfinished(soak)
    mixes = list(bench.mixes.select_related("item"))
    for mix in mixes:
        _refuse_full(mix)
    tub.sweep(deed, soaks, mixes)
    bench.state, bench.closed_at = Bench.State.CLOSED, deed.happened_at
    if note:
        bench.note = note[:300]
    bench.save()
    return bench


def _refuse_unfinished(soak: Soak) -> None:
    if soak.state in (Soak.State.LAID, Soak.State.SOAKING):
        raise Refused(
            _("%(code)s is still in the tub. Lift it first, or abandon the bench.") % {"code": soak.item.spaced_code},
            code="soaking",
        )
    left = strips_left(soak)
    if left:
        raise Refused(
            _("%(strips)s of %(code)s are in no bag. Bag them, retain them, or declare them spoiled or missing.")
            % {"strips": wording.counted(left), "code": soak.item.spaced_code},
            code="strips",
            strips=left,
        )


def _refuse_full(mix: Mix) -> None:
    """What clings to a pail is a loss that was seen; a pail that still holds more is no loss yet."""
    left = ledger.quantity_at(mix.item, Place.objects.bench_of(mix.item))
    made = sum(mix.weighings.values_list("mass_mg", flat=True))
    if left > MOST_CLINGS_MG and left * 100 > MOST_CLINGS_PCT * made:
        raise Refused(
            _("%(mass)s of %(code)s is still in the pail. Pour it, put it back on the shelf, or declare it lost.")
            % {"mass": wording.mass_g(left), "code": mix.item.spaced_code},
            code="pail",
            left_mg=left,
        )


def strips_left(soak: Soak) -> int:
    """Pieces of the soak that are still at the tub."""
    rows = Holding.objects.filter(item=soak.item, place=Place.objects.bench_of(soak.item))
    return int(rows.aggregate(left=Sum("quantity"))["left"] or 0)


@command("batches.abandon_bench", gate=True)
def abandon_bench(deed: Deed, *, bench: Bench, reason: str) -> Bench:
    """Stop here. What was made stays in the book under its own code: pails and tubs as they stand, soaks abandoned.

    Dispose of what is left with `declare_loss`, or put solution back with `return_solution`. Refused (code "state")
    when it has ended.
    """
    if not bench.is_open:
        raise Refused(_("This bench has ended already."), code="state")
    Soak.objects.filter(bench=bench).exclude(state__in=Soak.DECIDED).update(state=Soak.State.ABANDONED)
    if bench.state == Bench.State.RUNNING:
        Deviation.objects.create(bench=bench, kind="abandoned", text=reason[:300], opened=deed)
    bench.state, bench.closed_at, bench.note = Bench.State.ABANDONED, deed.happened_at, reason[:300]
    bench.save()
    return bench
