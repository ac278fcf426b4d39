"""A round from plan to close: hives frozen, numbers drawn, asks taken in."""

import datetime as dt
import secrets
from collections.abc import Mapping

from django.db.models import Sum
from django.utils.translation import gettext as _

from batches.models import Instructions
from coop import wording
from coop.command import Refused, command
from coop.models import Deed, HiveKind, Person, the_club
from members.models import Ask, Hive, Round, RoundKeeper, Share

State = Round.State


@command("members.plan_round")
def plan_round(
    deed: Deed,
    *,
    name: str,
    instructions: Instructions,
    closes_at: dt.datetime,
    opens_at: dt.datetime | None = None,
    one_dose_first: bool | None = None,
) -> Round:
    """A round that nobody can ask in yet. `one_dose_first` is the club's own setting unless said.

    Refused: code "name" (empty), "span" (it closes before it opens).
    """
    if not name.strip():
        raise Refused(_("A round needs a name, such as its season."), code="name", field="name")
    opens_at = opens_at or deed.happened_at
    if closes_at <= opens_at:
        raise Refused(_("A round closes after it opens."), code="span", field="closes_at")
    floor = the_club().one_dose_first if one_dose_first is None else one_dose_first
    return Round.objects.create(
        name=name.strip(),
        instructions=instructions,
        opens_at=opens_at,
        closes_at=closes_at,
        one_dose_first=floor,
        deed=deed,
    )


@command("members.open_round", gate=True)
def open_round(deed: Deed, *, round: Round, drawn: Mapping[int, int] | None = None, drawn_how: str = "") -> Round:
    """Open for asks: hive counts freeze as they stand on this local day, last fills are read, numbers drawn.

    The server draws with a source nobody can guess. A club that draws from a hat at a meeting sends `drawn` (person id
    to number, for every keeper) and says in `drawn_how` who saw it. Refused: code "state", "nobody" (no hives at all),
    "drawn" (somebody missing, or a number twice).
    """
    must_be(round, State.DRAFT)
    day = the_club().day_of(deed.happened_at)
    hives = _standing_hives(day)
    if not hives:
        raise Refused(_("No member has entered a hive yet, so there is nobody to share with."), code="nobody")
    numbers = _from_the_hat(drawn, set(hives)) if drawn else _draw(sorted(hives))
    last = _last_fills()
    RoundKeeper.objects.bulk_create(
        [
            RoundKeeper(
                round=round,
                person_id=person,
                hives=sum(kinds.values()),
                hives_by_kind={str(kind): count for kind, count in kinds.items()},
                last_got=last.get(person, (0, 0))[0],
                last_asked=last.get(person, (0, 0))[1],
                drawn=numbers[person],
            )
            for person, kinds in hives.items()
        ]
    )
    round.state, round.frozen_on, round.opened_at = State.OPEN, day, deed.happened_at
    round.drawn_how = (drawn_how.strip() or _("at a meeting"))[:120] if drawn else _("by the server")
    round.save(update_fields=["state", "frozen_on", "opened_at", "drawn_how"])
    return round


@command("members.ask", gate=True)
def ask(deed: Deed, *, round: Round, doses: Mapping[int, int], person: Person | None = None) -> list[Ask]:
    """Hive doses by kind of hive (its id), of the actor or of `person`; asking again replaces, 0 withdraws.

    What is above the frozen hives is kept as said and counts up to them. Refused: code "state" (not open, or past its
    end), "keeper" (no hives when the round opened), "kind" (the instructions have no dose for it, or none is kept).
    """
    person = person or deed.actor
    must_be(round, State.OPEN)
    if deed.happened_at > round.closes_at:
        raise Refused(
            _("Asks were taken until %(when)s. Talk to a coordinator.") % {"when": wording.moment(round.closes_at)},
            code="state",
        )
    keeper = RoundKeeper.objects.filter(round=round, person=person).first()
    if keeper is None:
        raise Refused(
            _("No hives of %(name)s were on the list when the round opened.") % {"name": person.name}, code="keeper"
        )
    for kind_id in doses:
        _check_kind(round, keeper, int(kind_id))
    kept = []
    for kind_id, count in sorted((int(kind), int(count)) for kind, count in doses.items()):
        if count <= 0:
            Ask.objects.filter(round=round, person=person, hive_kind_id=kind_id).delete()
            continue
        row, _new = Ask.objects.update_or_create(
            round=round,
            person=person,
            hive_kind_id=kind_id,
            defaults={"asked": count, "doses": min(count, keeper.hives_of(kind_id)), "deed": deed},
        )
        kept.append(row)
    return kept


