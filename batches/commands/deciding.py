"""What somebody has to decide: deviations, questions, and whether a soak leaves the bench."""

from django.utils.translation import gettext as _

from batches import team
from batches.models import Bench, Deviation, Release, Soak
from batches.queries.release import ReleaseTable, release_table
from coop.command import Refused, command
from coop.models import Deed
from inventory import ancestry, holds
from inventory.models import Item, Question


@command("batches.open_deviation")
def open_deviation(
    deed: Deed, *, bench: Bench, kind: str, text: str, reason: str = "", soak: Soak | None = None
) -> Deviation:
    """Something was not as planned, with the reason why it may pass. `kind`: a row of the release table, or "other".

    Where one of this kind is open without a reason (opened by a reading, say), it gets this reason instead of a twin.
    """
    waiting = Deviation.objects.filter(bench=bench, kind=kind, decided=None, reason="").filter(
        soak__in=[soak] if soak else []
    )
    known = (
        waiting.first() or Deviation.objects.filter(bench=bench, soak=None, kind=kind, decided=None, reason="").first()
    )
    if known is not None and reason:
        known.reason, known.reasoned = reason[:500], deed
        known.save(update_fields=["reason", "reasoned"])
        return known
    return Deviation.objects.create(
        bench=bench,
        soak=soak,
        kind=kind[:24],
        text=text[:300],
        reason=reason[:500],
        reasoned=deed if reason else None,
        opened=deed,
    )


@command("batches.decide_deviation")
def decide_deviation(deed: Deed, *, deviation: Deviation, is_accepted: bool, decision: str = "") -> Deviation:
    """A second person accepts the reason or does not.

    Refused: code "same_person" for whoever opened it or gave the reason, "decided" twice, "reason" where an
    acceptance has neither a reason nor words of its own.
    """
    deviation = (
        Deviation.objects.select_related("opened", "reasoned").select_for_update(of=("self",)).get(pk=deviation.pk)
    )
    involved = {deviation.opened.actor_id, deviation.reasoned.actor_id if deviation.reasoned else None}
    if deed.actor.pk in involved:
        raise Refused(_("You opened this deviation or gave its reason. A second person decides."), code="same_person")
    if deviation.decided_id is not None:
        raise Refused(_("This deviation was decided already."), code="decided")
    if is_accepted and not (deviation.reason or decision):
        raise Refused(_("Give the reason why this may pass."), code="reason")
    deviation.decided, deviation.is_accepted, deviation.decision = deed, is_accepted, decision[:300]
    deviation.save(update_fields=["decided", "is_accepted", "decision"])
    return deviation


@command("batches.release_soak", gate=True)
def release_soak(deed: Deed, *, soak: Soak, note: str = "") -> Release:
    """Let a soak and its bags go out, by somebody who was not at the bench; the table is kept as it stood.

    Behind the gate. Refused: code "not_releaser", "team" (the releaser was at the bench), "state" (not lifted, bench
    not closed, decided already), "held", "question" (an open question on it or what is in it), "never" (a row that
    never passes), "reason" (a row that needs an accepted deviation), "undecided" (a deviation waits or was declined).
    """
    soak = Soak.objects.for_list().get(pk=soak.pk)
    if not deed.actor.is_releaser:
        raise Refused(_("Only somebody with the releaser's mark decides this."), code="not_releaser")
    if deed.actor.pk in team.team_of(soak.bench):
        raise Refused(_("You were at this bench. Somebody who was not there releases it."), code="team")
    _refuse_wrong_state(soak)
    holds.refuse_if_held(soak.item, *[bag.item for bag in soak.bags.select_related("item") if not bag.is_split_off])
    _refuse_open_questions(soak)
    table = release_table(soak, releaser=deed.actor)
    _refuse_rows(table)
    _refuse_undecided(soak)
    return _decide(deed, soak, Release.Verdict.RELEASED, table, note)


