"""A lot's drums, cans and sacks over the API."""

from typing import Any

from rest_framework import serializers

from coop.access import COORDINATOR, VOLUNTEER, Mark
from coop.api.base import command_view
from coop.api.fields import Happened, MassG
from inventory.api import answers, rows
from inventory.api.rows import RowField, sheds
from inventory.api.takes import NewContainer
from inventory.commands import containers

WRITES, COUNTS = Mark(COORDINATOR), Mark(VOLUNTEER)


class TakesContainer(NewContainer, Happened):
    place = RowField(sheds(), required=False)


class TakesOpening(Happened):
    opened_on = serializers.DateField(required=False, allow_null=True)


class TakesEmptying(Happened):
    emptied_on = serializers.DateField(required=False, allow_null=True)


class TakesWeight(Happened):
    gross_g = MassG(source="gross_mg", least=0)
    tare_g = MassG(source="tare_mg", required=False, allow_null=True, least=0)


class TakesMove(Happened):
    """Without `gross_g` what was weighed last goes along."""

    target = RowField(sheds())
    gross_g = MassG(source="gross_mg", required=False, allow_null=True, least=0)
    note = serializers.CharField(max_length=240, required=False, allow_blank=True)
    confirmed = serializers.BooleanField(required=False)


class WeighedAnswer(serializers.Serializer[Any]):
    container = answers.ContainerAnswer()
    net_g = MassG(source="net_mg", read_only=True)


add = command_view(
    "AddContainer", containers.add_container, TakesContainer, COUNTS, answers.ContainerAnswer, rows.by_item
)
open_it = command_view(
    "OpenContainer", containers.open_container, TakesOpening, COUNTS, answers.ContainerAnswer, rows.by_container
)
weigh = command_view(
    "WeighContainer", containers.weigh_container, TakesWeight, COUNTS, WeighedAnswer, rows.by_container
)
empty = command_view(
    "EmptyContainer", containers.empty_container, TakesEmptying, COUNTS, answers.ContainerAnswer, rows.by_container
)
move = command_view(
    "MoveContainer", containers.move_container, TakesMove, WRITES, answers.MovementAnswer, rows.by_container
)
