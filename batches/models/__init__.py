"""Models of the bench, by subject."""

from batches.models.bags import Bag, ReturnedSolution, Sample
from batches.models.bench import Bench, Presence
from batches.models.decisions import Deviation, Release
from batches.models.equipment import Equipment, EquipmentCheck
from batches.models.mixes import Clarity, Mix, PailCheck, Reading, Solution, Titration, Weighing
from batches.models.recipes import Instructions, InstructionsDose, Recipe
from batches.models.soaks import Look, MarkedStrip, Pour, Soak

__all__ = [
    "Bag",
    "Bench",
    "Clarity",
    "Deviation",
    "Equipment",
    "EquipmentCheck",
    "Instructions",
    "InstructionsDose",
    "Look",
    "MarkedStrip",
    "Mix",
    "PailCheck",
    "Pour",
    "Presence",
    "Reading",
    "Recipe",
    "Release",
    "ReturnedSolution",
    "Sample",
    "Soak",
    "Solution",
    "Titration",
    "Weighing",
]
