"""The share-out: strips there are, divided by the published rule, with a record that anybody can repeat."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _

from coop import wording
from coop.command import Refused, command
from coop.models import Deed, Person, the_club
from members.commands.rounds import must_be
from members.models import Ask, HandOver, Round, RoundKeeper, Share, ShareOut
from members.queries import records, supply
from members.science.shareout import Asker, Division, divide, go_on

State = Round.State


@command("members.share_out", gate=True)
def share_out(deed: Deed, *, round: Round, strips: int | None = None, one_dose_first: bool | None = None) -> ShareOut:
    """Divide the strips that are released, in date, not on hold and not promised; at most `strips` of them.

    May be run again until the first bag goes out; only the last run counts. Freezes its input, with a digest and every
    step. Refused: code "state", "no_asks", "short" (more strips named than there are), "handed" (a bag went out).
    """
    must_be(round, State.CLOSED, State.SHARED)
    if HandOver.objects.filter(share__round=round).exists():
        raise Refused(
            _("Bags of this round went out already. If somebody did not come, let their part go on."), code="handed"
        )
    floor = round.one_dose_first if one_dose_first is None else one_dose_first
    amount = _amount(deed, round, strips)
    frozen = _frozen(round, amount, floor)
    if not any(asker.ask for asker in records.askers(frozen)):
        raise Refused(_("Nobody has asked for anything."), code="no_asks")
    run = _write(deed, round, frozen, divide(records.askers(frozen), amount, floor))
    _write_shares(round, run, {})
    if round.one_dose_first != floor:
        round.one_dose_first = floor
    round.state, round.shared_at = State.SHARED, deed.happened_at
    round.save(update_fields=["state", "shared_at", "one_dose_first"])
    return run


@command("members.pass_no_show", gate=True)
def pass_no_show(deed: Deed, *, round: Round, people: Sequence[Person]) -> ShareOut:
    """These did not come: what they leave goes on by the same rule, from what each has; what they collected stays.

    Refused: code "state", "share" (somebody has nothing waiting).
    """
    must_be(round, State.SHARED)
    before = current_run(round)
    shares = {share.person_id: share for share in Share.objects.filter(round=round).with_handed()}
    for person in people:
        share = shares.get(person.pk)
        if share is None or share.state != Share.State.WAITING:
            raise Refused(_("%(name)s has nothing waiting in this round.") % {"name": person.name}, code="share")
    gone = [person.pk for person in people]
    frozen, left = _going_on(before, shares, gone)
    left = frozen["strips"] = min(left, _still_there(deed, round, shares, gone))
    askers = records.askers(frozen)
    given = {int(key): lines for key, lines in frozen["given"].items()}
    run = _write(deed, round, frozen, go_on(askers, given, left, frozen["out"]), before)
    _write_shares(round, run, shares, gone)
    return run


def current_run(round: Round) -> ShareOut:
    """The run of the division that counts. Refused (code "state") before there is one."""
    run = round.share_outs.order_by("-id").first()
    if run is None:
        raise Refused(_("“%(name)s” was not shared out yet.") % {"name": round.name}, code="state")
    return run


def _amount(deed: Deed, round: Round, strips: int | None) -> int:
    there = supply.on_offer(the_club().day_of(deed.happened_at), round)
    if strips is not None and strips > there:
        raise Refused(
            _("%(there)s can go out now, %(asked)s were named. Nothing was divided.")
            % {"there": wording.counted(there), "asked": wording.counted(strips)},
            code="short",
            field="strips",
            on_offer=there,
        )
    return there if strips is None else strips


def _frozen(round: Round, strips: int, floor: bool) -> dict[str, Any]:
    """All that goes into a division, as plain data."""
    dose = dict(round.instructions.doses.values_list("hive_kind_id", "strips"))
    asked: dict[int, dict[int, int]] = {}
    for person, kind, count in Ask.objects.filter(round=round).values_list("person_id", "hive_kind_id", "asked"):
        asked.setdefault(person, {})[kind] = count
    keepers = RoundKeeper.objects.filter(round=round, person_id__in=asked, person__left_at=None).order_by("person_id")
    return {
        "askers": [_asker(keeper, dose, asked[keeper.person_id]) for keeper in keepers],
        "strips": strips,
        "floor": floor,
        "given": None,
        "out": [],
    }


def _asker(keeper: RoundKeeper, dose: Mapping[int, int], asked: Mapping[int, int]) -> dict[str, Any]:
    kinds = [kind for kind in sorted(dose) if keeper.hives_of(kind)]
    return {
        "person": keeper.person_id,
        "drawn": keeper.drawn,
        "last_got": keeper.last_got,
        "last_asked": keeper.last_asked,
        "lines": [
            {"kind": kind, "strips": dose[kind], "hives": keeper.hives_of(kind), "ask": asked.get(kind, 0)}
            for kind in kinds
        ],
    }


def _going_on(before: ShareOut, shares: Mapping[int, Share], gone: Sequence[int]) -> tuple[dict[str, Any], int]:
    """The input of a division that goes on: who has what, who is out, and the strips that came free."""
    frozen = dict(before.frozen)
    out = sorted({*frozen["out"], *gone})
    left = int(before.strips_left)
    given = {}
    for asker in records.askers(frozen):
        had = list(before.result["given"][str(asker.key)])
        if asker.key in gone:
            had, freed = _kept_by(asker, had, int(shares[asker.key].handed))  # type: ignore[attr-defined]
            left += freed
        given[str(asker.key)] = had
    return {**frozen, "given": given, "out": out, "strips": left}, left


def _still_there(deed: Deed, round: Round, shares: Mapping[int, Share], gone: Sequence[int]) -> int:
    """Strips that can still go out and are not promised to those who stay: a hold may have come in between."""
    waiting = [one for one in shares.values() if one.state == Share.State.WAITING and one.person_id not in gone]
    promised = sum(supply.left_of(one) for one in waiting)
    return max(0, supply.on_offer(the_club().day_of(deed.happened_at), round) - promised)


def _kept_by(asker: Asker, had: list[int], handed: int) -> tuple[list[int], int]:
    """Whole doses that the strips already collected make, line by line; the rest of the strips came free."""
    total = sum(line.strips * doses for line, doses in zip(asker.lines, had, strict=True))
    rest, kept = handed, []
    for line, doses in zip(asker.lines, had, strict=True):
        whole = min(doses, rest // line.strips)
        kept.append(whole)
        rest -= whole * line.strips
    return kept, total - handed


def _write(
    deed: Deed, round: Round, frozen: dict[str, Any], division: Division, before: ShareOut | None = None
) -> ShareOut:
    return ShareOut.objects.create(
        round=round,
        frozen=frozen,
        digest=division.digest,
        result=records.result_of(division),
        strips=division.strips,
        strips_left=division.strips_left,
        doses=division.total,
        goes_on_from=before,
        deed=deed,
        made_at=deed.happened_at,
    )


def _write_shares(round: Round, run: ShareOut, known: Mapping[int, Share], gone: Sequence[int] = ()) -> None:
    """One share for each asker, as this run gives it."""
    if not known:
        Share.objects.filter(round=round).delete()
    for asker in records.askers(run.frozen):
        lines: list[int] = run.result["given"][str(asker.key)]
        kinds = [line["kind"] for line in _lines_of(run, asker.key)]
        strips = sum(line.strips * doses for line, doses in zip(asker.lines, lines, strict=True))
        share = known.get(asker.key)
        handed = int(getattr(share, "handed", 0))
        state = share.state if share else Share.State.WAITING
        if asker.key in gone:
            state = Share.State.NO_SHOW
        elif state != Share.State.NO_SHOW:
            state = _state(strips, handed)
        Share.objects.update_or_create(
            round=round,
            person_id=asker.key,
            defaults={
                "asked": asker.ask,
                "doses": sum(lines),
                "by_kind": {str(kind): doses for kind, doses in zip(kinds, lines, strict=True)},
                "strips": strips,
                "state": state,
            },
        )


def _lines_of(run: ShareOut, person: int) -> list[dict[str, int]]:
    found: list[dict[str, int]] = next(one["lines"] for one in run.frozen["askers"] if one["person"] == person)
    return found


def _state(strips: int, handed: int) -> str:
    if not strips:
        return Share.State.NONE
    return Share.State.COLLECTED if handed >= strips else Share.State.WAITING
