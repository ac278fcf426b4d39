"""Typing guards: a figure that is unlikely is asked about once; confirmed, it is kept as it was typed.

The question is a Refused with code "did_you_mean" (a slip of the thumb) or "stop" (the step should wait). Nothing is
written; the same figure with confirmed=True goes through, since what has happened is never refused.
"""

import datetime as dt

from django.utils.translation import gettext as _

from batches.models import Equipment, Mix
from batches.science.limits import DEFAULT, Limits
from coop import wording
from coop.command import Refused

def ask(sentence: str, confirmed: bool, code: str = "did_you_mean", **facts: object) -> None:
    """Refused once with the question; nothing when it was confirmed."""
    if not confirmed:
        raise Refused(sentence, code=code, **facts)


def mass(
    mass_mg: int,
    confirmed: bool,
    *,
    target_mg: int | None = None,
    scale: Equipment | None = None,
    limits: Limits = DEFAULT,
) -> None:
    """More than 20 % from the figure to reach, above the scale's capacity, or below 20 divisions of it."""
    shown = wording.mass_g(mass_mg)
    if target_mg and abs(mass_mg - target_mg) * 100 > limits.guess_off_pct * target_mg:
        ask(
            _("Did you mean %(mass)s? The figure to reach is %(target)s.")
            % {"mass": shown, "target": wording.mass_g(target_mg)},
            confirmed,
            mass_mg=mass_mg,
            target_mg=target_mg,
        )
    if scale is None:
        return
    if mass_mg > scale.capacity:
        ask(
            _("Did you mean %(mass)s? %(scale)s weighs up to %(most)s.")
            % {"mass": shown, "scale": scale, "most": wording.mass_g(scale.capacity)},
            confirmed,
            mass_mg=mass_mg,
        )
    if mass_mg < limits.guess_divisions * scale.resolution:
        ask(
            _("Did you mean %(mass)s? That is less than 20 steps of %(scale)s: take a finer scale.")
            % {"mass": shown, "scale": scale},
            confirmed,
            mass_mg=mass_mg,
        )


def net_of(net_mg: int | None, gross_mg: int | None, tare_mg: int | None) -> int:
    """The net mass from a tared scale, or from the weights after and before. Refused (code "net") for neither."""
    if net_mg is not None:
        return net_mg
    if gross_mg is None or tare_mg is None:
        raise Refused(_("Give the net mass, or the weight before and after."), code="net")
    if gross_mg <= tare_mg:
        raise Refused(_("The weight after is not above the weight before. Read both again."), code="net")
    return gross_mg - tare_mg


def jump(mix: Mix, solution_mc: int, at: dt.datetime, confirmed: bool, limits: Limits = DEFAULT) -> None:
    """A temperature that changed faster than 8 degrees a minute since the reading before is asked about."""
    before = mix.readings.filter(happened_at__lte=at).order_by("-happened_at", "-id").first()
    if before is None:
        return
    minutes = max((at - before.happened_at).total_seconds() / 60, 1 / 6)
    if abs(solution_mc - before.solution_mc) > limits.jump_mc_per_min * minutes:
        ask(
            _("Did you mean %(now)s? It was %(before)s at %(clock)s: read it again.")
            % {
                "now": wording.temp(solution_mc),
                "before": wording.temp(before.solution_mc),
                "clock": wording.clock(before.happened_at),
            },
            confirmed,
            solution_mc=solution_mc,
        )


def temperature(solution_mc: int, confirmed: bool) -> None:
    if not 0 <= solution_mc <= 110_000:
        ask(_("Did you mean %(temp)s?") % {"temp": wording.temp(solution_mc)}, confirmed, solution_mc=solution_mc)


def strips(masses: list[int], confirmed: bool, limits: Limits = DEFAULT) -> None:
    """Single strips weigh 5 to 60 g."""
    for n, one in enumerate(masses, 1):
        if not limits.strip_low_mg <= one <= limits.strip_high_mg:
            ask(
                _("Did you mean %(mass)s for strip %(n)s?") % {"mass": wording.mass_g(one), "n": n}, confirmed, strip=n
            )


