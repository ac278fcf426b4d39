"""The record of a division: from stored input to askers and back, and the check that it gives the same again."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from members.models import ShareOut
from members.science.shareout import Asker, Division, Line, Passed, Step, divide, go_on


def askers(frozen: Mapping[str, Any]) -> list[Asker]:
    """The askers of a stored input, keyed by person id."""
    return [
        Asker(
            key=one["person"],
            lines=tuple(Line(line["strips"], line["hives"], line["ask"]) for line in one["lines"]),
            drawn=one["drawn"],
            last_got=one["last_got"],
            last_asked=one["last_asked"],
        )
        for one in frozen["askers"]
    ]


def result_of(division: Division) -> dict[str, Any]:
    """What came out, as plain data: doses by person and line, every step, whoever was passed over."""
    return {
        "given": {str(key): list(lines) for key, lines in division.given.items()},
        "steps": [{**asdict(step), "level": list(step.level)} for step in division.steps],
        "passed": [asdict(row) for row in division.passed],
        "strips_left": division.strips_left,
    }


def division_of(run: ShareOut) -> Division:
    """The stored outcome as science has it."""
    result = run.result
    return Division(
        given={int(key): tuple(lines) for key, lines in result["given"].items()},
        steps=tuple(Step(**{**step, "level": tuple(step["level"])}) for step in result["steps"]),
        passed=tuple(Passed(**row) for row in result["passed"]),
        strips=run.strips,
        strips_left=result["strips_left"],
        digest=run.digest,
    )


def again(run: ShareOut) -> Division:
    """The division run once more from the stored input alone."""
    frozen = run.frozen
    people = askers(frozen)
    if frozen["given"] is None:
        return divide(people, frozen["strips"], frozen["floor"])
    given = {int(key): tuple(lines) for key, lines in frozen["given"].items()}
    return go_on(people, given, frozen["strips"], frozen["out"])


def is_repeatable(run: ShareOut) -> bool:
    """Whether the stored input gives the stored digest, steps and doses again."""
    found = again(run)
    return found.digest == run.digest and result_of(found) == run.result
