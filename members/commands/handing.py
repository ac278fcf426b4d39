"""Strips changing hands. A hand-over is a request and can be refused; what came back is a fact.

All go through the gate, so that no bag slips out beside a hold.
"""

import datetime as dt

from django.utils.translation import gettext as _

from batches import parts
from batches.commands.splitting import lies_at
from batches.models import Bag, Soak
from coop import wording
from coop.command import Refused, command
from coop.models import Deed, LegalBasis, Person, the_club
from inventory import ancestry, holds, ledger
from inventory.ledger import Move
from inventory.models import Item, Movement, Place, Question
from members.models import HandOver, Return, Round, Share
from members.queries import supply

Cause = Movement.Cause


@command("members.hand_over", gate=True)
def hand_over(
    deed: Deed,
    *,
    bag: Bag,
    receiver: Person,
    cautions: bool,
    strips: int | None = None,
    collected_by: Person | None = None,
    round: Round | None = None,
    code: str | None = None,
) -> HandOver:
    """A bag, or `strips` of it, from the shelf to a member. A part becomes a bag of its own, under `code` if one is
    printed already. It counts towards the member's share of `round`, else of the oldest round with something waiting.

    Refused: code "held", "not_released", "opened" (came back opened once), "expired", "no_basis" (no valid
    legal basis for supply on the day), "cautions" (not acknowledged), "above_share", "promised" (kept for others),
    "short", "not_here", "left".
    """
    bag, day = _as_it_is(bag), the_club().day_of(deed.recorded_at)
    basis = _may_supply(deed, bag, receiver, cautions)
    place = lies_at(bag)
    there = ledger.quantity_at(bag.item, place)
    asked = there if strips is None else strips
    _refuse_short(bag.item, asked, there)
    share = _share_for(receiver, round)
    _check_promises(share, receiver, asked, day)
    given = bag if asked == there else parts.split(deed, bag, asked, place, code)
    movement = _move(deed, given.item, place, Place.objects.of_member(receiver), asked, Cause.HAND_OVER)
    done = HandOver.objects.create(
        kind=HandOver.Kind.HAND_OVER,
        item=given.item,
        giver=deed.actor,
        receiver=receiver,
        collected_by=None if collected_by == receiver else collected_by,
        strips=asked,
        cautions_acknowledged=cautions,
        legal_basis=basis,
        share=share,
        movement=movement,
        deed=deed,
        happened_at=deed.happened_at,
    )
    if share is not None and _handed(share) >= share.strips:
        Share.objects.filter(pk=share.pk).update(state=Share.State.COLLECTED)
    return done


@command("members.pass_on", gate=True)
def pass_on(
    deed: Deed,
    *,
    bag: Bag,
    receiver: Person,
    cautions: bool = False,
    strips: int | None = None,
    giver: Person | None = None,
    is_done: bool = False,
    code: str | None = None,
) -> HandOver:
    """A bag, or a part of it, from the member who has it to another. The giver is the actor, or named by a
    coordinator.

    A request is refused as a hand-over is. `is_done`: it changed hands already; then it is kept whatever the book says,
    with a question on the bag when it is on hold. Refused even then: code "self", "left", "short" (nothing said how
    many and nothing is there).
    """
    giver = giver or deed.actor
    if receiver == giver:
        raise Refused(_("Name somebody else: these strips are with %(name)s.") % {"name": giver.name}, code="self")
    bag = _as_it_is(bag)
    source = Place.objects.of_member(giver)
    if is_done:
        _must_be_here(receiver)
        basis = _basis(the_club().day_of(deed.happened_at))
    else:
        basis = _may_supply(deed, bag, receiver, cautions)
    there = ledger.quantity_at(bag.item, source)
    asked = there if strips is None else strips
    if asked <= 0 or not is_done:
        _refuse_short(bag.item, asked, there)
    is_held = is_done and bool(holds.holds_of(bag.item))
    given = bag if is_held or asked >= there else parts.split(deed, bag, asked, source, code)
    target = Place.objects.of_member(receiver)
    movement = _move(deed, given.item, source, target, asked, Cause.PASS_ON, fact=is_done)
    if is_held:
        text = _("It was passed on from %(giver)s to %(receiver)s while on hold.")
        Question.objects.create(
            item=given.item,
            kind=Question.Kind.HELD,
            text=text % {"giver": giver.name, "receiver": receiver.name},
            movement=movement,
            deed=deed,
        )
    return HandOver.objects.create(
        kind=HandOver.Kind.PASS_ON,
        item=given.item,
        giver=giver,
        receiver=receiver,
        strips=asked,
        cautions_acknowledged=cautions,
        legal_basis=basis,
        movement=movement,
        deed=deed,
        happened_at=deed.happened_at,
    )


