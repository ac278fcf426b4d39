"""Models of the shelf, by subject."""

from inventory.models.holds import Freed, Hold, HoldSeed
from inventory.models.items import Container, Item, Lot
from inventory.models.ledger import Edge, Holding, Movement, Question
from inventory.models.materials import Material, Supplier
from inventory.models.places import Place

__all__ = [
    "Container",
    "Edge",
    "Freed",
    "Hold",
    "HoldSeed",
    "Holding",
    "Item",
    "Lot",
    "Material",
    "Movement",
    "Place",
    "Question",
    "Supplier",
]
