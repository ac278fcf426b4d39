"""What comes out of a tub: bags, a retained sample, returned solution, and losses that somebody saw."""

import datetime as dt

from django.utils.translation import gettext as _

from batches import asking, strength, team, tub
from batches.commands.bench import strips_left
from batches.commands.equipment import only
from batches.keeping import first_to_expire
from batches.limits import of_bench
from batches.models import Bag, Bench, Clarity, Equipment, Mix, ReturnedSolution, Sample, Soak, Solution
from coop import wording
from coop.command import Refused, command
from coop.models import Deed, the_club
from inventory import ledger
from inventory.ledger import Move, new_item
from inventory.models import Item, Movement, Place

Cause = Movement.Cause


@command("batches.bag", gate=True)
def bag(
    deed: Deed,
    *,
    soak: Soak,
    strips: int,
    net_mg: int | None = None,
    gross_mg: int | None = None,
    tare_mg: int | None = None,
    code: str | None = None,
    has_label: bool = True,
    scale: Equipment | None = None,
    place: Place | None = None,
    confirmed: bool = False,
) -> Bag:
    """So many strips in a bag, weighed. `code` is a pre-printed one; without it the bag gets a fresh one.

    Asks once where the net does not fit the count (code "recount") or more strips are bagged than are left. After a
    release it is late evidence. Takes the solution with it, in proportion from the mixes in the tub.
    """
    net = asking.net_of(net_mg, gross_mg, tare_mg)
    _refuse_in_tub(soak)
    _ask_about_bag(soak, strips, net, confirmed)
    team.enter(deed, soak.bench)
    item = new_item(
        deed, kind=Item.Kind.BAG, unit="pieces", code=code, best_before=best_before(soak), made_at=deed.happened_at
    )
    _take_out(deed, soak, item, strips, tub.uptake_mg(soak, strips, net), place or soak.bench.place, Cause.BAG)
    made = Bag.objects.create(
        item=item,
        soak=soak,
        strips=strips,
        tare_mg=tare_mg,
        gross_mg=gross_mg,
        net_mg=net,
        has_label=has_label,
        scale=scale or only(Equipment.Kind.SCALE),
        deed=deed,
        happened_at=deed.happened_at,
    )
    _afterwards(deed, soak, _("a bag"))
    return made


def _refuse_in_tub(soak: Soak) -> None:
    if soak.state in (Soak.State.LAID, Soak.State.SOAKING):
        raise Refused(_("The strips are still in the tub by the record. Enter the lift first."), code="soaking")


def _ask_about_bag(soak: Soak, strips: int, net_mg: int, confirmed: bool) -> None:
    left = strips_left(soak)
    if strips > left:
        asking.ask(
            _("Did you mean %(strips)s? Only %(left)s are left of this soak.")
            % {"strips": wording.counted(strips), "left": wording.counted(left)},
            confirmed,
            strips=strips,
        )
    dry = tub.dry_mg(soak, strips)
    if dry is None:
        return
    likely = dry + strips * soak.bench.recipe.uptake_mg
    if abs(net_mg - likely) * 100 > of_bench(soak.bench).guess_off_pct * likely:
        asking.ask(
            _("%(net)s for %(strips)s? That looks like %(n)s. Count and weigh again.")
            % {
                "net": wording.mass_g(net_mg),
                "strips": wording.counted(strips),
                "n": round(net_mg * strips / likely),
            },
            confirmed,
            code="recount",
            net_mg=net_mg,
        )


def best_before(soak: Soak) -> dt.date:
    """The club's number of days from the lift, never past that of anything that went in."""
    club = the_club()
    lifted = soak.lifted_at or soak.poured_at or soak.laid_at
    own = club.day_of(lifted) + dt.timedelta(days=club.bag_days)
    first = first_to_expire(soak.item_id)
    return min(own, first) if first else own


