"""The incident book over the API: a spill, a splash, and what was written."""

from typing import Any, ClassVar

from django_filters import rest_framework as filters
from rest_framework import serializers
from rest_framework.generics import ListAPIView

from coop.access import VOLUNTEER, Mark
from coop.api.base import command_view
from coop.api.fields import Happened
from inventory.api import rows
from inventory.api.answers import MassOf, PiecesOf
from inventory.api.rows import Amount, RowField, sheds
from inventory.commands import incidents
from inventory.models import Container, Incident

REPORTS = Mark(VOLUNTEER)


class Words(Happened):
    """What goes into the book. `people` is read by coordinators and by who wrote it, the rest by volunteers too."""

    what = serializers.CharField(max_length=500)
    people = serializers.CharField(max_length=200, required=False, allow_blank=True)
    done = serializers.CharField(max_length=500, required=False, allow_blank=True)


class TakesIncident(Words):
    place = RowField(sheds(), required=False, allow_null=True)


class TakesSpill(Words, Amount):
    place = RowField(sheds())
    container = RowField(Container.objects.all(), required=False, allow_null=True)
    confirmed = serializers.BooleanField(required=False)


class SpiltAnswer(serializers.Serializer[Any]):
    """What of which thing was spilt, as it stands now; null where nothing was after all."""

    movement = serializers.IntegerField(source="pk")
    code = serializers.CharField(source="item.code_id")
    mass_g = MassOf()
    pieces = PiecesOf()


class IncidentAnswer(serializers.ModelSerializer[Incident]):
    people = serializers.CharField(source="people_words", help_text="empty for those who may not read it")
    by = serializers.CharField(source="deed.who")
    spilt = SpiltAnswer(source="standing", allow_null=True)

    class Meta:
        model = Incident
        fields: ClassVar = ["id", "happened_at", "place", "what", "people", "done", "spilt", "by", "deed"]


class IncidentFilter(filters.FilterSet):
    since = filters.IsoDateTimeFilter(field_name="happened_at", lookup_expr="gte")
    until = filters.IsoDateTimeFilter(field_name="happened_at", lookup_expr="lt")

    class Meta:
        model = Incident
        fields: ClassVar = ["place"]


class Incidents(ListAPIView[Incident]):
    """The incident book, newest first. Nothing in it is ever changed: what was wrong is written anew."""

    opens_to = REPORTS
    serializer_class = IncidentAnswer
    filterset_class = IncidentFilter
    queryset = Incident.objects.select_related(
        "movement__item",
        "movement__reversed_by",
        "movement__replaced_by__item",
        "movement__replaced_by__reversed_by",
        "deed__actor",
    )


spill = command_view("Spill", incidents.spill, TakesSpill, REPORTS, IncidentAnswer, rows.by_item_amount)
note = command_view("NoteIncident", incidents.note_incident, TakesIncident, REPORTS, IncidentAnswer)