@command("members.close_round", gate=True)
def close_round(deed: Deed, *, round: Round) -> Round:
    """No more asks. Refused (code "state") unless it is open."""
    must_be(round, State.OPEN)
    round.state, round.closed_at = State.CLOSED, deed.happened_at
    round.save(update_fields=["state", "closed_at"])
    return round


@command("members.reopen_round", gate=True)
def reopen_round(deed: Deed, *, round: Round, closes_at: dt.datetime) -> Round:
    """Take asks again until another moment; hives stay as they were frozen. Refused: code "state", "span"."""
    must_be(round, State.CLOSED, State.OPEN)
    if closes_at <= deed.happened_at:
        raise Refused(_("That moment is past."), code="span", field="closes_at")
    round.state, round.closes_at, round.closed_at = State.OPEN, closes_at, None
    round.save(update_fields=["state", "closes_at", "closed_at"])
    return round


@command("members.end_round", gate=True)
def end_round(deed: Deed, *, round: Round) -> Round:
    """Over: what was not collected is no longer promised. Refused (code "state") unless it was shared out."""
    must_be(round, State.SHARED)
    Share.objects.filter(round=round, state=Share.State.WAITING).update(state=Share.State.NO_SHOW)
    round.state = State.ENDED
    round.save(update_fields=["state"])
    return round


def must_be(round: Round, *states: str) -> None:
    """Read again behind the gate, since a rival may have gone on. Refused (code "state") in any other state."""
    round.refresh_from_db()
    if round.state not in states:
        raise Refused(
            _("“%(name)s” is %(state)s.") % {"name": round.name, "state": round.get_state_display()}, code="state"
        )


def _standing_hives(day: dt.date) -> dict[int, dict[int, int]]:
    """Person id to kind id to hives, of people who are in the club."""
    found: dict[int, dict[int, int]] = {}
    rows = Hive.objects.standing(day).filter(apiary__keeper__left_at=None).order_by("id")
    for person, kind in rows.values_list("apiary__keeper_id", "kind_id"):
        kinds = found.setdefault(person, {})
        kinds[kind] = kinds.get(kind, 0) + 1
    return found


def _draw(people: list[int]) -> dict[int, int]:
    numbers = list(range(1, len(people) + 1))
    secrets.SystemRandom().shuffle(numbers)
    return dict(zip(people, numbers, strict=True))


def _from_the_hat(drawn: Mapping[int, int], people: set[int]) -> dict[int, int]:
    numbers = {int(person): int(number) for person, number in drawn.items()}
    missing = people - set(numbers)
    if missing or len(set(numbers.values())) < len(numbers) or min(numbers.values()) < 1:
        names = Person.objects.filter(pk__in=missing).values_list("name", flat=True)
        raise Refused(
            _("Every keeper needs a number of their own, from 1. Missing: %(names)s.")
            % {"names": ", ".join(names) or _("none, but one is there twice")},
            code="drawn",
        )
    return numbers


def _last_fills() -> dict[int, tuple[int, int]]:
    """Person id to doses got and asked in the last round shared out; who did not come fell short of nothing."""
    last = Round.objects.shared().first()
    if last is None:
        return {}
    rows = Share.objects.filter(round=last).exclude(state=Share.State.NO_SHOW).order_by()
    return {
        row["person"]: (row["got"], row["wanted"])
        for row in rows.values("person").annotate(got=Sum("doses"), wanted=Sum("asked"))
    }


def _check_kind(round: Round, keeper: RoundKeeper, kind_id: int) -> None:
    kind = HiveKind.objects.filter(pk=kind_id).first()
    if kind is None or not round.instructions.doses.filter(hive_kind=kind).exists():
        raise Refused(
            _("The instructions of this round have no dose for this kind of hive: %(kind)s.") % {"kind": kind or "?"},
            code="kind",
        )
    if not keeper.hives_of(kind_id):
        raise Refused(
            _("No hive of this kind was on the list when the round opened: %(kind)s.") % {"kind": kind}, code="kind"
        )
