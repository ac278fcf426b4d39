"""What happens at the tub: laying strips, weighing the marked ones, pouring, looking, lifting."""

from collections.abc import Sequence

from django.utils.translation import gettext as _

from batches import asking, strength, team, tub
from batches.commands.equipment import only
from batches.commands.mixing import lies_at
from batches.keeping import keep_no_longer
from batches.limits import of_bench
from batches.models import Bench, Equipment, Look, MarkedStrip, Mix, Pour, Soak, Solution
from batches.science import clock, guards, lifting
from coop import wording
from coop.command import Refused, command
from coop.models import Deed
from inventory import ledger
from inventory.ledger import Move, new_item
from inventory.models import Item, Movement, Place

Cause = Movement.Cause


@command("batches.lay_strips", gate=True)
def lay_strips(
    deed: Deed,
    *,
    bench: Bench,
    strips: int,
    blanks: Item | None = None,
    code: str | None = None,
    pack_mg: int | None = None,
    place: Place | None = None,
    confirmed: bool = False,
) -> Soak:
    """Strips of one blank lot go into a tub: a soak with a code of its own. `blanks` defaults to the planned lot.

    Asks once where the count is above 500, or the pack's mass says another count (more than 3 %). Refused (code
    "blanks") when no blank lot is named or planned, (code "state") before the start.
    """
    lot_item = blanks or bench.blanks
    if lot_item is None or lot_item.unit != "pieces" or lot_item.kind != Item.Kind.LOT:
        raise Refused(_("Say which lot of strip blanks goes in."), code="blanks")
    if bench.state == Bench.State.PLANNED:
        raise Refused(_("Start the bench first."), code="state")
    _ask_about_count(bench, lot_item, strips, pack_mg, confirmed)
    team.enter(deed, bench)
    item = new_item(deed, kind=Item.Kind.SOAK, unit="pieces", code=code)
    source = place or lies_at(lot_item, bench.place)
    ledger.post(deed, _strip_moves(item, lot_item, source, strips), fact=True)
    return Soak.objects.create(
        item=item,
        bench=bench,
        number=bench.soaks.count() + 1,
        blanks=lot_item,
        strips=strips,
        laid_at=deed.happened_at,
        deed=deed,
    )


def _strip_moves(item: Item, blanks: Item, source: Place, strips: int) -> list[Move]:
    tub_place = Place.objects.bench_of(item)
    return [
        Move(blanks, source, Place.objects.used_in(item), strips, Cause.SOAK),
        Move(item, Place.objects.the(Place.Kind.MADE), tub_place, strips, Cause.SOAK),
    ]


def _ask_about_count(bench: Bench, blanks: Item, strips: int, pack_mg: int | None, confirmed: bool) -> None:
    if strips > 500:
        asking.ask(_("Did you mean %(n)s strips in one tub?") % {"n": strips}, confirmed, strips=strips)
    one = blanks.lot.dry_strip_mg if hasattr(blanks, "lot") else None
    if pack_mg and one:
        asking.about(guards.strip_count(pack_mg, one, strips, of_bench(bench)), confirmed, code="recount")


@command("batches.correct_strips", gate=True)
def correct_strips(deed: Deed, *, soak: Soak, strips: int, reason: str) -> Soak:
    """The count laid in was wrong: the right one, in the lot, the tub and the record. Late evidence after a release."""
    if strips <= 0:
        raise Refused(_("A soak has at least one strip."), code="strips")
    team.enter(deed, soak.bench)
    standing = Movement.objects.filter(cause=Cause.SOAK, reversed_by=None, reverses=None)
    for movement in (
        standing.get(item=soak.blanks, target=Place.objects.used_in(soak.item)),
        standing.get(item=soak.item, target=Place.objects.bench_of(soak.item)),
    ):
        ledger.correct(deed, movement, strips, reason)
    soak.strips = strips
    soak.save(update_fields=["strips"])
    team.late(deed, soak, _("the count of strips was corrected"))
    return soak


@command("batches.mark_dry", gate=True)
def mark_dry(
    deed: Deed, *, soak: Soak, masses_mg: Sequence[int], scale: Equipment | None = None, confirmed: bool = False
) -> Soak:
    """The marked strips, dry, in their order: ten, or thirty where the club wants the second stage.

    Entered again it replaces what was entered dry; what the same strips weighed wet stays, where they are as many. Bags
    weighed already follow. Refused (code "ten_or_thirty") else.
    """
    masses = list(masses_mg)
    _refuse_other_counts(masses)
    asking.strips(masses, confirmed, of_bench(soak.bench))
    team.enter(deed, soak.bench)
    known = list(soak.marked.order_by("n"))
    before = {one.n: one for one in known} if len(known) == len(masses) else {}
    soak.marked.all().delete()
    scale = scale or only(Equipment.Kind.SCALE)
    MarkedStrip.objects.bulk_create(
        _dry_strip(soak, n, mass, scale, deed, before.get(n)) for n, mass in enumerate(masses, 1)
    )
    tub.redraw_all(deed, soak)
    _sweep_again(deed, soak)
    team.late(deed, soak, _("the marked strips, dry"))
    return soak


