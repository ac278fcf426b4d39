"""Science's sentences, translated, with their figures in the words people read."""

from collections.abc import Callable

from django.utils.translation import gettext as _

from batches.science.words import Figure, Sentence
from coop import wording

_FORMATS: dict[str, Callable[[float], str]] = {
    "mg": lambda value: _grams(value),
    "mc": lambda value: wording.temp(round(value), 1),
    "ppb": lambda value: wording.fraction(round(value)),
    "percent": lambda value: wording.with_unit(value, "%", 2),
    "per_min_mc": lambda value: wording.with_unit(value / 1000, "°C/min", 1),
    "h": lambda value: wording.span(value * 3600),
    "min": lambda value: wording.span(value * 60),
    "s": lambda value: wording.span(value),
    "mm": lambda value: wording.with_unit(value, "mm", 0),
    "d": lambda value: wording.counted(round(value), "day"),
    "pieces": lambda value: wording.figure(value, 0),
    "times": lambda value: wording.figure(value, 0),
}


def _grams(value: float) -> str:
    """What was weighed as it was weighed; what was computed with two decimals for strips, one for pails."""
    if value == round(value, -2):
        return wording.mass_g(round(value))
    return wording.mass_g(round(value), 2 if abs(value) < 100_000 else 1)


def figure(found: Figure) -> str:
    """One figure with its unit."""
    write = _FORMATS.get(found.unit)
    return write(found.value) if write else wording.with_unit(found.value, found.unit, 1).strip()


def say(sentence: Sentence) -> str:
    """The sentence in the reader's language."""
    facts = {name: figure(fact) if isinstance(fact, Figure) else fact for name, fact in sentence.facts.items()}
    return _(sentence.text) % facts