def _refuse_wrong_state(soak: Soak) -> None:
    if soak.state in Soak.DECIDED:
        raise Refused(
            _("This soak was decided already: %(state)s.") % {"state": soak.get_state_display()}, code="state"
        )
    if soak.state not in (Soak.State.LIFTED, Soak.State.REWORK) or soak.bench.state != Bench.State.CLOSED:
        raise Refused(_("Close the bench first: the soak must be lifted, bagged and balanced."), code="state")


def open_questions(soak: Soak) -> list[Question]:
    """Unsettled questions on the soak, on its bags, and on the mixes of what was poured."""
    items = {
        soak.item_id,
        *soak.bags.values_list("item_id", flat=True),
        *soak.samples.values_list("item_id", flat=True),
    }
    items |= set(Item.objects.filter(pk__in=ancestry.up([soak.item_id]), kind="mix").values_list("pk", flat=True))
    return list(Question.objects.filter(item__in=items, settled_by=None).select_related("item"))


def _refuse_open_questions(soak: Soak) -> None:
    questions = open_questions(soak)
    if questions:
        raise Refused(
            _("A question is open: %(text)s Settle it first.") % {"text": questions[0].text},
            code="question",
            questions=[question.pk for question in questions],
        )


def _refuse_rows(table: ReleaseTable) -> None:
    if table.never:
        raise Refused(
            _("This never passes: %(rows)s. Send it to rework, or reject it.") % {"rows": table.words(table.never)},
            code="never",
            rows=[row.key for row in table.never],
        )
    missing = [row for row in table.reasons if not row.is_accepted]
    if missing:
        raise Refused(
            _("These need a reason that a second person accepted: %(rows)s.") % {"rows": table.words(missing)},
            code="reason",
            rows=[row.key for row in missing],
        )


def _refuse_undecided(soak: Soak) -> None:
    """Every deviation is decided; a declined one is answered by a later one of its kind that was accepted."""
    answered: set[str] = set()
    for deviation in Deviation.objects.about(soak).order_by("-id"):
        if deviation.is_accepted:
            answered.add(deviation.kind)
        elif deviation.decided_id is None or deviation.kind not in answered:
            raise Refused(
                _("A deviation was not accepted: %(text)s") % {"text": deviation.text}
                if deviation.decided_id
                else _("A deviation waits for its decision: %(text)s") % {"text": deviation.text},
                code="undecided",
                deviation=deviation.pk,
            )


def _decide(deed: Deed, soak: Soak, verdict: str, table: ReleaseTable | None, note: str) -> Release:
    release = Release.objects.create(
        soak=soak,
        verdict=verdict,
        person=deed.actor,
        table=table.as_json() if table else {},
        note=note[:500],
        deed=deed,
        decided_at=deed.happened_at,
    )
    Soak.objects.filter(pk=soak.pk).update(state=verdict)
    return release


@command("batches.reject_soak", gate=True)
def reject_soak(deed: Deed, *, soak: Soak, note: str) -> Release:
    """Nothing of this soak goes out, ever. The safe direction: a released soak may still be rejected.

    Refused (code "state") while it soaks or when it was rejected before; (code "why") without a word why.
    """
    soak = Soak.objects.for_list().get(pk=soak.pk)
    if soak.state in (Soak.State.REJECTED, Soak.State.ABANDONED):
        raise Refused(_("This soak was rejected or abandoned already."), code="state")
    if not note.strip():
        raise Refused(_("Say why it is rejected."), code="why")
    return _decide(deed, soak, Release.Verdict.REJECTED, release_table(soak, releaser=deed.actor), note)


@command("batches.send_to_rework", gate=True)
def send_to_rework(deed: Deed, *, soak: Soak, note: str) -> Release:
    """Back to the bench: heat again, stir, soak on, correct the strength, recount, split off a bag. Then decide anew.

    Refused (code "state") unless it waits for release; (code "why") without a word what to do.
    """
    soak = Soak.objects.for_list().get(pk=soak.pk)
    _refuse_wrong_state(soak)
    if not note.strip():
        raise Refused(_("Say what is to be done."), code="why")
    return _decide(deed, soak, Release.Verdict.REWORK, release_table(soak, releaser=deed.actor), note)