def _dry_strip(
    soak: Soak, n: int, mass_mg: int, scale: Equipment | None, deed: Deed, before: MarkedStrip | None
) -> MarkedStrip:
    wet = {name: getattr(before, name, None) for name in ("wet_mg", "wet_scale_id", "wet_at")}
    return MarkedStrip(soak=soak, n=n, dry_mg=mass_mg, dry_scale=scale, dry_at=deed.happened_at, **wet)


@command("batches.mark_wet", gate=True)
def mark_wet(
    deed: Deed, *, soak: Soak, masses_mg: Sequence[int], scale: Equipment | None = None, confirmed: bool = False
) -> Soak:
    """The same strips in the same order, wet, drained and not yet bagged.

    Refused (code "ten_or_thirty") for another count than was marked dry; asks once about a strip lighter than dry.
    """
    masses, marked = list(masses_mg), list(soak.marked.order_by("n"))
    if len(masses) != len(marked):
        raise Refused(
            _("%(n)s strips were marked dry; weigh the same ones wet.") % {"n": len(marked)}, code="ten_or_thirty"
        )
    asking.strips(masses, confirmed, of_bench(soak.bench))
    for strip, wet in zip(marked, masses, strict=True):
        if wet <= strip.dry_mg:
            asking.ask(_("Strip %(n)s is not heavier than dry. Are they in order?") % {"n": strip.n}, confirmed)
    team.enter(deed, soak.bench)
    scale = scale or only(Equipment.Kind.SCALE)
    for strip, wet in zip(marked, masses, strict=True):
        strip.wet_mg, strip.wet_scale, strip.wet_at = wet, scale, deed.happened_at
    MarkedStrip.objects.bulk_update(marked, ["wet_mg", "wet_scale", "wet_at"])
    team.late(deed, soak, _("the marked strips, wet"))
    return soak


def _refuse_other_counts(masses: list[int]) -> None:
    if len(masses) not in (10, 30):
        raise Refused(_("Mark ten strips, or thirty: %(n)s were entered.") % {"n": len(masses)}, code="ten_or_thirty")


@command("batches.pour", gate=True)
def pour(
    deed: Deed,
    *,
    mix: Mix,
    soak: Soak | None = None,
    mass_mg: int | None = None,
    before_mg: int | None = None,
    after_mg: int | None = None,
    temp_mc: int | None = None,
    clarity: str = "",
    covered_mm: int | None = None,
    has_lid: bool = False,
    is_topup: bool = False,
    scale: Equipment | None = None,
    confirmed: bool = False,
) -> Pour:
    """From the pail into the tub: the pail before less the pail after. The first pour starts the soak's clock.

    `soak` defaults to the bench's only one. Asks once (code "stop") where bench judgement says wait: colder than 40,
    hotter than 60, not clear, strength more than 3 % off, tub not covered. Refused (code "already") when this mix went
    into this tub before and it is no topping up, with whose time.
    """
    soak = soak or _only_soak(mix.bench)
    soak.refresh_from_db(fields=["state", "poured_at"])
    net = asking.net_of(mass_mg, before_mg, after_mg)
    scale = scale or only(Equipment.Kind.SCALE)
    before = None if is_topup else Pour.objects.filter(mix=mix, soak=soak).select_related("deed__actor").first()
    if before is not None:
        raise Refused(
            _("%(name)s poured it at %(moment)s already. More of it is a topping up.")
            % {"name": before.deed.actor.name, "moment": wording.moment(before.happened_at)},
            code="already",
            pour=before.pk,
        )
    asking.mass(net, confirmed, scale=scale, limits=of_bench(soak.bench))
    _ask_to_wait(mix, temp_mc, clarity, covered_mm, is_topup, confirmed)
    team.enter(deed, soak.bench)
    _post_pour(deed, mix, soak, net)
    made = Pour.objects.create(
        mix=mix,
        soak=soak,
        before_mg=before_mg,
        after_mg=after_mg,
        mass_mg=net,
        temp_mc=temp_mc,
        clarity=clarity,
        covered_mm=covered_mm,
        has_lid=has_lid,
        is_topup=is_topup,
        scale=scale,
        deed=deed,
        happened_at=deed.happened_at,
    )
    if soak.poured_at is None or deed.happened_at < soak.poured_at:
        soak.poured_at = deed.happened_at
    if soak.state == Soak.State.LAID:
        soak.state = Soak.State.SOAKING
    soak.save(update_fields=["poured_at", "state"])
    keep_no_longer(soak.item_id)
    strength.carry_on(deed, soak=soak)
    _sweep_again(deed, soak)
    return made


