"""Too few strips for what was asked: whole hive doses by one published rule, with a record that anybody can repeat.

The rule is weighted constrained equal awards in whole units by capped Webster: the next dose goes to the largest
hives / (2 s + 1) among those below their ask, s being the doses they have. Those who stand level are settled by who
fell short last time (the lower got / asked), then by the lowest drawn number. With a floor every asker has one dose
first, by the same order. Hives are those frozen when the round opened, asks are capped by them.

Equal doses: nobody above the ask, all used unless all asks are met, more strips never take from anybody, equals differ
by at most one, asking for more than one needs never helps. Doses of different size: a dose that does not fit is passed
over; what always holds is that nobody gets above the ask and that no unmet dose would still fit.
"""

import hashlib
import json
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from fractions import Fraction


@dataclass(frozen=True)
class Line:
    """Hives of one kind: strips for one of them, how many were frozen, and how many doses are asked for."""

    strips: int
    hives: int
    ask: int

    @property
    def capped(self) -> int:
        return max(0, min(self.ask, self.hives))


@dataclass(frozen=True)
class Asker:
    """One who asks: `key` is the caller's own, `drawn` the number drawn for this round, no two alike.

    `last_got` of `last_asked` doses in the round before; who did not ask then fell short of nothing.
    """

    key: int
    lines: tuple[Line, ...]
    drawn: int
    last_got: int = 0
    last_asked: int = 0

    @property
    def hives(self) -> int:
        return sum(line.hives for line in self.lines)

    @property
    def ask(self) -> int:
        return sum(line.capped for line in self.lines)

    @property
    def last_fill(self) -> Fraction:
        return Fraction(min(self.last_got, self.last_asked), self.last_asked) if self.last_asked > 0 else Fraction(1)


@dataclass(frozen=True)
class Step:
    """One dose given: the n-th, to whom, for which line, on which quotient hives / divisor.

    `level` are all who stood level (the one who got it included) and `settled` says why it went this way: "quotient",
    "short last time" or "drawn number". `phase` is "floor" or "rule"; `strips_left` is what was there afterwards.
    """

    n: int
    key: int
    line: int
    strips: int
    hives: int
    divisor: int
    phase: str
    level: tuple[int, ...]
    settled: str
    strips_left: int

    @property
    def quotient(self) -> Fraction:
        return Fraction(self.hives, self.divisor)


@dataclass(frozen=True)
class Passed:
    """Whose turn it was after so many steps, when none of their doses fitted what was left, though a later one did."""

    after: int
    key: int
    strips_left: int


@dataclass(frozen=True)
class Division:
    """The outcome. `given` is key -> doses by line; `digest` is that of the frozen input it can be repeated from."""

    given: Mapping[int, tuple[int, ...]]
    steps: tuple[Step, ...]
    passed: tuple[Passed, ...]
    strips: int
    strips_left: int
    digest: str

    def doses(self, key: int) -> int:
        return sum(self.given[key])

    @property
    def total(self) -> int:
        return sum(sum(lines) for lines in self.given.values())


@dataclass(frozen=True)
class Why:
    """Why one asker has what they have.

    `next_quotient` is hives and divisor of the dose they did not get (None when the ask is met), `last_given` the
    quotient of the last dose of all by the rule, `fell_short_by` the difference (0: level, and settled against them),
    `last_step` the number of their own last dose, `doses_until_next` how many more in all would bring their next one.
    """

    key: int
    asked: int
    got: int
    next_quotient: tuple[int, int] | None
    last_given: Fraction | None
    fell_short_by: Fraction | None
    last_step: int | None
    doses_until_next: int | None
    is_passed_over: bool


class _Book:
    """Doses given so far while a division runs."""

    def __init__(self, askers: Sequence[Asker], strips: int, given: Mapping[int, Sequence[int]] | None) -> None:
        self.askers = {asker.key: asker for asker in askers}
        self.left = strips
        self.given = {a.key: list((given or {}).get(a.key, [0] * len(a.lines))) for a in askers}
        self.steps: list[Step] = []
        self.passed: list[Passed] = []

    def doses(self, key: int) -> int:
        return sum(self.given[key])

    def open_lines(self, key: int) -> list[int]:
        return [n for n, line in enumerate(self.askers[key].lines) if self.given[key][n] < line.capped]

    def quotient(self, key: int) -> Fraction:
        return Fraction(self.askers[key].hives, 2 * self.doses(key) + 1)

    def fitting_line(self, key: int) -> int | None:
        """Of the lines below their ask whose dose fits: the largest quotient of its own, then the larger dose."""
        lines = self.askers[key].lines
        fits = [n for n in self.open_lines(key) if lines[n].strips <= self.left]
        if not fits:
            return None
        own = {n: Fraction(lines[n].hives, 2 * self.given[key][n] + 1) for n in fits}
        return min(fits, key=lambda n: (-own[n], -lines[n].strips, n))

    def give(self, key: int, line: int, phase: str, level: tuple[int, ...], settled: str) -> None:
        asker, divisor = self.askers[key], 2 * self.doses(key) + 1
        strips = asker.lines[line].strips
        self.left -= strips
        self.given[key][line] += 1
        n = len(self.steps) + 1
        self.steps.append(Step(n, key, line, strips, asker.hives, divisor, phase, level, settled, self.left))


