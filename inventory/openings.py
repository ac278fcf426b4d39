"""Opening balances: what a lot had received stays what it was, unless it was only ever known by what was opened."""

from django.db.models import Sum

from inventory.models import Lot, Movement


def opened(item_id: int) -> int:
    """Milligrams or pieces that opening balances brought of a lot, as they stand now."""
    standing = Movement.objects.filter(
        item_id=item_id, cause=Movement.Cause.OPENING, reverses=None, reversed_by=None
    )  # fmt: skip
    return int(standing.aggregate(total=Sum("quantity"))["total"] or 0)


def follow(item_id: int, was: int) -> None:
    """After opening balances changed: a lot whose received amount was what had been opened (`was`) follows."""
    Lot.objects.filter(pk=item_id, received_quantity=was).update(received_quantity=opened(item_id))
