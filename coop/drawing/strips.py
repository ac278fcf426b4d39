"""The sample: every marked strip as a dot in the accepted band."""

from collections.abc import Sequence

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from coop import wording
from coop.drawing.ink import band, dot, line, svg, text, triangle
from coop.drawing.picture import HALF_W, Picture, two_sizes
from coop.drawing.scale import Scale

TOP, STEP, FOOT = 28.0, 11.0, 58.0


def strip_sample(
    values_g: Sequence[float],
    *,
    target_g: float,
    accepted: float = 0.10,
    warned: float = 0.20,
    title: str = "",
    lead: str = "",
    axis: str = "",
) -> Picture:
    """Dots, one under the other in the order weighed; the mean is the triangle on the axis. Limits are parts of the
    target, such as 0.10 for ten per cent."""
    axis = axis or _("solution taken up, g a strip")
    mean = sum(values_g) / len(values_g) if values_g else None

    def draw(width: float) -> SafeString:
        return _sample(width, values_g, target_g, accepted, warned, axis, mean)

    count = sum(abs(value - target_g) <= accepted * target_g for value in values_g)
    standard = _("Mean %(mean)s, %(inside)s of %(all)s inside the accepted band.") % {
        "mean": wording.with_unit(mean, "g", 2),
        "inside": count,
        "all": len(values_g),
    }
    return Picture(
        title or _("The marked strips, uptake"),
        **two_sizes(draw, HALF_W),
        lead=lead or standard,
        heads=[_("Strip"), _("Uptake"), _("From target")],
        rows=[
            [str(number), wording.with_unit(value, "g", 1), wording.percent(value - target_g, target_g, sign=True)]
            for number, value in enumerate(values_g, start=1)
        ],
    )


def _sample(
    width: float,
    values_g: Sequence[float],
    target_g: float,
    accepted: float,
    warned: float,
    axis: str,
    mean: float | None,
) -> SafeString:
    foot = TOP + max(len(values_g), 8) * STEP + 8
    reach = max([warned * 1.15, *(abs(value / target_g - 1) * 1.05 for value in values_g)])
    x = Scale(target_g * (1 - reach), target_g * (1 + reach), 6, width - 6)
    edges = [x(target_g * (1 + sign * accepted)) for sign in (-1, 1)]
    outer = [x(target_g * (1 + sign * warned)) for sign in (-1, 1)]
    parts = [
        band(edges[0], edges[1], TOP, foot),
        *(line([(edge, TOP), (edge, foot)], "pine", 2) for edge in edges),
        *(line([(edge, TOP), (edge, foot)], "ochre", 1.5, "3 3") for edge in outer),
        line([(x(target_g), TOP), (x(target_g), foot)], "soft", 1.5),
        text(x(target_g), 18, _("target %(mass)s") % {"mass": wording.figure(round(target_g, 2))}, anchor="middle"),
        line([(0, foot), (width, foot)], "ink", 1),
    ]
    parts += _limit_words(edges, outer, foot, accepted, warned)
    for place, value in enumerate(values_g):
        inside = abs(value - target_g) <= accepted * target_g
        at = (x(value), TOP + 9 + place * STEP)
        parts.append(dot(*at, "pine", 4.5) if inside else triangle(*at, "ochre", 6))
    parts += _grams_axis(x, foot, width, axis)
    if mean is not None:
        parts.append(triangle(x(mean), foot - 5, "ink", 5, down=True))
    desc = _("%(count)s strips between %(low)s and %(high)s; the target is %(target)s.") % {
        "count": len(values_g),
        "low": wording.with_unit(min(values_g, default=None), "g", 1),
        "high": wording.with_unit(max(values_g, default=None), "g", 1),
        "target": wording.with_unit(round(target_g, 2), "g"),
    }
    return svg(width, foot + FOOT, parts, title=_("Sample of strip masses"), desc=desc)


def _limit_words(
    edges: Sequence[float], outer: Sequence[float], foot: float, accepted: float, warned: float
) -> list[SafeString]:
    """The limits named beside their lines, where the band leaves room for them."""
    near, far = (wording.with_unit(part * 100, "%", sign=False) for part in (accepted, warned))
    if edges[0] - outer[0] < 62:
        return [
            text((outer[0] + edges[0]) / 2, foot - 6, f"{wording.MINUS}{near}", "soft", "middle", halo=True),
            text((outer[1] + edges[1]) / 2, foot - 6, f"+{near}", "soft", "middle", halo=True),
        ]
    return [
        text(edges[0] - 6, TOP + 18, f"{wording.MINUS}{near}", "soft", "end"),
        text(edges[1] + 6, TOP + 18, f"+{near}", "soft"),
        text(outer[0] + 6, foot - 6, f"{wording.MINUS}{far}", "soft"),
        text(outer[1] - 6, foot - 6, f"+{far}", "soft", "end"),
    ]


def _grams_axis(x: Scale, foot: float, width: float, axis: str) -> list[SafeString]:
    parts = []
    for tick in x.ticks(6 if width > 400 else 4):
        parts.append(line([(x(tick), foot), (x(tick), foot + 5)], "ink", 1))
        parts.append(
            text(min(max(x(tick), 10), width - 10), foot + 24, wording.figure(round(tick, 3)), "soft", "middle")
        )
    parts.append(text(width / 2, foot + 48, axis, "soft", "middle"))
    return parts