@command("members.bring_back", gate=True)
def bring_back(
    deed: Deed, *, bag: Bag, person: Person, is_unopened: bool, strips: int | None = None, reason: str = ""
) -> Return:
    """A member brought strips back, unopened or not: into quarantine, where a decision about them is made.

    A fact: more than the book says they had becomes found stock by name. Refused (code "short") only when nothing says
    how many: no figure, and none of the bag is with them.
    """
    source = Place.objects.of_member(person)
    back = ledger.quantity_at(bag.item, source) if strips is None else strips
    if back <= 0:
        raise Refused(
            _("By the book %(name)s has no strips of %(code)s. Say how many came back.")
            % {"name": person.name, "code": bag.item.spaced_code},
            code="short",
            field="strips",
        )
    target = Place.objects.the(Place.Kind.QUARANTINE)
    movement = _move(deed, bag.item, source, target, back, Cause.BRING_BACK, fact=True)
    return Return.objects.create(
        item=bag.item,
        person=person,
        strips=back,
        is_unopened=is_unopened,
        reason=reason,
        movement=movement,
        deed=deed,
        happened_at=deed.happened_at,
    )


def _as_it_is(bag: Bag) -> Bag:
    """The bag read again behind the gate: its soak may have been judged since the page was drawn."""
    return Bag.objects.for_list().get(pk=bag.pk)


def _move(
    deed: Deed, item: Item, source: Place, target: Place, strips: int, cause: str, *, fact: bool = False
) -> Movement:
    return ledger.post(deed, [Move(item, source, target, strips, cause)], fact=fact).movements[0]


def _may_supply(deed: Deed, bag: Bag, receiver: Person, cautions: bool) -> LegalBasis:
    """Everything that must hold before strips go to somebody, in the order that matters; then the legal basis.

    Judged on the day it is asked, and the basis on the day it is said to be for as well: an earlier day opens nothing.
    """
    day, said = (the_club().day_of(moment) for moment in (deed.recorded_at, deed.happened_at))
    _must_be_here(receiver)
    holds.refuse_if_held(bag.item)
    code = {"code": bag.item.spaced_code}
    if bag.is_split_off or bag.soak.state != Soak.State.RELEASED:
        raise Refused(_("%(code)s is not released. It stays where it is.") % code, code="not_released")
    if Return.objects.opened().filter(item__in=ancestry.up([bag.item_id])).exists():
        raise Refused(
            _("%(code)s was brought back opened. Nobody can say what happened to it: destroy it.") % code, code="opened"
        )
    best = bag.item.best_before
    if best is not None and best < day:
        raise Refused(
            _("%(code)s was best before %(day)s. It stays where it is.") % {**code, "day": wording.day(best)},
            code="expired",
        )
    basis = _basis(said)
    if basis is None or _basis(day) is None:
        raise Refused(
            _(
                "No legal basis for supply to others is valid on %(day)s, so nothing is handed over. A coordinator "
                "notes one; local rules decide."
            )
            % {"day": wording.day(day if basis else said)},
            code="no_basis",
        )
    if not cautions:
        raise Refused(
            _("Read the cautions to whoever takes the strips, and tick that they were understood."),
            code="cautions",
            field="cautions",
        )
    return basis


def _basis(day: dt.date) -> LegalBasis | None:
    return LegalBasis.objects.valid_on(LegalBasis.Subject.SUPPLY, day).first()


def _must_be_here(person: Person) -> None:
    if person.left_at is not None or person.is_system:
        raise Refused(_("This person is not in the club any more."), code="left")


def _refuse_short(item: Item, asked: int, there: int) -> None:
    if asked <= 0 or asked > there:
        raise Refused(
            _("%(code)s has %(there)s here, %(asked)s were named. Nothing was changed.")
            % {"code": item.spaced_code, "there": wording.counted(there), "asked": wording.counted(max(asked, 0))},
            code="short",
            field="strips",
            on_hand=there,
        )


def _share_for(receiver: Person, round: Round | None) -> Share | None:
    """The share this counts towards: of the round named, else the oldest that waits; None when nothing waits."""
    waiting = Share.objects.to_collect().filter(person=receiver)
    if round is not None:
        found = waiting.filter(round=round).first()
        if found is None:
            raise Refused(
                _("%(name)s has nothing to collect from “%(round)s”.") % {"name": receiver.name, "round": round.name},
                code="above_share",
            )
        return found
    return waiting.order_by("round__shared_at", "pk").first()


def _check_promises(share: Share | None, receiver: Person, asked: int, day: dt.date) -> None:
    """Not more than the share has left; without a share, only what is promised to nobody."""
    if share is not None:
        left = supply.left_of(share)
        if asked > left:
            raise Refused(
                _("%(name)s has %(left)s to collect, this is %(asked)s. Take a part of the bag.")
                % {"name": receiver.name, "left": wording.counted(left), "asked": wording.counted(asked)},
                code="above_share",
                field="strips",
                left=left,
            )
    elif asked > supply.on_offer(day):
        raise Refused(
            _("%(name)s has no share, and the strips on the shelf are promised to others.") % {"name": receiver.name},
            code="promised",
        )


def _handed(share: Share) -> int:
    return sum(HandOver.objects.filter(share=share).values_list("strips", flat=True))
