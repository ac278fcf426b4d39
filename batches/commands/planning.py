"""The plan of a bench: what to weigh in, from which lots, and how many strips it covers."""

import dataclasses
import datetime as dt
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

from django.utils.translation import gettext as _

from batches.choosing import Stock, fewest, share, usable
from batches.limits import in_force
from batches.models import Bench, Instructions, Recipe
from batches.sayings import say
from batches.science import guards
from batches.science.mixing import volume_ml
from batches.tub import split
from coop import wording
from coop.command import Refused, command
from coop.models import Deed, the_club
from coop.units import PPB
from inventory import holds, ledger
from inventory.models import Item, Place

Line = tuple[Item, str, int]


@dataclasses.dataclass(frozen=True)
class Drawn:
    """Returned solution to be used: how much of it, and its strength."""

    item: Item
    mass_mg: int
    w: Fraction


@dataclasses.dataclass(frozen=True)
class Need:
    """What a plan comes to before lots are chosen, in exact milligrams of solution and of dihydrate."""

    target: Fraction
    w: Fraction
    returned: int
    pure_returned: Fraction

    @property
    def pure(self) -> Fraction:
        """Dihydrate that fresh acid must bring."""
        return self.w * self.target - self.pure_returned


@command("batches.plan_bench", gate=True)
def plan_bench(
    deed: Deed,
    *,
    recipe: Recipe,
    day: dt.date,
    instructions: Instructions | None = None,
    target_mg: int | None = None,
    hives: Mapping[int, int] | None = None,
    strips: int | None = None,
    use_up: Item | None = None,
    returned: Sequence[Mapping[str, Any]] = (),
    blanks: Item | None = None,
    place: Place | None = None,
    mixes: int = 1,
    u_w_ppb: int | None = None,
    note: str = "",
) -> Bench:
    """Plan a bench from one of: a mass, hives by kind (id to number), strips, or a returned solution to use up.

    Lots first expiring first, as few acid lots as possible; `returned` ({"item", "mass_mg" or None for all}) is
    corrected to the recipe's strength. Refused: "short" (facts: what, short_mg, most_mg, glycerine_mg), "too_strong"
    and "too_much" (facts: use_mg, glycerine_mg), "held", "target" unless exactly one way to say how much is given.
    """
    strips = strips if hives is None else _strips_for(instructions, hives)
    drawn = [_drawn(entry["item"], entry.get("mass_mg")) for entry in returned]
    if use_up is not None and use_up.pk not in {one.item.pk for one in drawn}:
        drawn.append(_drawn(use_up, None))
    target = _target(recipe, target_mg, strips, drawn if use_up is not None else [], day)
    acids = usable("acid", day)
    lines = _lines(_need(target, recipe, drawn, acids), drawn, acids, usable("glycerine", day))
    lot, count = _blanks(recipe, target, strips, blanks, day)
    return Bench.objects.create(
        day=day,
        recipe=recipe,
        instructions=instructions,
        place=place or _first_shed(),
        blanks=lot,
        plan={**_plan(target, recipe, lines, count, max(mixes, 1), u_w_ppb), "warnings": _warnings(drawn, day)},
        limits=in_force().as_dict(),
        note=note[:300],
        deed=deed,
    )


def _strips_for(instructions: Instructions | None, hives: Mapping[int, int]) -> int:
    doses = {} if instructions is None else dict(instructions.doses.values_list("hive_kind", "strips"))
    unknown = [kind for kind in hives if int(kind) not in doses]
    if unknown or not hives:
        raise Refused(_("The instructions do not say how many strips such a hive gets."), code="doses")
    return sum(doses[int(kind)] * number for kind, number in hives.items())


def _drawn(item: Item, mass_mg: int | None) -> Drawn:
    solution = getattr(item, "solution", None)
    if solution is None or solution.w_ppb is None:
        raise Refused(_("The strength of %(code)s is not known.") % {"code": item.spaced_code}, code="strength")
    holds.refuse_if_held(item)
    there = ledger.on_hand(item)
    wanted = there if mass_mg is None else mass_mg
    if wanted > there or wanted <= 0:
        raise Refused(
            _("Of %(code)s there is %(there)s, %(wanted)s were asked for.")
            % {"code": item.spaced_code, "there": wording.mass_g(there), "wanted": wording.mass_g(wanted)},
            code="short",
            what="returned",
            short_mg=wanted - there,
        )
    return Drawn(item, wanted, Fraction(solution.w_ppb, PPB))