def _take_out(deed: Deed, soak: Soak, item: Item, strips: int, mass_mg: int, place: Place, cause: str) -> None:
    used = Place.objects.used_in(item)
    ledger.post(
        deed,
        [
            Move(soak.item, Place.objects.bench_of(soak.item), used, strips, cause),
            *tub.draw(soak, mass_mg, used, cause),
            Move(item, Place.objects.the(Place.Kind.MADE), place, strips, cause),
        ],
        fact=True,
    )


def _afterwards(deed: Deed, soak: Soak, what: str) -> None:
    if soak.bench.state == Bench.State.CLOSED:
        tub.sweep(deed, [soak], [])
    team.late(deed, soak, what)


@command("batches.correct_bag", gate=True)
def correct_bag(
    deed: Deed,
    *,
    bag: Bag,
    net_mg: int | None = None,
    gross_mg: int | None = None,
    tare_mg: int | None = None,
    reason: str,
    scale: Equipment | None = None,
    has_label: bool | None = None,
    confirmed: bool = False,
) -> Bag:
    """A bag weighed again, perhaps on another scale. The solution in it follows. Late evidence after a release."""
    if bag.parent_id is not None:
        raise Refused(_("A part of a bag was not weighed. Correct the whole bag."), code="part")
    net = asking.net_of(net_mg, gross_mg, tare_mg)
    _ask_about_mass(bag, net, confirmed)
    team.enter(deed, bag.soak.bench)
    bag.net_mg, bag.gross_mg, bag.tare_mg = net, gross_mg, tare_mg
    bag.scale = scale or bag.scale
    bag.has_label = bag.has_label if has_label is None else has_label
    bag.save()
    tub.redraw(deed, bag.soak, bag.item, tub.uptake_mg(bag.soak, bag.strips, net), Cause.BAG)
    _afterwards(deed, bag.soak, reason)
    return bag


def _ask_about_mass(bag: Bag, net_mg: int, confirmed: bool) -> None:
    dry = tub.dry_mg(bag.soak, bag.strips)
    likely = None if dry is None else dry + bag.strips * bag.soak.bench.recipe.uptake_mg
    asking.mass(net_mg, confirmed, target_mg=likely, limits=of_bench(bag.soak.bench))


@command("batches.retain_sample", gate=True)
def retain_sample(
    deed: Deed,
    *,
    soak: Soak,
    strips: int,
    net_mg: int | None = None,
    code: str | None = None,
    scale: Equipment | None = None,
) -> Sample:
    """Strips kept apart for later doubt. Without a net mass they are taken to carry the recipe's uptake."""
    _refuse_in_tub(soak)
    team.enter(deed, soak.bench)
    item = new_item(deed, kind=Item.Kind.SAMPLE, unit="pieces", code=code, best_before=best_before(soak))
    place = Place.objects.the(Place.Kind.RETAINED)
    _take_out(deed, soak, item, strips, tub.uptake_mg(soak, strips, net_mg), place, Cause.SAMPLE)
    made = Sample.objects.create(
        item=item,
        soak=soak,
        strips=strips,
        net_mg=net_mg,
        scale=scale or only(Equipment.Kind.SCALE),
        deed=deed,
        happened_at=deed.happened_at,
    )
    _afterwards(deed, soak, _("a retained sample"))
    return made


@command("batches.return_solution", gate=True)
def return_solution(
    deed: Deed,
    *,
    mass_mg: int,
    soak: Soak | None = None,
    mix: Mix | None = None,
    container: str = "",
    clarity: str = "",
    code: str | None = None,
    scale: Equipment | None = None,
    place: Place | None = None,
) -> ReturnedSolution:
    """Solution back on the shelf, from a tub or straight from a pail, with its strength, reuse and reheats."""
    if (soak is None) == (mix is None):
        raise Refused(_("Say from which tub, or from which pail, it comes."), code="which")
    bench = soak.bench if soak else mix.bench  # type: ignore[union-attr]
    source = soak.item_id if soak else mix.item_id  # type: ignore[union-attr]
    team.enter(deed, bench)
    item = new_item(deed, kind=Item.Kind.RETURNED, unit="mass", code=code, best_before=first_to_expire(source))
    used = Place.objects.used_in(item)
    out = (
        tub.draw(soak, mass_mg, used, Cause.RETURN_SOLUTION)
        if soak
        else [Move(mix.item, Place.objects.bench_of(mix.item), used, mass_mg, Cause.RETURN_SOLUTION)]  # type: ignore[union-attr]
    )
    made, shed = Place.objects.the(Place.Kind.MADE), place or bench.place
    ledger.post(deed, [*out, Move(item, made, shed, mass_mg, Cause.RETURN_SOLUTION)], fact=True)
    returned = ReturnedSolution.objects.create(
        item=item,
        soak=soak,
        mix=mix,
        mass_mg=mass_mg,
        container=container[:80],
        scale=scale or only(Equipment.Kind.SCALE),
        deed=deed,
        happened_at=deed.happened_at,
    )
    _carry(returned, clarity)
    if soak:
        _afterwards(deed, soak, _("returned solution"))
    return returned


