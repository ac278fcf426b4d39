"""What lifting, sampling and bagging say at once: fine, warn or stop. Limits are the bench's own; see guards."""

from batches.science.guards import OK, STOP, WARN, Judged, three
from batches.science.limits import DEFAULT, Limits
from batches.science.words import Figure, gettext_noop, mc, percent, sentence


def look(is_covered: bool, has_crystals: bool) -> Judged:
    """A look into the tub at 12 to 24 hours."""
    if has_crystals:
        return Judged(WARN, sentence(gettext_noop("Crystals: warm the room, and note it.")))
    return OK if is_covered else Judged(WARN, sentence(gettext_noop("Not all strips are covered: top up.")))


def soak_hours(hours: float, limits: Limits = DEFAULT) -> Judged:
    """Elapsed hours from the first pour to the lift."""
    figure = Figure(hours, "h")
    if hours < limits.soak_never_h:
        text = gettext_noop("%(hours)s in the tub is too short: back in.")
        return Judged(STOP, sentence(text, hours=figure), figure)
    if limits.soak_low_h <= hours <= limits.soak_high_h:
        return OK
    text = gettext_noop("%(hours)s in the tub: the content decides.")
    return Judged(WARN, sentence(text, hours=figure), figure)


def room_at_lift(low_mc: int, high_mc: int, limits: Limits = DEFAULT) -> Judged:
    """Lowest and highest temperature of the room while the strips soaked."""
    if limits.room_low_mc <= low_mc and high_mc <= limits.room_high_mc:
        return OK
    text = gettext_noop("The room went from %(low)s to %(high)s: the content decides.")
    return Judged(WARN, sentence(text, low=mc(low_mc), high=mc(high_mc)))


def tub_at_lift(clarity: str) -> Judged:
    if clarity in ("", "clear"):
        return OK
    return Judged(WARN, sentence(gettext_noop("The tub is not clear: titrate the solution, and one strip wash.")))


def drained(minutes: float, limits: Limits = DEFAULT) -> Judged:
    if limits.drain_low_min <= minutes <= limits.drain_high_min:
        return OK
    figure = Figure(minutes, "min")
    return Judged(
        WARN, sentence(gettext_noop("Drained for %(minutes)s: the uptake may be off."), minutes=figure), figure
    )


def uptake(mean_mg: float, recipe_mg: int, limits: Limits = DEFAULT) -> Judged:
    """The mean uptake of the marked strips against the recipe."""
    off = 100 * (mean_mg - recipe_mg) / recipe_mg
    texts = (
        gettext_noop("Uptake %(off)s from the recipe."),
        gettext_noop("Uptake %(off)s from the recipe: more than it should be."),
        gettext_noop("Uptake %(off)s from the recipe: do not bag these as strips to be released."),
    )
    facts = {"off": percent(off)}
    return three(abs(off), limits.uptake_pct, limits.uptake_stop_pct, texts, facts, percent(off))


def bag(net_mg: int, strips: int, batch_mean_mg: float | None, limits: Limits = DEFAULT) -> Judged:
    """The mean wet strip of a bag against that of the batch so far (None for the first bag).

    A bag whose mass does not fit its count is most likely miscounted.
    """
    if not batch_mean_mg:
        return OK
    off = 100 * (net_mg / strips - batch_mean_mg) / batch_mean_mg
    by_mass = round(net_mg / batch_mean_mg)
    if abs(off) > limits.bag_pct and by_mass != strips:
        text = gettext_noop("By mass these are about %(found)s strips, not %(count)s: count again.")
        facts = {"found": Figure(by_mass, "pieces"), "count": Figure(strips, "pieces")}
        return Judged(STOP, sentence(text, **facts), percent(off))
    texts = (
        gettext_noop("%(off)s from the mean of the batch."),
        gettext_noop("%(off)s from the mean of the batch: weigh it again."),
        gettext_noop("%(off)s from the mean of the batch: count and weigh it again."),
    )
    return three(abs(off), limits.bag_pct, limits.bag_never_pct, texts, {"off": percent(off)}, percent(off))
