"""Mistakes are set right by name: the wrong movement is reversed, the right one written, and both stay."""

from django.utils.translation import gettext as _

from coop.command import Refused, command
from coop.models import Deed
from inventory import containers, ledger, openings
from inventory.models import Lot, Movement, Question

Cause = Movement.Cause
#: what the shelf may correct by itself; the bench, share-out and hives set right what is theirs
OWN_CAUSES = (
    Cause.RECEIVE,
    Cause.OPENING,
    Cause.TRANSFER,
    Cause.DRAW,
    Cause.DISCARD,
    Cause.SPILL,
    Cause.COUNT,
    Cause.FOUND,
)


@command("inventory.correct", gate=True)
def correct(deed: Deed, *, movement: Movement, quantity: int, note: str) -> Movement | None:
    """Set the amount of a movement right: milligrams or pieces, zero when it never happened; `note` says why.

    Returns the movement that stands now, or None. Once per movement: Refused "corrected_already", "is_correction",
    "same", "note" without one, "elsewhere" for a movement of another room. What is then short becomes found stock, with
    a question. Containers that went along with a move go along with its correction.
    """
    if not note.strip():
        raise Refused(_("Write what was wrong with it."), code="note", field="note")
    if movement.cause not in OWN_CAUSES and movement.reverses_id is None:
        raise Refused(_("This was written by another room. Set it right there, where it happened."), code="elsewhere")
    if quantity < 0:
        raise Refused(_("Nothing is less than zero."), code="quantity", field="quantity")
    if quantity == movement.quantity:
        raise Refused(_("That is the amount it has already."), code="same", field="quantity")
    was = openings.opened(movement.item_id)
    posting = ledger.correct(deed, movement, quantity, note.strip())
    if movement.cause == Cause.OPENING:
        openings.follow(movement.item_id, was)
    if movement.cause == Cause.RECEIVE:
        Lot.objects.filter(pk=movement.item_id).update(received_quantity=quantity)
    if movement.cause == Cause.TRANSFER:
        ends = (movement.source, movement.target) if quantity else (movement.target, movement.source)
        containers.follow(movement.item, *ends)
    return next((one for one in posting.movements if one.replaces_id == movement.pk), None)


@command("inventory.settle_question")
def settle_question(deed: Deed, *, question: Question, answer: str) -> Question:
    """Close an open question with what was found out. Refused: "answer" without one, "settled_already"."""
    if not answer.strip():
        raise Refused(_("Write what you found out."), code="answer", field="answer")
    open_ones = Question.objects.filter(pk=question.pk, settled_by=None)
    if not open_ones.update(answer=answer.strip(), settled_by=deed):
        raise Refused(_("Somebody settled this question already."), code="settled_already")
    question.refresh_from_db()
    return question