def _target(recipe: Recipe, target_mg: int | None, strips: int | None, use_up: list[Drawn], day: dt.date) -> Fraction:
    ways = [target_mg is not None, strips is not None, bool(use_up)]
    if sum(ways) != 1:
        raise Refused(_("Say how much: a mass, or hives, or strips, or a returned solution to use up."), code="target")
    if use_up:
        return _all_of(recipe, use_up, day)
    target = Fraction(target_mg if target_mg is not None else recipe.mass_for(strips or 0))
    if target <= 0:
        raise Refused(_("The plan is for nothing. Say how much."), code="target")
    return target


def _all_of(recipe: Recipe, drawn: list[Drawn], day: dt.date) -> Fraction:
    """What all the returned solution becomes at the recipe's strength, with only acid or only glycerine added."""
    mass, pure, w = sum(one.mass_mg for one in drawn), sum(one.mass_mg * one.w for one in drawn), _w(recipe)
    if pure >= w * mass:
        return Fraction(pure) / w
    return mass + (w * mass - pure) / (_assay(usable("acid", day)) - w)


def _w(recipe: Recipe) -> Fraction:
    return Fraction(recipe.w_ppb, PPB)


def _assay(acids: Sequence[Stock]) -> Fraction:
    """Of the acid that would be taken first; 1 where there is none."""
    return acids[0].assay if acids else Fraction(1)


def _need(target: Fraction, recipe: Recipe, drawn: list[Drawn], acids: Sequence[Stock]) -> Need:
    need = Need(
        target,
        _w(recipe),
        sum(one.mass_mg for one in drawn),
        sum((one.mass_mg * one.w for one in drawn), Fraction(0)),
    )
    if need.pure < 0:
        use = need.returned * need.w * target / need.pure_returned
        raise Refused(
            _("Too strong: use %(use)s of the returned solution, no acid, %(glycerine)s glycerine.")
            % {"use": _g(use), "glycerine": _g(target - use)},
            code="too_strong",
            use_mg=round(use),
            glycerine_mg=round(target - use),
            acid_mg=round(need.pure / _assay(acids)),
        )
    return need


def _lines(need: Need, drawn: list[Drawn], acids: Sequence[Stock], glycerines: Sequence[Stock]) -> list[Line]:
    """Every line to weigh in, in whole milligrams that sum to the target."""
    chosen = fewest(acids, need.pure) if need.pure > 0 else []
    if need.pure > 0 and not chosen:
        raise _short_of_acid(need, acids)
    acid = [(stock, round(part / stock.assay)) for stock, part in chosen]
    glycerine = round(need.target) - need.returned - sum(mass for _stock, mass in acid)
    if glycerine < 0:
        raise _too_much(need, _assay(acids))
    if sum(stock.on_hand for stock in glycerines) < glycerine:
        raise _short_of_glycerine(need, glycerine, glycerines, acids)
    poured = share(glycerines, Fraction(glycerine))
    return [
        *((one.item, "returned", one.mass_mg) for one in drawn),
        *((stock.item, "glycerine", int(part)) for stock, part in poured),
        *((stock.item, "acid", mass) for stock, mass in acid if mass),
    ]


def _short_of_acid(need: Need, acids: Sequence[Stock]) -> Refused:
    there = sum(stock.on_hand for stock in acids)
    pure = sum((stock.pure for stock in acids), Fraction(0))
    assay = acids[-1].assay if acids else Fraction(1)
    short = (need.pure - pure) / assay
    most = (pure + need.pure_returned) / need.w
    glycerine = most - need.returned - there
    if glycerine < 0:
        most, glycerine = Fraction(0), Fraction(0)
    return Refused(
        _(
            "%(short)s oxalic acid dihydrate short; with %(there)s the most you can make is %(most)s "
            "(glycerine %(glycerine)s)."
        )
        % {"short": _g(short), "there": wording.mass_g(there), "most": _g(most), "glycerine": _g(glycerine)},
        code="short",
        what="acid",
        short_mg=round(short),
        on_hand_mg=there,
        most_mg=round(most),
        glycerine_mg=round(glycerine),
    )


