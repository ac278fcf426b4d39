"""What a captured figure says at once: fine, warn, stop, or ask (a likely slip of the thumb).

Nothing here refuses: what has happened is kept whatever the verdict. Each answer has a sentence for the page and the
difference that was judged. Limits are the bench's own; masses in mg, temperatures in milli-degrees Celsius.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from batches.science.limits import DEFAULT, Limits
from batches.science.mixing import off_pct
from batches.science.words import Figure, Sentence, gettext_noop, mc, mg, percent, sentence

FINE, WARN, STOP, ASK = "fine", "warn", "stop", "ask"
_ORDER = {FINE: 0, ASK: 1, WARN: 2, STOP: 3}
BAD_AT_POUR = ("lumps", "grains", "cloudy", "crystals", "coloured")


@dataclass(frozen=True)
class Judged:
    """`verdict` is fine, warn, stop or ask."""

    verdict: str
    sentence: Sentence
    difference: Figure | None = None

    def as_dict(self) -> dict[str, Any]:
        difference = list(self.difference) if self.difference else None
        return {"verdict": self.verdict, "sentence": self.sentence.as_dict(), "difference": difference}


OK = Judged(FINE, sentence(gettext_noop("In order.")))


def worst(judged: Iterable[Judged]) -> Judged:
    """The gravest of several; OK for none."""
    return max(judged, key=lambda one: _ORDER[one.verdict], default=OK)


# --- typing -----------------------------------------------------------------------------------------------------------


def typed_mass(
    mass_mg: int,
    target_mg: int | None = None,
    capacity_mg: int | None = None,
    division_mg: int | None = None,
    limits: Limits = DEFAULT,
) -> Judged:
    """Far from the figure to reach, above the scale's capacity, or below 20 of its divisions: did you mean this?"""
    shown = mg(mass_mg)
    if capacity_mg is not None and mass_mg > capacity_mg:
        text = gettext_noop("Did you mean %(mass)s? This scale weighs up to %(most)s.")
        return Judged(ASK, sentence(text, mass=shown, most=mg(capacity_mg)), mg(mass_mg - capacity_mg))
    if target_mg and abs(mass_mg - target_mg) * 100 > limits.guess_off_pct * target_mg:
        text = gettext_noop("Did you mean %(mass)s? The figure to reach is %(target)s.")
        return Judged(ASK, sentence(text, mass=shown, target=mg(target_mg)), mg(mass_mg - target_mg))
    if division_mg and mass_mg < limits.guess_divisions * division_mg:
        text = gettext_noop("Did you mean %(mass)s? That is too little for this scale: take a finer one.")
        return Judged(ASK, sentence(text, mass=shown), mg(mass_mg - limits.guess_divisions * division_mg))
    return OK


def typed_strip(mass_mg: int, limits: Limits = DEFAULT) -> Judged:
    """A single strip has a plausible mass."""
    if limits.strip_low_mg <= mass_mg <= limits.strip_high_mg:
        return OK
    return Judged(ASK, sentence(gettext_noop("Did you mean %(mass)s for one strip?"), mass=mg(mass_mg)))


def jump(before_mc: int, now_mc: int, seconds: float, limits: Limits = DEFAULT) -> Judged:
    """A change faster than a pail can follow is read again. Readings less than ten seconds apart count as ten."""
    step = now_mc - before_mc
    if abs(step) <= limits.jump_mc_per_min * max(seconds, 10) / 60:
        return OK
    text = gettext_noop("Did you mean %(now)s? It was %(before)s just before: read it again.")
    return Judged(ASK, sentence(text, now=mc(now_mc), before=mc(before_mc)), mc(step))


# --- people, room, instruments ----------------------------------------------------------------------------------------


def people(present: int) -> Judged:
    if present >= 2:
        return OK
    return Judged(STOP, sentence(gettext_noop("You are alone: no acid before a second person is here.")))


def room_at_open(room_mc: int, limits: Limits = DEFAULT) -> Judged:
    if limits.open_low_mc <= room_mc <= limits.open_high_mc:
        return OK
    text = gettext_noop("The room has %(room)s; %(low)s to %(high)s is best.")
    return Judged(
        WARN, sentence(text, room=mc(room_mc), low=mc(limits.open_low_mc), high=mc(limits.open_high_mc)), mc(room_mc)
    )


def scale_check(reading_mg: int, reference_mg: int, limits: Limits = DEFAULT) -> Judged:
    """A check mass near the load. Refuses (ValueError) a check mass of nothing."""
    if reference_mg <= 0:
        raise ValueError("a check mass has a mass")
    off = off_pct(reading_mg, reference_mg)
    facts = {"reading": mg(reading_mg), "reference": mg(reference_mg), "off": percent(off)}
    texts = (
        gettext_noop("The scale is right within %(off)s."),
        gettext_noop("The scale shows %(reading)s for %(reference)s: %(off)s off, near its limit."),
        gettext_noop("The scale shows %(reading)s for %(reference)s: %(off)s off. Take another scale."),
    )
    return three(abs(off), limits.scale_fine_pct, limits.scale_stop_pct, texts, facts, percent(off))


