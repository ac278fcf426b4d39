"""What happens at the pail: weighing in, checking the sum, reading the thermometer, finding the strength."""

import datetime as dt

from django.utils.translation import gettext as _

from batches import asking, strength, team, tub
from batches.commands.equipment import only
from batches.instruments import corrected
from batches.keeping import keep_no_longer
from batches.limits import of_bench
from batches.models import Clarity, Deviation, Equipment, Mix, PailCheck, Reading, Soak, Solution, Titration, Weighing
from batches.science import guards
from coop import wording
from coop.command import Refused, command
from coop.models import Deed, Person, the_club
from inventory import ledger
from inventory.ledger import Move
from inventory.models import Container, Holding, Item, Lot, Movement, Place

Cause = Movement.Cause


@command("batches.weigh_in", gate=True)
def weigh_in(
    deed: Deed,
    *,
    mix: Mix,
    item: Item,
    mass_mg: int | None = None,
    gross_mg: int | None = None,
    tare_mg: int | None = None,
    target_mg: int | None = None,
    scale: Equipment | None = None,
    container: Container | None = None,
    second_eyes: Person | None = None,
    was_caked: bool = False,
    place: Place | None = None,
    confirmed: bool = False,
) -> Weighing:
    """So much of a lot or of returned solution went into the pail: net, or from the weights after and before.

    A fact: what the book does not hold becomes found stock with a question; an input after the first pour opens a
    deviation. Asks once (code "did_you_mean", "form", "crystals") unless `confirmed`. Refused (code "kind") for a code
    that cannot be right: of what is counted in pieces, or of the pail itself.
    """
    if item.unit != "mass" or item == mix.item:
        raise Refused(
            _("%(code)s cannot be weighed into this pail. Look at the code again.") % {"code": item.spaced_code},
            code="kind",
        )
    scale = scale or only(Equipment.Kind.SCALE)
    net = asking.net_of(mass_mg, gross_mg, tare_mg)
    target = target_mg if target_mg is not None else target_of(mix, item)
    asking.mass(net, confirmed, target_mg=target, scale=scale, limits=of_bench(mix.bench))
    _ask_about(item, confirmed)
    team.enter(deed, mix.bench)
    if second_eyes is not None:
        team.enter(deed, mix.bench, second_eyes)
    made, pail = Place.objects.the(Place.Kind.MADE), Place.objects.bench_of(mix.item)
    posting = ledger.post(
        deed,
        [
            Move(item, place or lies_at(item, mix.bench.place), Place.objects.used_in(mix.item), net, Cause.WEIGH_IN),
            Move(mix.item, made, pail, net, Cause.MIX),
        ],
        fact=True,
    )
    weighing = Weighing.objects.create(
        mix=mix,
        item=item,
        container=container,
        target_mg=target,
        mass_mg=net,
        first_mass_mg=net,
        tare_mg=tare_mg,
        gross_mg=gross_mg,
        scale=scale,
        second_eyes=second_eyes,
        was_caked=was_caked,
        drawn=posting.movements[0],
        made=posting.movements[1],
        deed=deed,
        happened_at=deed.happened_at,
    )
    _after_pour(deed, mix, weighing)
    keep_no_longer(mix.item_id)
    _changed(deed, mix, _("a weighing"))
    return weighing


def _ask_about(item: Item, confirmed: bool) -> None:
    """Acid not known to be the dihydrate, and returned solution with crystals, are asked about before a draw."""
    lot = getattr(item, "lot", None)
    if (
        lot is not None
        and item.material is not None
        and item.material.kind == "acid"
        and lot.form != Lot.Form.DIHYDRATE
    ):
        asking.ask(
            _("The book does not know %(code)s as the dihydrate. Read the label: if it does not say so, stop.")
            % {"code": item.spaced_code},
            confirmed,
            code="form",
        )
    solution = Solution.objects.filter(item=item).first()
    if solution is not None and solution.clarity == Clarity.CRYSTALS:
        asking.ask(
            _("%(code)s has crystals. Warm it until it is clear; draw nothing before.") % {"code": item.spaced_code},
            confirmed,
            code="crystals",
        )


