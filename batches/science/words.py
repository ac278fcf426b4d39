"""Sentences with figures in them, before anybody formats or translates them.

Science knows no language catalogue: it gives the English text with named places and the figures that belong there. A
page translates the text and formats each figure by its unit; `plain` is the same in English for logs and tests.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, NamedTuple


def gettext_noop(text: str) -> str:
    """Marks a text for translation and returns it as it is."""
    return text


class Figure(NamedTuple):
    """A number and its unit: mg, mc (milli-degrees C), ppb, percent, h, min, s, mm, d, pieces, times, per_min_mc."""

    value: float
    unit: str

    def plain(self) -> str:
        value = float(self.value)
        if self.unit == "mg":
            return f"{value / 1000:.1f} g"
        if self.unit == "mc":
            return f"{value / 1000:.1f} degC"
        if self.unit == "ppb":
            return f"{value / 1e9:.4f}"
        if self.unit == "percent":
            return f"{value:.2f} %"
        if self.unit in ("pieces", "times"):
            return f"{value:.0f}"
        return f"{value:.1f} {self.unit}" if self.unit else f"{value:.2f}"


@dataclass(frozen=True)
class Sentence:
    """English text with %(name)s places, and what stands in them: a Figure or a name."""

    text: str
    facts: Mapping[str, Figure | str] = field(default_factory=dict)

    def plain(self) -> str:
        return self.text % {key: f.plain() if isinstance(f, Figure) else f for key, f in self.facts.items()}

    def as_dict(self) -> dict[str, Any]:
        """For JSON: {"text", "facts": {name: [value, unit] or text}}."""
        facts = {key: list(f) if isinstance(f, Figure) else f for key, f in self.facts.items()}
        return {"text": self.text, "facts": facts}


def sentence(text: str, **facts: Figure | str) -> Sentence:
    return Sentence(text, facts)


def mg(value: int | float | Fraction) -> Figure:
    return Figure(float(value), "mg")


def mc(value: int | float | Fraction) -> Figure:
    return Figure(float(value), "mc")


def percent(value: int | float | Fraction) -> Figure:
    return Figure(float(value), "percent")