def _short_of_glycerine(need: Need, wanted: int, glycerines: Sequence[Stock], acids: Sequence[Stock]) -> Refused:
    there = sum(stock.on_hand for stock in glycerines)
    assay = _assay(acids)
    most = max((there + need.returned - need.pure_returned / assay) / (1 - need.w / assay), Fraction(0))
    return Refused(
        _("%(short)s glycerine short; with %(there)s the most you can make is %(most)s.")
        % {"short": _g(Fraction(wanted - there)), "there": wording.mass_g(there), "most": _g(most)},
        code="short",
        what="glycerine",
        short_mg=wanted - there,
        on_hand_mg=there,
        most_mg=round(most),
    )


def _too_much(need: Need, assay: Fraction) -> Refused:
    part = need.target * (1 - need.w / assay) / (need.returned - need.pure_returned / assay)
    use = part * need.returned
    return Refused(
        _("So much returned solution is too weak to reach the strength in %(target)s: use at most %(use)s of it.")
        % {"target": _g(need.target), "use": _g(use)},
        code="too_much",
        use_mg=int(use),
        glycerine_mg=0,
    )


def _blanks(
    recipe: Recipe, target: Fraction, strips: int | None, blanks: Item | None, day: dt.date
) -> tuple[Item | None, int]:
    """One blank lot for the soak and the number of strips: what was asked, or what the tub covers."""
    covered = recipe.strips_covered(int(target))
    wanted = covered if strips is None else strips
    stocks = [one for one in usable("strip", day) if blanks is None or one.item == blanks]
    fitting = next((one for one in stocks if one.on_hand >= wanted), None)
    if fitting is not None:
        return fitting.item, wanted
    largest = max(stocks, key=lambda one: one.on_hand, default=None)
    there = largest.on_hand if largest else 0
    if strips is not None:
        raise Refused(
            _("%(short)s short: no lot of blanks has more than %(there)s, and lots are not mixed in a tub.")
            % {"short": wording.counted(wanted - there), "there": wording.counted(there)},
            code="short",
            what="strips",
            short=wanted - there,
            most=there,
        )
    return (largest.item, there) if largest else (None, 0)


def _warnings(drawn: list[Drawn], day: dt.date) -> list[str]:
    """What bench judgement says about the returned solution before it is drawn: clear it, or titrate it."""
    said = []
    for one in drawn:
        solution, age = one.item.solution, (day - the_club().day_of(one.item.made_at)).days
        judged = guards.returned_in(solution.clarity, solution.reheats + 1, age, solution.is_titrated, in_force())
        if judged.verdict != guards.FINE:
            said.append(f"{one.item.spaced_code}: {say(judged.sentence)}")
    return said


def _plan(
    target: Fraction, recipe: Recipe, lines: list[Line], strips: int, mixes: int, u_w_ppb: int | None
) -> dict[str, Any]:
    """The figures to reach as they stand in the bench record, evenly divided among the mixes."""
    parts = [split(mass, [1] * mixes) for _item, _role, mass in lines]

    def total(role: str) -> int:
        return sum(mass for _item, kind, mass in lines if kind == role)

    pails = []
    for number in range(mixes):
        own = [
            {"item": item.pk, "code": item.code_id, "role": role, "mass_mg": masses[number]}
            for (item, role, _mass), masses in zip(lines, parts, strict=True)
            if masses[number]
        ]
        pails.append({"target_mg": sum(masses[number] for masses in parts), "lines": own})
    return {
        "target_mg": round(target),
        "strips": strips,
        "w_ppb": recipe.w_ppb,
        "u_w_ppb": u_w_ppb,
        "acid_mg": total("acid"),
        "glycerine_mg": total("glycerine"),
        "returned_mg": total("returned"),
        "volume_ml": round(volume_ml(round(target), recipe.w_ppb)),
        "mixes": pails,
    }


def _first_shed() -> Place:
    shed = Place.objects.filter(kind=Place.Kind.SHED, is_closed=False).order_by("id").first()
    if shed is None:
        raise Refused(_("Say in which shed: there is none yet."), code="place")
    return shed


def _g(mass: Fraction) -> str:
    return wording.mass_g(round(mass), 1)