def thermometer_check(
    deviation_mc: int, days_since_last: int | None = 0, was_dropped: bool = False, limits: Limits = DEFAULT
) -> Judged:
    """The comparison in tap water; `days_since_last` is the age of the last full check, None where there was none."""
    if was_dropped:
        return Judged(STOP, sentence(gettext_noop("It was dropped: take another thermometer.")), mc(deviation_mc))
    facts = {"off": mc(deviation_mc)}
    texts = (
        gettext_noop("The thermometer is right within %(off)s."),
        gettext_noop("The thermometer is %(off)s off, near its limit."),
        gettext_noop("The thermometer is %(off)s off: take another one."),
    )
    found = three(
        abs(deviation_mc), limits.thermometer_fine_mc, limits.thermometer_stop_mc, texts, facts, mc(deviation_mc)
    )
    if found.verdict == FINE and (days_since_last is None or days_since_last >= limits.thermometer_days):
        return Judged(WARN, sentence(gettext_noop("Its last check is a year old or more.")), mc(deviation_mc))
    return found


# --- strips and solution that go in -----------------------------------------------------------------------------------


def strip_count(pack_mg: int, mean_dry_mg: float, count: int, limits: Limits = DEFAULT) -> Judged:
    """The pack's mass by the mean dry strip should give the count."""
    found = pack_mg / mean_dry_mg
    off = 100 * (found - count) / count
    if abs(off) <= limits.pack_pct:
        return OK
    text = gettext_noop("By mass these are about %(found)s strips, not %(count)s: count again.")
    facts = {"found": Figure(found, "pieces"), "count": Figure(count, "pieces")}
    return Judged(STOP, sentence(text, **facts), percent(off))


def returned_in(
    clarity: str, reheats: int, age_days: int, is_titrated: bool = False, limits: Limits = DEFAULT
) -> Judged:
    """Returned solution before it is drawn: `reheats` count the one that comes now."""
    if clarity and clarity != "clear":
        text = gettext_noop("It is not clear when warm: nothing is drawn from it before the crystals are dissolved.")
        return Judged(STOP, sentence(text))
    if is_titrated:
        return OK
    if reheats >= limits.returned_reheats:
        text = gettext_noop("This is reheat %(reheats)s: titrate it.")
        return Judged(WARN, sentence(text, reheats=Figure(reheats, "times")), Figure(reheats, "times"))
    if age_days > limits.returned_days:
        text = gettext_noop("It is %(age)s old: titrate it.")
        return Judged(WARN, sentence(text, age=Figure(age_days, "d")), Figure(age_days, "d"))
    return OK


def weighed_part(mass_mg: int, target_mg: int, division_mg: int = 0, limits: Limits = DEFAULT) -> Judged:
    """Acid or glycerine against its figure; up to two divisions of the scale are always fine."""
    texts = (
        gettext_noop("%(mass)s weighed in."),
        gettext_noop("%(off)s from the figure to reach: see the correcting amount."),
        gettext_noop("%(off)s from the figure to reach: correct it, or let the leader decide."),
    )
    return _against(
        mass_mg,
        target_mg,
        (limits.part_fine_pct, limits.part_stop_pct),
        limits.part_fine_divisions * division_mg,
        texts,
    )


def pail(total_mg: int, parts_mg: Sequence[int], division_mg: int = 0, limits: Limits = DEFAULT) -> Judged:
    """The whole pail on the scale against the sum of its parts."""
    texts = (
        gettext_noop("The pail holds the sum of its parts."),
        gettext_noop("The pail is %(off)s from the sum of its parts."),
        gettext_noop("The pail is %(off)s from the sum of its parts: weigh again."),
    )
    return _against(
        total_mg,
        sum(parts_mg),
        (limits.pail_fine_pct, limits.pail_stop_pct),
        limits.pail_fine_divisions * division_mg,
        texts,
    )


def strength(w_ppb: int, target_ppb: int, is_titrated: bool = False, limits: Limits = DEFAULT) -> Judged:
    """The strength weighed in, or titrated, against the recipe: beyond the limit nothing is poured."""
    off = off_pct(w_ppb, target_ppb)
    fine, stop = (
        (limits.w_titrated_pct, limits.w_titrated_stop_pct)
        if is_titrated
        else (limits.w_weighed_pct, limits.w_weighed_stop_pct)
    )
    texts = (
        gettext_noop("Strength %(w)s, %(off)s from the recipe."),
        gettext_noop("Strength %(w)s, %(off)s from the recipe: more than it should be."),
        gettext_noop("Strength %(w)s, %(off)s from the recipe: do not pour, correct it."),
    )
    facts = {"w": Figure(w_ppb, "ppb"), "off": percent(off)}
    return three(abs(off), fine, stop, texts, facts, percent(off))


# --- heat, clarity, pour ----------------------------------------------------------------------------------------------