def _only_soak(bench: Bench) -> Soak:
    soaks = list(bench.soaks.select_related("item", "bench__recipe")[:2])
    if len(soaks) != 1:
        raise Refused(_("Say into which tub it was poured."), code="which")
    return soaks[0]


def _post_pour(deed: Deed, mix: Mix, soak: Soak, net: int) -> None:
    """What the pail holds less than was poured of it, up to 1 %, is a weighing difference; more is questioned."""
    pail, tub_place = Place.objects.bench_of(mix.item), Place.objects.bench_of(soak.item)
    short = net - ledger.quantity_at(mix.item, pail)
    moves = []
    if 0 < short * 100 <= net:
        moves.append(Move(mix.item, Place.objects.the(Place.Kind.FOUND), pail, short, Cause.UNEXPLAINED))
    ledger.post(deed, [*moves, Move(mix.item, pail, tub_place, net, Cause.POUR)], fact=True)


def _ask_to_wait(
    mix: Mix, temp_mc: int | None, clarity: str, covered_mm: int | None, is_topup: bool, confirmed: bool
) -> None:
    """What bench judgement says against pouring now; a topping up may be cold."""
    limits = of_bench(mix.bench)
    if temp_mc is not None and not is_topup:
        asking.about(guards.pour(temp_mc, covered_mm, limits), confirmed)
    if clarity in guards.BAD_AT_POUR:
        asking.about(guards.clarity_for_pour([(0, clarity)], limits), confirmed)
    solution = Solution.objects.filter(item=mix.item_id).first()
    if solution is not None and solution.w_ppb:
        aimed = mix.bench.recipe.w_ppb
        asking.about(guards.strength(solution.w_ppb, aimed, solution.is_titrated, limits), confirmed)


@command("batches.look", gate=True)
def look(
    deed: Deed,
    *,
    soak: Soak,
    is_covered: bool = True,
    has_crystals: bool = False,
    min_mc: int | None = None,
    max_mc: int | None = None,
    note: str = "",
) -> Look:
    """A look into the tub between pour and lift."""
    team.enter(deed, soak.bench)
    team.late(deed, soak, _("a look into the tub"))
    return Look.objects.create(
        soak=soak,
        is_covered=is_covered,
        has_crystals=has_crystals,
        min_mc=min_mc,
        max_mc=max_mc,
        note=note[:300],
        deed=deed,
        happened_at=deed.happened_at,
    )


@command("batches.lift", gate=True)
def lift(
    deed: Deed,
    *,
    soak: Soak,
    min_mc: int | None = None,
    max_mc: int | None = None,
    clarity: str = "",
    drain_min: int | None = None,
    confirmed: bool = False,
) -> Soak:
    """Strips out of the tub, with the room's lowest and highest temperature since the pour and how the tub looks.

    Asks once (code "stop") before 24 h: put them back in. Refused (code "already") when lifted before, with whose
    time, and (code "not_poured") before anything was poured.
    """
    soak.refresh_from_db(fields=["state", "poured_at", "lifted_at"])
    if soak.lifted_at is not None and soak.state != Soak.State.REWORK:
        raise Refused(
            _("It was lifted at %(moment)s already.") % {"moment": wording.moment(soak.lifted_at)}, code="already"
        )
    if soak.poured_at is None:
        raise Refused(_("Nothing was poured on these strips yet."), code="not_poured")
    if min_mc is not None and max_mc is not None and min_mc > max_mc:
        min_mc, max_mc = max_mc, min_mc
    hours = clock.hours(soak.poured_at, deed.happened_at)
    asking.about(lifting.soak_hours(hours, of_bench(soak.bench)), confirmed)
    team.enter(deed, soak.bench)
    soak.lifted_at, soak.min_mc, soak.max_mc = deed.happened_at, min_mc, max_mc
    soak.clarity, soak.drain_min = clarity, drain_min
    if soak.state in (Soak.State.LAID, Soak.State.SOAKING):
        soak.state = Soak.State.LIFTED
    soak.save(update_fields=["state", "lifted_at", "min_mc", "max_mc", "clarity", "drain_min"])
    return soak


def _sweep_again(deed: Deed, soak: Soak) -> None:
    """A bench that has ended keeps nothing in its tubs: what a late figure changed is unexplained, with its sign."""
    if soak.bench.state == Bench.State.CLOSED:
        tub.sweep(deed, [soak], [])
