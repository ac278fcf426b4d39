"""One thing counted outside a stocktake: what is there is true, and the difference becomes a movement by name."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _

from coop import wording
from coop.command import Refused, command
from coop.models import Deed, the_club
from inventory import containers, ledger
from inventory.commands.stock import in_store, likely
from inventory.models import Container, Item, Movement, Place

Cause = Movement.Cause


@command("inventory.count")
def count(
    deed: Deed, *, item: Item, place: Place, quantity: int, note: str = "", confirmed: bool = False
) -> dict[str, Any]:
    """One item counted in one place: milligrams or pieces, zero when nothing is left.

    Returns {"counted", "book", "difference", "movement"}; no movement when the book was right. The holding is locked
    before it is compared. An amount that is unlikely is asked about: Refused "did_you_mean" unless `confirmed`.
    """
    return _count(deed, item, in_store(place), quantity, note, confirmed)


@command("inventory.count_by_weight")
def count_by_weight(
    deed: Deed,
    *,
    item: Item,
    place: Place,
    weighed: Sequence[Mapping[str, Any]],
    absent: Sequence[Container] = (),
    note: str = "",
    confirmed: bool = False,
) -> dict[str, Any]:
    """The drums of a lot that stand in one place, each weighed: {"container", "gross_mg"}, gross less tare is counted.

    `absent` are those that by the book stand there and do not: nobody knows then where they stand. What was weighed
    stands there. Refused: "unit" for what is counted in pieces; "container" for one without a tare, of another lot,
    lighter than its tare, or twice; and for one that stands there by the book and is neither weighed nor absent.
    """
    in_store(place)
    containers.by_weight(item)
    given = [one["container"] for one in weighed]
    _check_containers(item, place, given, absent)
    ledger.lock(item, place)
    day = the_club().day_of(deed.happened_at)
    nets = {one["container"].pk: containers.weigh(one["container"], one["gross_mg"], day) for one in weighed}
    Container.objects.filter(pk__in=[pk for pk, net_mg in nets.items() if net_mg]).update(place=place)
    containers.standing(item, place).filter(pk__in=[one.pk for one in absent]).update(place=None)
    return _count(deed, item, place, sum(nets.values()), note, confirmed)


def _check_containers(item: Item, place: Place, given: Sequence[Container], absent: Sequence[Container]) -> None:
    if not given:
        raise Refused(_("Weigh at least one container."), code="container")
    for container in (*given, *absent):
        if container.lot_id != item.pk:
            raise Refused(_("Container “%(name)s” is of another lot.") % {"name": container.name}, code="container")
    named = [one.pk for one in (*given, *absent)]
    if len(set(named)) != len(named):
        raise Refused(_("One container is named twice. Weigh each once."), code="container")
    forgotten = containers.standing(item, place).exclude(pk__in=named).values_list("name", flat=True)
    if forgotten:
        raise Refused(
            _("By the book %(names)s stands there too. Weigh it as well, or say that it is not there.")
            % {"names": wording.listed(f"“{name}”" for name in forgotten)},
            code="container",
        )


def _count(deed: Deed, item: Item, place: Place, quantity: int, note: str, confirmed: bool) -> dict[str, Any]:
    if quantity < 0:
        raise Refused(_("Nothing is less than zero."), code="quantity", field="quantity")
    book = ledger.lock(item, place)
    likely(item, quantity, book, confirmed)
    difference = quantity - book
    movement = None
    if difference:
        other = Place.objects.the(Place.Kind.FOUND if difference > 0 else Place.Kind.UNEXPLAINED)
        ends = (other, place) if difference > 0 else (place, other)
        move = ledger.Move(item, *ends, abs(difference), Cause.COUNT, note.strip())
        movement = ledger.post(deed, [move], fact=True).movements[0]
    return {"counted": quantity, "book": book, "difference": difference, "movement": movement}