def heat(corrected_mc: int, expanded_mc: int = 0, minutes_warm: float = 0.0, limits: Limits = DEFAULT) -> Judged:
    """One corrected reading with U. `minutes_warm` is the time above `warm_mc` so far.

    Above the ceiling is a stop (a deviation); where only reading plus U reaches it, a warning. The volunteer goes on.
    """
    over, facts = mc(corrected_mc - limits.ceiling_mc), {"temp": mc(corrected_mc), "ceiling": mc(limits.ceiling_mc)}
    if corrected_mc > limits.reject_mc:
        text = gettext_noop("%(temp)s: heat off, leave the shed and let it air. A dust mask does not stop the vapour.")
        return Judged(STOP, sentence(text, **facts), over)
    if corrected_mc > limits.ceiling_mc:
        text = gettext_noop("%(temp)s is above %(ceiling)s: out of the bath now, stir, read again.")
        return Judged(STOP, sentence(text, **facts), over)
    if corrected_mc + expanded_mc >= limits.ceiling_mc:
        text = gettext_noop("%(temp)s may be above %(ceiling)s: out of the bath now, stir, read again.")
        return Judged(WARN, sentence(text, **facts), over)
    if corrected_mc >= limits.out_of_bath_mc:
        return Judged(WARN, sentence(gettext_noop("%(temp)s: take it out of the bath, it climbs on."), **facts), over)
    if corrected_mc >= limits.turn_down_mc:
        return Judged(WARN, sentence(gettext_noop("%(temp)s: turn the heat down."), **facts), over)
    if minutes_warm > limits.warm_minutes:
        text = gettext_noop("It has been warm for %(minutes)s: do not heat it longer than it needs.")
        return Judged(WARN, sentence(text, minutes=Figure(minutes_warm, "min")), Figure(minutes_warm, "min"))
    return OK


def clarity_for_pour(looks: Sequence[tuple[float, str]], limits: Limits = DEFAULT) -> Judged:
    """`looks` are (elapsed seconds, clarity) in order of time; it pours when clear twice, three minutes apart."""
    if not looks:
        return Judged(STOP, sentence(gettext_noop("Look into the pail first, with a torch at the bottom.")))
    at, now = looks[-1]
    if now == "coloured":
        return Judged(STOP, sentence(gettext_noop("It is coloured: stop, and ask the leader.")))
    if now in BAD_AT_POUR:
        return Judged(STOP, sentence(gettext_noop("Not all is dissolved: do not pour.")))
    if now == "hazy":
        return Judged(WARN, sentence(gettext_noop("It is hazy: stir, and look again.")))
    since = at
    for then, what in reversed(looks):
        if what != "clear":
            break
        since = then
    if at - since >= limits.clear_apart_s:
        return OK
    waited = Figure(at - since, "s")
    return Judged(WARN, sentence(gettext_noop("Clear once: look again three minutes after the first time.")), waited)


def pour(temp_mc: int, covered_mm: int | None = None, limits: Limits = DEFAULT) -> Judged:
    """The corrected temperature at the pour, and by how much the strips are covered."""
    facts = {"temp": mc(temp_mc)}
    if temp_mc < limits.pour_reheat_mc:
        return Judged(
            STOP, sentence(gettext_noop("%(temp)s is too cold to pour: heat it again."), **facts), mc(temp_mc)
        )
    if temp_mc > limits.pour_wait_mc:
        return Judged(STOP, sentence(gettext_noop("%(temp)s is too hot to pour: wait."), **facts), mc(temp_mc))
    if covered_mm is not None and covered_mm < limits.covered_mm:
        text = gettext_noop("The strips are not covered by %(least)s: top up, as a line of its own.")
        return Judged(WARN, sentence(text, least=Figure(limits.covered_mm, "mm")), Figure(covered_mm, "mm"))
    if limits.pour_low_mc <= temp_mc <= limits.pour_high_mc:
        return OK
    return Judged(WARN, sentence(gettext_noop("%(temp)s is at the edge for pouring."), **facts), mc(temp_mc))


# --- shared -----------------------------------------------------------------------------------------------------------


def _against(
    found_mg: int, aimed_mg: int, pct: tuple[float, float], always_fine_mg: int, texts: tuple[str, str, str]
) -> Judged:
    difference = mg(found_mg - aimed_mg)
    facts = {"mass": mg(found_mg), "off": difference, "target": mg(aimed_mg)}
    if abs(found_mg - aimed_mg) <= always_fine_mg:
        return Judged(FINE, sentence(texts[0], **facts), difference)
    off = abs(off_pct(found_mg, aimed_mg)) if aimed_mg else float("inf")
    return three(off, *pct, texts, facts, difference)


def three(
    size: Any, fine: float, stop: float, texts: tuple[str, str, str], facts: dict[str, Figure], difference: Figure
) -> Judged:
    """Fine up to the first limit, warn up to the second, stop beyond."""
    verdict, text = (
        (FINE, texts[0]) if within(size, fine) else (WARN, texts[1]) if within(size, stop) else (STOP, texts[2])
    )
    return Judged(verdict, sentence(text, **facts), difference)


def within(size: Any, limit: float) -> bool:
    """Limits are typed as decimals: 0.3 means three tenths, not the nearest binary fraction."""
    return bool(size <= limit or abs(float(size) - limit) <= 1e-12 * max(1.0, abs(limit)))
