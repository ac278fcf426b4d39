"""Models of the shelf, by subject."""

from inventory.models.amendments import Amendment
from inventory.models.buying import Delivery, Order
from inventory.models.holds import Freed, Hold, HoldSeed
from inventory.models.imports import StockFile, StockRow
from inventory.models.incidents import Incident
from inventory.models.items import Container, Item, Lot, StripSample
from inventory.models.ledger import Edge, Holding, Movement, Question
from inventory.models.materials import Material
from inventory.models.places import Place
from inventory.models.stocktakes import Count, Stocktake
from inventory.models.suppliers import Supplier

__all__ = [
    "Amendment",
    "Container",
    "Count",
    "Delivery",
    "Edge",
    "Freed",
    "Hold",
    "HoldSeed",
    "Holding",
    "Incident",
    "Item",
    "Lot",
    "Material",
    "Movement",
    "Order",
    "Place",
    "Question",
    "StockFile",
    "StockRow",
    "Stocktake",
    "StripSample",
    "Supplier",
]
