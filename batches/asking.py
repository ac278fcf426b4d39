"""Questions to whoever types: an unlikely figure is asked about once; confirmed, it is kept as it was typed.

The question is a Refused with code "did_you_mean" (a slip of the thumb) or "stop" (bench judgement says wait). Nothing
is written; the same figure with confirmed=True goes through, since what has happened is never refused.
"""

import datetime as dt

from django.utils.translation import gettext as _

from batches.models import Equipment, Mix
from batches.sayings import say
from batches.science import clock, guards
from batches.science.limits import DEFAULT, Limits
from batches.science.words import Figure
from coop import wording
from coop.command import Refused


def ask(sentence: str, confirmed: bool, code: str = "did_you_mean", **facts: object) -> None:
    """Refused once with the question; nothing when it was confirmed."""
    if not confirmed:
        raise Refused(sentence, code=code, **facts)


def about(judged: guards.Judged, confirmed: bool, code: str = "") -> None:
    """Ask what science says to ask, or to stop for; warnings pass."""
    if judged.verdict in (guards.ASK, guards.STOP):
        figures = {name: fact.value for name, fact in judged.sentence.facts.items() if isinstance(fact, Figure)}
        usual = "did_you_mean" if judged.verdict == guards.ASK else "stop"
        ask(say(judged.sentence), confirmed, code or usual, **{name: round(value) for name, value in figures.items()})


def mass(
    mass_mg: int,
    confirmed: bool,
    *,
    target_mg: int | None = None,
    scale: Equipment | None = None,
    limits: Limits = DEFAULT,
) -> None:
    """More than 20 % from the figure to reach, above the scale's capacity, or below 20 divisions of it."""
    capacity, division = (scale.capacity, scale.resolution) if scale else (None, None)
    about(guards.typed_mass(mass_mg, target_mg, capacity, division, limits), confirmed)


def net_of(net_mg: int | None, gross_mg: int | None, tare_mg: int | None) -> int:
    """The net mass from a tared scale, or from the weights after and before. Refused (code "net") for neither."""
    if net_mg is not None:
        if net_mg <= 0:
            raise Refused(_("A mass is above 0."), code="net")
        return net_mg
    if gross_mg is None or tare_mg is None:
        raise Refused(_("Give the net mass, or the weight before and after."), code="net")
    if gross_mg <= tare_mg:
        raise Refused(_("The weight after is not above the weight before. Read both again."), code="net")
    return gross_mg - tare_mg


def jump(mix: Mix, solution_mc: int, at: dt.datetime, confirmed: bool, limits: Limits = DEFAULT) -> None:
    """A temperature that changed faster than 8 degrees a minute since the reading before is asked about."""
    before = mix.readings.filter(happened_at__lte=at).order_by("-happened_at", "-id").first()
    if before is not None:
        seconds = clock.elapsed(before.happened_at, at).total_seconds()
        about(guards.jump(before.solution_mc, solution_mc, seconds, limits), confirmed)


def temperature(solution_mc: int, confirmed: bool) -> None:
    """Solution is between 0 and 110 degrees."""
    if not 0 <= solution_mc <= 110_000:
        ask(_("Did you mean %(temp)s?") % {"temp": wording.temp(solution_mc)}, confirmed, solution_mc=solution_mc)


def strips(masses: list[int], confirmed: bool, limits: Limits = DEFAULT) -> None:
    """Single strips weigh 5 to 60 g."""
    for one in masses:
        about(guards.typed_strip(one, limits), confirmed)
