"""The release table of one soak: every check with its figure, its limit and what follows from it.

A pure function of facts and limits. "pass"; "reason" opens a deviation which a second person decides; "never" is rework
or rejection. A fact that was not recorded is "never" until it is, where the table has no milder word for it. Masses in
mg, temperatures in milli-degrees, strengths in parts per 10^9.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from batches.science import balance, content, uniformity
from batches.science.facts import BagFact, Facts, InputFact, InstrumentFact
from batches.science.guards import BAD_AT_POUR, within
from batches.science.limits import DEFAULT, Limits
from batches.science.mixing import off_pct
from batches.science.words import Figure, Sentence, gettext_noop, mc, percent, sentence

__all__ = [
    "BagFact",
    "Check",
    "Facts",
    "InputFact",
    "InstrumentFact",
    "mean_content",
    "overall",
    "table",
]

PASS, REASON, NEVER = "pass", "reason", "never"
_ORDER = {PASS: 0, REASON: 1, NEVER: 2}
MISSING = sentence(gettext_noop("Not recorded yet."))


@dataclass(frozen=True)
class Check:
    """One row. `figure` beside `low` and `high` in its unit, None where a row has no number; `limit` is in words."""

    key: str
    label: str
    verdict: str
    limit: str
    figure: Figure | None = None
    low: float | None = None
    high: float | None = None
    expanded: float | None = None
    note: Sentence | None = None
    is_warning: bool = False
    name: str = ""

    def as_dict(self) -> dict[str, Any]:
        """For JSON, to freeze with the decision."""
        row = {key: getattr(self, key) for key in ("key", "label", "verdict", "limit", "low", "high", "expanded")}
        figure = list(self.figure) if self.figure else None
        note = self.note.as_dict() if self.note else None
        return row | {"figure": figure, "note": note, "is_warning": self.is_warning, "name": self.name}


def table(facts: Facts, limits: Limits = DEFAULT) -> list[Check]:
    """All rows, in the order of the bench."""
    mean = mean_content(facts)
    strip = _content(facts, mean)
    return [
        *_inputs(facts, limits),
        _instruments(facts),
        _strength(facts, limits),
        _peak(facts, limits),
        _at_pour(facts),
        _at_lift(facts),
        _soak(facts, limits, strip.verdict == PASS),
        _room(facts, limits, strip.verdict == PASS),
        _unexplained(facts, limits),
        strip,
        _uniformity(facts, limits),
        *_bags(facts, limits, mean),
        _returned(facts, limits),
        _counts(facts),
        _label(facts),
        _sample(facts),
        _releaser(facts),
    ]


def overall(checks: Iterable[Check]) -> str:
    """The gravest verdict of the table."""
    return max((check.verdict for check in checks), key=lambda verdict: _ORDER[verdict], default=NEVER)


def mean_content(facts: Facts) -> content.Content | None:
    """Strip content from the bags, the marked dry strips and the strength; None until all three are there."""
    if not facts.bags or len(facts.dry_mg) < 2 or facts.w_ppb is None:
        return None
    bags = [content.Bagged(bag.strips, bag.net_mg) for bag in facts.bags]
    return content.of_bags(bags, content.dry_mean(facts.dry_mg), facts.w_ppb, facts.u_w_ppb, facts.steps_mg)[0]


def _inputs(facts: Facts, limits: Limits) -> list[Check]:
    held = [one.name for one in facts.inputs if one.is_on_hold]
    unverified = [one.name for one in facts.inputs if not one.is_form_verified]
    past = max((one.past_best_before_d or 0 for one in facts.inputs), default=0)
    late = [one.name for one in facts.inputs if (one.past_best_before_d or 0) > 0]
    none = not facts.inputs
    return [
        Check(
            "input_hold",
            gettext_noop("Nothing that went in is on hold"),
            NEVER if held or none else PASS,
            gettext_noop("none on hold"),
            Figure(len(held), "pieces"),
            high=0,
            note=_named(gettext_noop("On hold: %(names)s."), held) or (MISSING if none else None),
        ),
        Check(
            "input_date",
            gettext_noop("What went in was in date"),
            PASS if past <= 0 else REASON if past <= limits.past_best_before_d else NEVER,
            gettext_noop("in date; a few days past it with a reason"),
            Figure(max(past, 0), "d"),
            high=0,
            note=_named(gettext_noop("Past best before: %(names)s."), late),
        ),
        Check(
            "input_form",
            gettext_noop("The acid is known to be the dihydrate"),
            NEVER if unverified else PASS,
            gettext_noop("a certificate that names the dihydrate, or an assay"),
            note=_named(gettext_noop("Form not verified: %(names)s."), unverified),
        ),
    ]


def _instruments(facts: Facts) -> Check:
    verdict, names = PASS, []
    for one in facts.instruments:
        own = _instrument(one)
        if own != PASS:
            names.append(one.name)
        verdict = max(verdict, own, key=lambda v: _ORDER[v])
    none = not facts.instruments
    return Check(
        "instruments",
        gettext_noop("Instruments checked before and after"),
        NEVER if none else verdict,
        gettext_noop("both checks good; none after with a reason"),
        note=MISSING if none else _named(gettext_noop("See the checks of %(names)s."), names),
    )


def _instrument(one: InstrumentFact) -> str:
    if "bad" in (one.before, one.after) and not one.is_reweighed:
        return NEVER
    if one.before is None and one.after is None:
        return NEVER
    return REASON if one.before is None or (one.after is None and one.needs_after) else PASS


def _strength(facts: Facts, limits: Limits) -> Check:
    if facts.is_titrated:
        label, fine, stop = gettext_noop("Strength titrated"), limits.w_titrated_pct, limits.w_titrated_stop_pct
    else:
        label, fine, stop = gettext_noop("Strength weighed in"), limits.w_weighed_pct, limits.w_weighed_stop_pct
    limit = gettext_noop("within the limit of the recipe")
    if facts.w_ppb is None:
        return Check("strength", label, NEVER, limit, low=-fine, high=fine, note=MISSING)
    off = off_pct(facts.w_ppb, facts.recipe_w_ppb)
    note = sentence(gettext_noop("w is %(w)s."), w=Figure(facts.w_ppb, "ppb"))
    return Check("strength", label, _by(abs(off), fine, stop), limit, percent(off), -fine, fine, note=note)


def _peak(facts: Facts, limits: Limits) -> Check:
    label = gettext_noop("Highest temperature of the solution, corrected")
    limit = gettext_noop("not above the ceiling")
    high = float(limits.ceiling_mc)
    peak = facts.peak
    if peak is None:
        return Check("peak", label, NEVER, limit, high=high, note=MISSING)
    verdict, note, is_warning = PASS, None, False
    if peak.corrected_mc > limits.ceiling_mc:
        short = peak.corrected_mc <= limits.reject_mc and peak.minutes_above <= limits.hot_minutes
        verdict = REASON if short and facts.has_titrated_after else NEVER
        note = sentence(gettext_noop("Above the ceiling for %(time)s."), time=Figure(peak.minutes_above, "min"))
        if short and not facts.has_titrated_after:
            note = sentence(gettext_noop("Above the ceiling, and not titrated since."))
    elif peak.corrected_mc + peak.expanded_mc > limits.ceiling_mc:
        is_warning, note = True, sentence(gettext_noop("With its uncertainty it may have been above the ceiling."))
    figure, expanded = mc(peak.corrected_mc), float(peak.expanded_mc)
    return Check("peak", label, verdict, limit, figure, None, high, expanded, note, is_warning)


def _at_pour(facts: Facts) -> Check:
    label, limit = gettext_noop("Clear at the pour"), gettext_noop("clear; hazy with a reason")
    seen = list(facts.clarity_at_pour)
    if not seen or "" in seen:
        return Check("clear_at_pour", label, NEVER, limit, note=MISSING)
    if any(one in BAD_AT_POUR for one in seen):
        return Check("clear_at_pour", label, NEVER, limit, note=sentence(gettext_noop("Not all was dissolved.")))
    return Check("clear_at_pour", label, PASS if set(seen) == {"clear"} else REASON, limit)


def _at_lift(facts: Facts) -> Check:
    label, limit = gettext_noop("Tub clear at the lift"), gettext_noop("clear; crystals with a titration and a reason")
    if not facts.clarity_at_lift:
        return Check("clear_at_lift", label, NEVER, limit, note=MISSING)
    if facts.clarity_at_lift == "clear":
        return Check("clear_at_lift", label, PASS, limit)
    if facts.clarity_at_lift == "hazy" or facts.has_titrated_after:
        return Check("clear_at_lift", label, REASON, limit)
    return Check("clear_at_lift", label, NEVER, limit, note=sentence(gettext_noop("Titrate the solution first.")))


def _soak(facts: Facts, limits: Limits, content_passes: bool) -> Check:
    label, limit = gettext_noop("Hours in the tub"), gettext_noop("outside only if the content passes")
    low, high = limits.soak_low_h, limits.soak_high_h
    hours = facts.soak_hours
    if hours is None:
        return Check("soak_hours", label, NEVER, limit, low=low, high=high, note=MISSING)
    verdict = PASS if low <= hours <= high else REASON if content_passes else NEVER
    if hours < limits.soak_never_h:
        verdict = NEVER
    return Check("soak_hours", label, verdict, limit, Figure(hours, "h"), low, high)


def _room(facts: Facts, limits: Limits, content_passes: bool) -> Check:
    label, limit = gettext_noop("Room while they soaked"), gettext_noop("outside only if the content passes")
    low, high = limits.room_low_mc, limits.room_high_mc
    otherwise = REASON if content_passes else NEVER
    if facts.room_low_mc is None or facts.room_high_mc is None:
        return Check("room", label, otherwise, limit, low=low, high=high, note=MISSING)
    is_inside = low <= facts.room_low_mc and facts.room_high_mc <= high
    is_low_worse = low - facts.room_low_mc > facts.room_high_mc - high
    figure = mc(facts.room_low_mc if is_low_worse else facts.room_high_mc)
    note = sentence(gettext_noop("From %(low)s to %(high)s."), low=mc(facts.room_low_mc), high=mc(facts.room_high_mc))
    return Check("room", label, PASS if is_inside else otherwise, limit, figure, low, high, note=note)


def _unexplained(facts: Facts, limits: Limits) -> Check:
    label, limit = gettext_noop("Unexplained, of what was poured"), gettext_noop("small, or below what the scales see")
    low, high = limits.unexplained_low_pct, limits.unexplained_high_pct
    if facts.poured_mg <= 0:
        return Check("unexplained", label, NEVER, limit, low=low, high=high, note=MISSING)
    found = balance.judged(facts.poured_mg, facts.in_mg, facts.out_mg, limits)
    note = sentence(gettext_noop("Unexplained: %(mass)s."), mass=Figure(found.unexplained_mg, "mg"))
    return Check("unexplained", label, found.verdict, limit, percent(found.pct_of_poured), low, high, note=note)


def _content(facts: Facts, mean: content.Content | None) -> Check:
    label, limit = gettext_noop("Mean strip content"), gettext_noop("inside the band, drawn in by U")
    low, high = float(facts.content_low_mg), float(facts.content_high_mg)
    if mean is None:
        return Check("content", label, NEVER, limit, low=low, high=high, note=MISSING)
    found = content.guarded(mean, facts.content_low_mg, facts.content_high_mg)
    note = sentence(
        gettext_noop("With U the band is %(low)s to %(high)s."),
        low=Figure(found.guarded_low_mg, "mg"),
        high=Figure(found.guarded_high_mg, "mg"),
    )
    figure = Figure(float(mean.content_mg), "mg")
    return Check("content", label, found.verdict, limit, figure, low, high, mean.expanded_mg, note)


def _uniformity(facts: Facts, limits: Limits) -> Check:
    label, limit = gettext_noop("Acceptance value of the marked strips"), gettext_noop("at most the limit")
    pairs = min(len(facts.dry_mg), len(facts.wet_mg))
    if pairs < uniformity.STAGE_1 or pairs < facts.marked:
        return Check("uniformity", label, NEVER, limit, high=limits.av_pass, note=MISSING)
    units = uniformity.paired(facts.dry_mg, facts.wet_mg, facts.uptake_aim_mg)
    found = uniformity.acceptance(units, single_pct=limits.single_pct)
    note = sentence(
        gettext_noop("%(n)s strips, mean %(mean)s, s %(s)s of the uptake aimed at. It speaks of the strips tested."),
        n=Figure(found.n, "pieces"),
        mean=percent(found.mean),
        s=percent(found.s),
    )
    verdict = uniformity.verdict(found, limits)
    return Check("uniformity", label, verdict, limit, Figure(found.av, ""), None, limits.av_pass, note=note)


def _bags(facts: Facts, limits: Limits, mean: content.Content | None) -> list[Check]:
    label, limit = (
        gettext_noop("Mean of a bag, from the batch"),
        gettext_noop("near the batch; else count, or split off"),
    )
    low, high = -limits.bag_pct, limits.bag_pct
    if mean is None or not facts.bags:
        return [Check("bag", label, NEVER, limit, low=low, high=high, note=MISSING)]
    dry = content.dry_mean(facts.dry_mg).mean_mg
    rows = []
    for bag in facts.bags:
        own = content.of_bag(content.Bagged(bag.strips, bag.net_mg), dry, facts.w_ppb or 0, mean)
        note = sentence(gettext_noop("%(content)s a strip."), content=Figure(float(own.content_mg), "mg"))
        verdict = _by(abs(own.off_pct), limits.bag_pct, limits.bag_never_pct)
        rows.append(Check("bag", label, verdict, limit, percent(own.off_pct), low, high, note=note, name=bag.name))
    return rows


def _returned(facts: Facts, limits: Limits) -> Check:
    titrated = facts.is_drawn_titrated
    is_plain = facts.reuse <= limits.reuse_plain and facts.drawn_reheats <= limits.reheats_plain
    is_known = facts.reuse <= limits.reuse_titrated and facts.drawn_reheats <= limits.reheats_titrated
    is_old = facts.reuse <= limits.reuse_reason and facts.drawn_reheats <= limits.reheats_titrated
    verdict = PASS if is_plain or (is_known and titrated) else REASON if is_old and titrated else NEVER
    note = sentence(gettext_noop("Reheats of what was drawn: %(n)s."), n=Figure(facts.drawn_reheats, "times"))
    if verdict == NEVER and is_old:
        note = sentence(gettext_noop("Used again this often it needs a titration."))
    return Check(
        "returned",
        gettext_noop("Returned solution: how often used again"),
        verdict,
        gettext_noop("seldom; more often when titrated"),
        Figure(facts.reuse, "times"),
        None,
        float(limits.reuse_titrated if titrated else limits.reuse_plain),
        note=note,
    )


def _counts(facts: Facts) -> Check:
    off = facts.pieces.off_by
    is_exact = off == 0 and facts.pieces.soaked > 0
    return Check(
        "counts",
        gettext_noop("Soaked = bagged + sample + spoiled"),
        PASS if is_exact else NEVER,
        gettext_noop("exact"),
        Figure(off, "pieces"),
        0,
        0,
        note=MISSING if facts.pieces.soaked <= 0 else None,
    )


def _label(facts: Facts) -> Check:
    label, limit = gettext_noop("Label in place on every bag"), gettext_noop("on every bag")
    return Check("label", label, PASS if facts.has_labels and facts.bags else NEVER, limit)


def _sample(facts: Facts) -> Check:
    label, limit = gettext_noop("Sample retained"), gettext_noop("kept; none with a reason")
    return Check("sample", label, PASS if facts.has_sample else REASON, limit)


def _releaser(facts: Facts) -> Check:
    label = gettext_noop("Decided by someone outside the bench team")
    return Check("releaser", label, NEVER if facts.is_releaser_of_team else PASS, gettext_noop("not of the bench team"))


def _by(size: Fraction | float, fine: float, stop: float) -> str:
    return PASS if within(size, fine) else REASON if within(size, stop) else NEVER


def _named(text: str, names: Sequence[str]) -> Sentence | None:
    return sentence(text, names=", ".join(names)) if names else None
