"""What follows on the bench when the papers of a lot are set right."""

from batches import strength
from coop import registry
from coop.models import Deed
from inventory.models import Item


@registry.lot_changes.register("batches.strength")
def strength_follows(deed: Deed, item: Item) -> None:
    """Strengths are computed again down from the mixes it went into; a soak that is released gets late evidence."""
    strength.carry_on(deed, returned=item)