def divide(askers: Sequence[Asker], strips: int, floor: bool = False) -> Division:
    """Divide so many strips. Refuses (ValueError) doubled keys or drawn numbers, and amounts below zero."""
    _check(askers, strips)
    book = _Book(askers, strips, None)
    if floor:
        _run(book, "floor", {a.key for a in askers if a.ask > 0}, at_most=1)
    _run(book, "rule", {a.key for a in askers if a.ask > 0})
    return _division(book, askers, strips, digest(askers, strips, floor))


def go_on(
    askers: Sequence[Asker], given: Mapping[int, Sequence[int]], strips: int, out: Collection[int] = ()
) -> Division:
    """Divide strips that came back, by the same rule and from what each has. `out` get no more (they did not come).

    `given` of the result is the whole, what each had before included; its steps are the new ones only.
    """
    _check(askers, strips)
    book = _Book(askers, strips, given)
    _run(book, "rule", {a.key for a in askers if a.key not in out})
    return _division(book, askers, strips, digest(askers, strips, False, given, out))


def why(askers: Sequence[Asker], division: Division) -> dict[int, Why]:
    """The reason for each asker's number, from the division and its steps."""
    last_given = division.steps[-1].quotient if division.steps else None
    own_last = {step.key: step.n for step in division.steps}
    until = _doses_until_next(askers, division)
    passed = {row.key for row in division.passed}
    found: dict[int, Why] = {}
    for asker in askers:
        got = division.doses(asker.key)
        following = (asker.hives, 2 * got + 1) if got < asker.ask else None
        short = None
        if following and last_given is not None:
            short = max(Fraction(0), last_given - Fraction(*following))
        found[asker.key] = Why(
            key=asker.key,
            asked=asker.ask,
            got=got,
            next_quotient=following,
            last_given=last_given,
            fell_short_by=short,
            last_step=own_last.get(asker.key),
            doses_until_next=until.get(asker.key),
            is_passed_over=asker.key in passed,
        )
    return found


def digest(
    askers: Iterable[Asker],
    strips: int,
    floor: bool,
    given: Mapping[int, Sequence[int]] | None = None,
    out: Collection[int] = (),
) -> str:
    """SHA-256 of the frozen input as canonical JSON; the order of the askers does not matter."""
    frozen = {
        "askers": [asdict(asker) for asker in sorted(askers, key=lambda asker: asker.key)],
        "strips": strips,
        "floor": floor,
        "given": sorted([key, list(lines)] for key, lines in (given or {}).items()),
        "out": sorted(out),
    }
    text = json.dumps(frozen, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def _check(askers: Sequence[Asker], strips: int) -> None:
    if strips < 0:
        raise ValueError("strips below zero")
    for name, values in (("key", [a.key for a in askers]), ("drawn number", [a.drawn for a in askers])):
        if len(set(values)) < len(values):
            raise ValueError(f"the same {name} twice")
    if any(line.strips <= 0 or line.hives < 0 for asker in askers for line in asker.lines):
        raise ValueError("a hive dose has at least one strip, and hives are not below zero")


def _run(book: _Book, phase: str, keys: set[int], at_most: int | None = None) -> None:
    """One dose at a time until nothing is left that is asked for and fits. What does not fit now never will."""
    waiting = set(keys)
    while True:
        waiting = {k for k in waiting if book.open_lines(k) and (at_most is None or book.doses(k) < at_most)}
        if not waiting:
            return
        level, settled = _next(book, waiting)
        winner = level[0]
        line = book.fitting_line(winner)
        if line is None:
            waiting.discard(winner)
            if phase == "rule":
                book.passed.append(Passed(len(book.steps), winner, book.left))
            continue
        book.give(winner, line, phase, tuple(sorted(level)), settled)


def _next(book: _Book, keys: set[int]) -> tuple[list[int], str]:
    """All who stand level on the largest quotient, the one whose turn it is first, and what settled it."""
    quotients = {key: book.quotient(key) for key in keys}
    largest = max(quotients.values())
    level = [key for key in keys if quotients[key] == largest]
    level.sort(key=lambda key: (book.askers[key].last_fill, book.askers[key].drawn))
    if len(level) == 1:
        return level, "quotient"
    first, second = (book.askers[key].last_fill for key in level[:2])
    return level, "short last time" if first < second else "drawn number"


def _division(book: _Book, askers: Sequence[Asker], strips: int, mark: str) -> Division:
    given = {asker.key: tuple(book.given[asker.key]) for asker in askers}
    passed = tuple(row for row in book.passed if row.after < len(book.steps))
    return Division(given, tuple(book.steps), passed, strips, book.left, mark)


def _doses_until_next(askers: Sequence[Asker], division: Division) -> dict[int, int]:
    """Key -> how many doses more, its own included, until it gets one, if the rule went on with strips for all."""
    enough = sum(line.strips * line.capped for asker in askers for line in asker.lines)
    found: dict[int, int] = {}
    for step in go_on(askers, division.given, enough).steps:
        found.setdefault(step.key, step.n)
    return found
