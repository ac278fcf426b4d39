"""A shed counted blind by one or more people: begun, counted thing by thing, looked at twice, ended as one deed.

Locks: the Deed, the stocktake's row, then holdings by item. Every count stands by itself, so an interruption loses
nothing; the book changes only when the stocktake ends, and then all at once.
"""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from coop import wording
from coop.command import Refused, command
from coop.models import Deed, the_club
from inventory import containers, ledger, stocktakes
from inventory.commands.stock import open_store
from inventory.models import Container, Count, Item, Movement, Place, Stocktake

Cause = Movement.Cause
State = Stocktake.State
#: a count so many times off the book is more likely grams for kilograms
OFF = 300


@command("inventory.begin_stocktake")
def begin_stocktake(deed: Deed, *, place: Place, note: str = "") -> Stocktake:
    """Begin to count a shed. Where one is open already it is answered: whoever begins a second time counts along."""
    open_store(place)
    mine = Stocktake(place=place, begun_by=deed, begun_at=deed.happened_at, note=note.strip())
    for _try in range(3):  # the rival's may end between the two statements
        Stocktake.objects.bulk_create([mine], ignore_conflicts=True)
        found = Stocktake.objects.filter(place=place, state=State.OPEN).first()
        if found is not None:
            return found
    raise Refused(_("Somebody ended a stocktake here at this moment. Begin again."), code="ended")


@command("inventory.count_in")
def count_in(
    deed: Deed,
    *,
    stocktake: Stocktake,
    item: Item,
    quantity: int | None = None,
    weighed: Sequence[Mapping[str, Any]] = (),
    absent: Sequence[Container] = (),
    loose: int | None = None,
    note: str = "",
    confirmed: bool = False,
) -> Count:
    """One thing counted: the whole `quantity` (zero: it is not here), or drums weighed plus what is loose.

    `weighed` is {"container", "gross_mg"}: tare is taken off; `absent` are drums that by the book stand here and do
    not. The book is read with the holding locked, and kept beside the count; nothing else is written. Whatever has a
    code may be counted, also what the book does not have here. Refused: "ended"; "nothing" said; "quantity" below
    zero; "container" (see inventory.commands.counting); "did_you_mean" once, for an unlikely amount.
    """
    take = _open(stocktake)
    total, kept = _told(item, take.place, quantity, weighed, absent, loose)
    moment = deed.happened_at
    now = ledger.lock(item, take.place)
    book = stocktakes.books_then(take.place, {item.pk: moment}, {item.pk: now})[item.pk]
    _likely(item, total, book, confirmed)
    facts = {"quantity": total, "book": book, "weighed": kept, "note": note.strip()}
    return Count.objects.create(stocktake=take, item=item, deed=deed, happened_at=moment, **facts)


@command("inventory.end_stocktake")
def end_stocktake(deed: Deed, *, stocktake: Stocktake, note: str = "", leave_uncounted: bool = False) -> Stocktake:
    """Write every difference as a movement, and what the drums weigh. What moved since a count does not matter.

    Refused: "ended"; "nothing" counted; "second_look" while a thing that differs was looked at once only; "uncounted"
    unless `leave_uncounted` (both name the codes). A difference that takes more than is there today finds the rest.
    """
    take = _open(stocktake)
    ledger.lock_all({one.item_id: one.item for one in take.counts.select_related("item")}.values(), take.place)
    sheet = stocktakes.read(take)
    _ready(sheet, leave_uncounted)
    _write(deed, sheet)
    _keep_weights(sheet, the_club().day_of(deed.happened_at))
    left = [_("Not counted: %(codes)s") % {"codes": _codes(sheet.left)}] if sheet.left else []
    return _close(deed, take, State.DONE, [note, *left])


@command("inventory.leave_stocktake")
def leave_stocktake(deed: Deed, *, stocktake: Stocktake, reason: str) -> Stocktake:
    """Give a stocktake up: what was counted stays readable, the book stays as it is. Refused: "ended", "reason"."""
    if not reason.strip():
        raise Refused(_("Say why it is given up."), code="reason", field="reason")
    return _close(deed, _open(stocktake), State.LEFT, [reason])


def _open(stocktake: Stocktake) -> Stocktake:
    """The row, locked until the command ends, or Refused when it was ended already."""
    take = Stocktake.objects.select_for_update().get(pk=stocktake.pk)
    if take.state == State.OPEN:
        return take
    facts = {"who": take.ended_by.who if take.ended_by else "", "when": wording.moment(take.ended_at or take.begun_at)}
    if take.state == State.LEFT:
        raise Refused(_("%(who)s gave this stocktake up, %(when)s. Begin a new one.") % facts, code="ended")
    raise Refused(
        _("%(who)s ended this stocktake, %(when)s: it is in the book. What is counted now needs a new one.") % facts,
        code="ended",
    )


def _told(
    item: Item,
    place: Place,
    quantity: int | None,
    weighed: Sequence[Mapping[str, Any]],
    absent: Sequence[Container],
    loose: int | None,
) -> tuple[int, list[dict[str, Any]]]:
    """How much was counted, and how it was weighed."""
    by_drums = bool(weighed or absent or loose is not None)
    if quantity is None and not by_drums:
        raise Refused(_("Say what is there: zero if nothing is left."), code="nothing", field="quantity")
    if quantity is not None and by_drums:
        raise Refused(_("Say the whole, or what each drum weighs, not both."), code="quantity", field="quantity")
    if (quantity or 0) < 0 or (loose or 0) < 0:
        raise Refused(_("Nothing is less than zero."), code="quantity", field="loose" if by_drums else "quantity")
    if quantity == 0:
        return 0, [_kept(drum, None) for drum in containers.standing(item, place)]
    if quantity is not None:
        return quantity, []
    if weighed or absent:
        containers.by_weight(item)
    _check_drums(item, place, [*(one["container"] for one in weighed), *absent])
    nets = [containers.net_of(one["container"], one["gross_mg"]) for one in weighed]
    kept = [_kept(one["container"], one["gross_mg"]) for one in weighed] + [_kept(drum, None) for drum in absent]
    return sum(nets) + (loose or 0), kept