def target_of(mix: Mix, item: Item) -> int | None:
    """What the plan still asks of this item in this pail; of another lot, of such matter. None for nothing."""
    plans = mix.bench.plan.get("mixes", [])
    lines = plans[mix.number - 1]["lines"] if mix.number <= len(plans) else []
    weighed = list(mix.weighings.select_related("item__material"))
    if any(line["item"] == item.pk for line in lines):
        planned = sum(line["mass_mg"] for line in lines if line["item"] == item.pk)
        done = sum(one.mass_mg for one in weighed if one.item_id == item.pk)
    else:
        planned = sum(line["mass_mg"] for line in lines if line["role"] == _role(item))
        done = sum(one.mass_mg for one in weighed if _role(one.item) == _role(item))
    return planned - done if planned > done else None


def _role(item: Item) -> str:
    return item.material.kind if item.material is not None else str(item.kind)


def lies_at(item: Item, shed: Place) -> Place:
    """Where an item is drawn from: the bench's shed where it holds some, else where most of it lies."""
    held = list(
        Holding.objects.filter(item=item, quantity__gt=0, place__kind=Place.Kind.SHED)
        .select_related("place")
        .order_by("-quantity", "place_id")
    )
    if not held or any(row.place_id == shed.pk for row in held):
        return shed
    return held[0].place


def _after_pour(deed: Deed, mix: Mix, weighing: Weighing) -> None:
    poured = mix.first_poured_at()
    if poured is not None and deed.happened_at > poured:
        text = _("%(mass)s of %(code)s went in after the first pour.") % {
            "mass": wording.mass_g(weighing.mass_mg),
            "code": weighing.item.spaced_code,
        }
        Deviation.objects.create(bench=mix.bench, kind="after_pour", text=text, opened=deed)


def _changed(deed: Deed, mix: Mix, what: str) -> None:
    """The strength follows, and so does what was made with it; a bench that has ended is swept again."""
    strength.recompute(mix)
    strength.carry_on(deed, mix=mix)
    if mix.bench.state == mix.bench.State.CLOSED:
        tub.sweep(deed, list(mix.bench.soaks.select_related("item", "bench")), [mix])


@command("batches.correct_weighing", gate=True)
def correct_weighing(
    deed: Deed,
    *,
    weighing: Weighing,
    mass_mg: int,
    reason: str,
    scale: Equipment | None = None,
    confirmed: bool = False,
) -> Weighing:
    """The right mass of a weighing (0: it never was), perhaps from another scale. Reverses and writes both movements.

    Asks once ("did_you_mean") unless `confirmed`. After a release it is late evidence: kept, a deviation and a hold.
    """
    if mass_mg:
        limits = of_bench(weighing.mix.bench)
        asking.mass(mass_mg, confirmed, target_mg=weighing.target_mg, scale=scale or weighing.scale, limits=limits)
    if mass_mg < 0:
        raise Refused(_("A mass is not below 0."), code="net")
    team.enter(deed, weighing.mix.bench)
    if mass_mg != weighing.mass_mg:
        drawn = ledger.correct(deed, weighing.drawn, mass_mg, reason)
        made = ledger.correct(deed, weighing.made, mass_mg, reason)
        if mass_mg:
            weighing.drawn, weighing.made = drawn.movements[-1], made.movements[-1]
    weighing.mass_mg, weighing.corrected, weighing.reason = mass_mg, deed, reason[:300]
    weighing.scale = scale or weighing.scale
    weighing.save()
    _changed(deed, weighing.mix, reason)
    return weighing


@command("batches.pail_check", gate=True)
def pail_check(
    deed: Deed, *, mix: Mix, total_mg: int, scale: Equipment | None = None, confirmed: bool = False
) -> PailCheck:
    """The whole pail, net, beside the sum of its parts. Asks once where they are more than 1 % apart ("reweigh")."""
    scale = scale or only(Equipment.Kind.SCALE)
    parts = list(mix.weighings.values_list("mass_mg", flat=True))
    division = scale.resolution if scale else 0
    asking.about(guards.pail(total_mg, parts, division, of_bench(mix.bench)), confirmed, code="reweigh")
    team.enter(deed, mix.bench)
    team.late_for_mix(deed, mix, _("a pail check"))
    return PailCheck.objects.create(
        mix=mix,
        total_mg=total_mg,
        expected_mg=sum(parts),
        scale=scale,
        deed=deed,
        happened_at=deed.happened_at,
    )