def _carry(returned: ReturnedSolution, clarity: str) -> None:
    strong = strength.of_returned(returned)
    Solution.objects.create(
        item=returned.item,
        w_ppb=strong.w_ppb if strong else None,
        u_ppb=strong.u_ppb if strong else 0,
        reuse=strong.reuse if strong else 0,
        reheats=strong.reheats if strong else 0,
        source=Solution.Source.TITRATED if strong and strong.is_titrated else Solution.Source.COMPUTED,
        clarity=clarity,
    )


@command("batches.enter_solution", gate=True)
def enter_solution(
    deed: Deed,
    *,
    mass_mg: int,
    place: Place,
    w_ppb: int,
    u_ppb: int = 0,
    reuse: int = 0,
    reheats: int = 0,
    is_titrated: bool = False,
    clarity: str = Clarity.CLEAR,
    best_before: dt.date | None = None,
    code: str | None = None,
    note: str = "",
) -> Item:
    """Returned solution from before this book began: found stock with a code, a strength and its history."""
    item = new_item(deed, kind=Item.Kind.RETURNED, unit="mass", code=code, best_before=best_before, note=note[:300])
    found = Place.objects.the(Place.Kind.FOUND)
    ledger.post(deed, [Move(item, found, place, mass_mg, Cause.RETURN_SOLUTION)], fact=True)
    Solution.objects.create(
        item=item,
        w_ppb=w_ppb,
        u_ppb=u_ppb,
        reuse=reuse,
        reheats=reheats,
        source=Solution.Source.TITRATED if is_titrated else Solution.Source.COMPUTED,
        clarity=clarity,
    )
    return item


@command("batches.declare_loss", gate=True)
def declare_loss(
    deed: Deed,
    *,
    soak: Soak | None = None,
    mix: Mix | None = None,
    mass_mg: int = 0,
    strips: int = 0,
    note: str,
    is_destroyed: bool = False,
) -> Soak | Mix:
    """A loss that somebody saw: wiped, spilt, left in the pail; strips spoiled or missing (with the solution in them).

    `is_destroyed`: it was disposed of, not lost. Refused (code "which") unless it names one tub or one
    pail and an amount.
    """
    subject = soak or mix
    if subject is None or (soak and mix) or (mix and strips) or not (mass_mg > 0 or strips > 0):
        raise Refused(_("Say what was lost: so much from one tub or one pail."), code="which")
    team.enter(deed, subject.bench)
    gone = Place.objects.the(Place.Kind.DESTROYED if is_destroyed else Place.Kind.LOST)
    bench = Place.objects.bench_of(subject.item)
    if mix is not None:
        moves = [Move(mix.item, bench, gone, mass_mg, Cause.LOSS, note[:300])]
    else:
        assert soak is not None
        liquid = mass_mg or tub.uptake_mg(soak, strips, None)
        moves = tub.draw(soak, liquid, gone, Cause.LOSS, note[:300])
        if strips:
            moves.append(Move(soak.item, bench, gone, strips, Cause.LOSS, note[:300]))
    ledger.post(deed, moves, fact=True)
    if soak is not None:
        _afterwards(deed, soak, _("a declared loss"))
    return subject
