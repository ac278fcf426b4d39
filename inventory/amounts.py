"""So much of a material, in words."""

from coop import wording
from inventory.models import Material


def amount(quantity: int, material: Material) -> str:
    """Milligrams or pieces of a material as people read it: "7 500 g", "400 strips"."""
    if material.unit == "mass":
        return wording.mass_g(quantity)
    return wording.counted(quantity, "strip" if material.kind == Material.Kind.STRIP else "piece")