@command("batches.read", gate=True)
def read(
    deed: Deed,
    *,
    solution_mc: int,
    mix: Mix | None = None,
    soak: Soak | None = None,
    bath_mc: int | None = None,
    was_stirred: bool = False,
    clarity: str = "",
    thermometer: Equipment | None = None,
    confirmed: bool = False,
) -> Reading:
    """One reading of the solution in a pail or tub, in milli-degrees as the thermometer shows it.

    Kept beside it: corrected by the last check, with U (k = 2). Asks once about a jump of more than 8 degrees a
    minute. Above the ceiling a deviation opens and recording goes on; nobody is locked out.
    """
    asking.temperature(solution_mc, confirmed)
    if mix is not None:
        asking.jump(mix, solution_mc, deed.happened_at, confirmed, of_bench(mix.bench))
    bench = mix.bench if mix else soak.bench if soak else None
    if bench is None:
        raise Refused(_("Say which pail or tub was read."), code="which")
    thermometer = thermometer or only(Equipment.Kind.THERMOMETER)
    right, expanded = corrected(thermometer, solution_mc, deed.happened_at)
    team.enter(deed, bench)
    reading = Reading.objects.create(
        mix=mix,
        soak=None if mix else soak,
        solution_mc=solution_mc,
        bath_mc=bath_mc,
        was_stirred=was_stirred,
        clarity=clarity,
        thermometer=thermometer,
        corrected_mc=right,
        expanded_mc=expanded,
        deed=deed,
        happened_at=deed.happened_at,
    )
    if mix is not None:
        _judge_heat(deed, mix, reading)
        team.late_for_mix(deed, mix, _("a temperature reading"))
    elif soak is not None:
        team.late(deed, soak, _("a temperature reading"))
    return reading


def _judge_heat(deed: Deed, mix: Mix, reading: Reading) -> None:
    ceiling = of_bench(mix.bench).ceiling_mc
    open_one = Deviation.objects.filter(bench=mix.bench, kind="peak", soak=None)
    if reading.corrected_mc > ceiling and not open_one.exists():
        text = _("%(code)s reached %(temp)s, above the ceiling of %(ceiling)s.") % {
            "code": mix.item.spaced_code,
            "temp": wording.temp(reading.corrected_mc, 1),
            "ceiling": wording.temp(ceiling),
        }
        Deviation.objects.create(bench=mix.bench, kind="peak", text=text, opened=deed)


@command("batches.titrate", gate=True)
def titrate(deed: Deed, *, item: Item, w_ppb: int, u_ppb: int, method: str) -> Titration:
    """A strength found by titration replaces the computed one of a mix, a returned solution or a tub.

    Everything made of it follows; after a release it is late evidence. Whoever finds the strength of a pail or a tub is
    of its bench team: the figure decides the release, so somebody else does. Refused (code "kind") for other items, and
    (code "balance") where the club says it has no balance fine enough.
    """
    if item.kind not in (Item.Kind.MIX, Item.Kind.RETURNED, Item.Kind.SOAK):
        raise Refused(_("Only solution is titrated: a mix, a returned solution, or a tub."), code="kind")
    if not the_club().can_titrate:
        raise Refused(_("The club's settings say it has no balance fine enough for a titration."), code="balance")
    if item.kind != Item.Kind.RETURNED:
        team.enter(deed, item.mix.bench if item.kind == Item.Kind.MIX else item.soak.bench)
    titration = Titration.objects.create(
        item=item, w_ppb=w_ppb, u_ppb=u_ppb, method=method[:300], deed=deed, happened_at=deed.happened_at
    )
    solution, _new = Solution.objects.get_or_create(item=item)
    solution.w_ppb, solution.u_ppb, solution.source = w_ppb, u_ppb, Solution.Source.TITRATED
    if item.kind == Item.Kind.SOAK:
        solution.reuse, solution.reheats = _tub_history(item.soak)
    solution.save()
    strength.carry_on(
        deed,
        mix=item.mix if item.kind == Item.Kind.MIX else None,
        soak=item.soak if item.kind == Item.Kind.SOAK else None,
        returned=item if item.kind == Item.Kind.RETURNED else None,
    )
    return titration


def _tub_history(soak: Soak) -> tuple[int, int]:
    poured = [pour.mix.item.solution for pour in soak.pours.select_related("mix__item__solution")]
    return max((one.reuse for one in poured), default=0), max((one.reheats for one in poured), default=0)


def due_again(reading: Reading) -> dt.timedelta:
    """When to read again: every 5 minutes to 45 degrees, every 3 to 52, then every 2 (bench judgement)."""
    shown = reading.corrected_mc
    return dt.timedelta(minutes=5 if shown < 45_000 else 3 if shown < 52_000 else 2)
