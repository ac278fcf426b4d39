"""The balance of a tub: what was poured and laid in, and what came out, from the ledger and the scales."""

import dataclasses

from django.db.models import Q, Sum

from batches import tub
from batches.limits import of_bench
from batches.models import Soak
from batches.science import balance
from inventory.models import Movement, Place


@dataclasses.dataclass(frozen=True)
class OfTub:
    """The parts in milligrams, and science's verdict. `losses_mg` includes spoiled strips with what they took up."""

    poured_mg: int
    dry_mg: int
    bags_mg: int
    retained_mg: int
    returned_mg: int
    losses_mg: int
    found: balance.Balance


def of_soak(soak: Soak) -> OfTub | None:
    """None until something was poured and the dry mass is known.

    Retained strips that were not weighed, and strips that were spoiled, count with their dry mass and what the ledger
    took out of the tub with them.
    """
    poured = soak.pours.aggregate(total=Sum("mass_mg"))["total"] or 0
    dry = tub.dry_mg(soak, soak.strips)
    if not poured or dry is None:
        return None
    bags = [bag.net_mg or 0 for bag in soak.bags.filter(parent=None)]
    retained = sum(_net(soak, one.strips, one.net_mg) for one in soak.samples.all())
    returned = soak.returned.aggregate(total=Sum("mass_mg"))["total"] or 0
    losses = _lost_liquid(soak) + (tub.dry_mg(soak, spoiled(soak)) or 0)
    found = balance.of_tub(poured, dry, bags, retained, returned, losses, of_bench(soak.bench))
    return OfTub(poured, dry, sum(bags), retained, returned, losses, found)


def _net(soak: Soak, strips: int, net_mg: int | None) -> int:
    return net_mg if net_mg is not None else (tub.dry_mg(soak, strips) or 0) + tub.uptake_mg(soak, strips, None)


def _lost_liquid(soak: Soak) -> int:
    """Solution that somebody saw go, out of this tub."""
    place = Place.objects.filter(kind=Place.Kind.BENCH, item=soak.item).first()
    rows = Movement.objects.filter(source=place, item__unit="mass", cause=Movement.Cause.LOSS, reversed_by=None)
    return int(rows.aggregate(total=Sum("quantity"))["total"] or 0) if place else 0


def spoiled(soak: Soak) -> int:
    """Strips declared spoiled or missing."""
    rows = Movement.objects.filter(item=soak.item, cause=Movement.Cause.LOSS, reversed_by=None)
    return int(rows.aggregate(total=Sum("quantity"))["total"] or 0)


def pieces_of(soak: Soak) -> balance.Pieces:
    """Strips laid against strips bagged, retained and spoiled."""
    bagged = soak.bags.filter(parent=None).aggregate(n=Sum("strips"))["n"] or 0
    retained = soak.samples.aggregate(n=Sum("strips"))["n"] or 0
    return balance.Pieces(soak.strips, bagged, retained, spoiled(soak))


def unexplained_in_book(soak: Soak) -> int:
    """What the ledger moved to unexplained from this tub, less what it had to find: signed milligrams of solution."""
    tub_place = Place.objects.bench_of(soak.item)
    cause = Movement.Cause.UNEXPLAINED
    rows = Movement.objects.filter(Q(source=tub_place) | Q(target=tub_place), cause=cause, reversed_by=None)
    return sum(row.quantity if row.source_id == tub_place.pk else -row.quantity for row in rows)
