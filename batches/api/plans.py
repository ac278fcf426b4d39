"""Recipes, instructions and equipment through the API."""

from typing import Any

from rest_framework.generics import ListAPIView, RetrieveAPIView

from batches.api import answers, rows, takes
from batches.commands import equipment, recipes
from batches.models import Equipment, EquipmentCheck, Instructions, Recipe
from coop.access import COORDINATOR, VOLUNTEER, Mark
from coop.api.base import command_view

write_recipe = command_view("WriteRecipe", recipes.write_recipe, takes.RecipeIn, Mark(COORDINATOR), answers.RecipeOut)
write_instructions = command_view(
    "WriteInstructions",
    recipes.write_instructions,
    takes.InstructionsIn,
    Mark(COORDINATOR),
    answers.InstructionsOut,
)
add_equipment = command_view(
    "AddEquipment", equipment.add_equipment, takes.EquipmentIn, Mark(COORDINATOR), answers.EquipmentOut
)
retire_equipment = command_view(
    "RetireEquipment",
    equipment.retire_equipment,
    takes.OnlyWhen,
    Mark(COORDINATOR),
    answers.EquipmentOut,
    rows.by_equipment,
)
check_equipment = command_view(
    "CheckEquipment",
    equipment.check_equipment,
    takes.EquipmentCheckIn,
    Mark(VOLUNTEER),
    answers.EquipmentCheckOut,
    rows.by_equipment,
)
hold_from_instrument = command_view(
    "HoldFromInstrument",
    equipment.hold_from_instrument,
    takes.DoubtIn,
    Mark(VOLUNTEER),
    answers.HoldOut,
    rows.by_equipment,
)


class Recipes(ListAPIView[Recipe]):
    """The newest version of each recipe."""

    opens_to = Mark(VOLUNTEER)
    serializer_class = answers.RecipeOut
    queryset = Recipe.objects.current()


class RecipeDetail(RetrieveAPIView[Recipe]):
    """One version of a recipe, as it was used."""

    opens_to = Mark(VOLUNTEER)
    serializer_class = answers.RecipeOut
    queryset = Recipe.objects.all()


class InstructionsList(ListAPIView[Instructions]):
    """The newest version of each of the instructions, with the hive doses the club entered and their source."""

    opens_to = Mark(VOLUNTEER)
    serializer_class = answers.InstructionsOut
    queryset = Instructions.objects.current().prefetch_related("doses__hive_kind")


class EquipmentList(ListAPIView[Equipment]):
    """Scales and thermometers."""

    opens_to = Mark(VOLUNTEER)
    serializer_class = answers.EquipmentOut
    queryset = Equipment.objects.order_by("kind", "name", "pk")


class EquipmentChecks(ListAPIView[EquipmentCheck]):
    """The checks of one instrument, newest first."""

    opens_to = Mark(VOLUNTEER)
    serializer_class = answers.EquipmentCheckOut
    queryset = EquipmentCheck.objects.none()

    def get_queryset(self) -> Any:
        return EquipmentCheck.objects.filter(equipment=self.kwargs.get("equipment"))