def _kept(drum: Container, gross_mg: int | None) -> dict[str, Any]:
    """How a drum was found, None where it was not; and how its row was then, since only such a row is changed later."""
    return {
        "container": drum.pk,
        "name": drum.name,
        "gross_mg": gross_mg,
        "tare_mg": drum.tare_mg,
        "was": {"place": drum.place_id, "gross_mg": drum.gross_mg, "is_empty": drum.emptied_on is not None},
    }


def _check_drums(item: Item, place: Place, named: Sequence[Container]) -> None:
    for drum in named:
        if drum.lot_id != item.pk:
            raise Refused(_("Container “%(name)s” is of another lot.") % {"name": drum.name}, code="container")
    ids = [drum.pk for drum in named]
    if len(set(ids)) != len(ids):
        raise Refused(_("One container is named twice. Weigh each once."), code="container")
    known = containers.standing(item, place).exclude(tare_mg=None)
    forgotten = known.exclude(pk__in=ids).values_list("name", flat=True)
    if forgotten:
        raise Refused(
            _("%(names)s should stand here too. Weigh it as well, or say that it is not here.")
            % {"names": wording.listed(f"“{name}”" for name in forgotten)},
            code="container",
        )


def _likely(item: Item, quantity: int, book: int, confirmed: bool) -> None:
    """Asks once about grams for kilograms, without a word about the book."""
    most = item.material.most_at_once if item.material else None
    is_off = book > 0 and quantity > 0 and (quantity >= OFF * book or quantity * OFF <= book)
    is_much = most is not None and quantity > max(most, book)
    if confirmed or not (is_off or is_much):
        return
    raise Refused(
        _("%(quantity)s: is the unit right? Then confirm it.") % {"quantity": ledger.amount(quantity, item)},
        code="did_you_mean",
        field="quantity",
    )


def _ready(sheet: stocktakes.Sheet, leave_uncounted: bool) -> None:
    if not sheet.counted:
        raise Refused(_("Nothing was counted yet. Count something, or give the stocktake up."), code="nothing")
    if sheet.again:
        text = ngettext(
            "One thing differs and was looked at once only. Look again: %(codes)s",
            "%(count)s things differ and were looked at once only. Look again: %(codes)s",
            len(sheet.again),
        )
        raise Refused(
            text % {"count": len(sheet.again), "codes": _codes(sheet.again)},
            code="second_look",
            things=[one.item.code_id for one in sheet.again],
        )
    if sheet.left and not leave_uncounted:
        raise Refused(
            _("Not counted yet: %(codes)s. Count them, or say that they stay as the book has them.")
            % {"codes": _codes(sheet.left)},
            code="uncounted",
            field="leave_uncounted",
            things=[one.item.code_id for one in sheet.left],
        )


def _write(deed: Deed, sheet: stocktakes.Sheet) -> None:
    differing = sheet.differing
    moves = [_move(sheet.take, thing) for thing in differing]
    movements = ledger.post(deed, moves, fact=True).movements if moves else []
    written = dict(zip((one.item.pk for one in differing), movements, strict=True))
    rows = []
    for thing in sheet.counted:
        count = thing.counts[-1]
        count.book, count.movement = thing.book, written.get(thing.item.pk)
        rows.append(count)
    Count.objects.bulk_update(rows, ["book", "movement"])


def _move(take: Stocktake, thing: stocktakes.Thing) -> ledger.Move:
    difference = thing.difference
    other = Place.objects.the(Place.Kind.FOUND if difference > 0 else Place.Kind.UNEXPLAINED)
    ends = (other, take.place) if difference > 0 else (take.place, other)
    note = _("Stocktake of %(shed)s, %(day)s, counted by %(who)s") % {
        "shed": take.place.words,
        "day": wording.full_day(the_club().day_of(take.begun_at)),
        "who": stocktakes.counters(thing.counts),
    }
    return ledger.Move(thing.item, *ends, abs(difference), Cause.COUNT, note[:300])


def _keep_weights(sheet: stocktakes.Sheet, day: dt.date) -> None:
    """What the last count of each lot says about its drums, unless a drum was moved or weighed since."""
    for thing in sheet.counted:
        for one in thing.counts[-1].weighed:
            was, gross_mg = one["was"], one["gross_mg"]
            as_then = Container.objects.filter(
                pk=one["container"],
                place=was["place"],
                gross_mg=was["gross_mg"],
                emptied_on__isnull=not was["is_empty"],
            )
            if gross_mg is None:
                as_then.update(place=None)
            else:
                is_empty = gross_mg == one["tare_mg"]
                place = was["place"] if is_empty else sheet.take.place_id
                as_then.update(gross_mg=gross_mg, place=place, emptied_on=day if is_empty else None)


def _close(deed: Deed, take: Stocktake, state: str, words: Iterable[str]) -> Stocktake:
    take.state, take.ended_by, take.ended_at = state, deed, deed.happened_at
    take.note = " · ".join(word for one in (take.note, *words) if (word := one.strip()))[:300]
    take.save(update_fields=["state", "ended_by", "ended_at", "note"])
    return take


def _codes(things: Sequence[stocktakes.Thing]) -> str:
    """The first few codes, and how many more."""
    shown = [one.item.spaced_code for one in things[:8]]
    more = len(things) - len(shown)
    return wording.listed([*shown, _("%(count)s more") % {"count": more}] if more else shown)
