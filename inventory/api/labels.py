"""The words of a lot's labels over the API, for a club that prints them with a program of its own."""

from typing import Any

from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from coop import codes
from coop.access import VOLUNTEER, Mark
from inventory import labels
from inventory.models import Item


class LabelAnswer(serializers.Serializer[Any]):
    """One label; `address` is what its QR code holds."""

    code = serializers.CharField()
    address = serializers.CharField()
    material = serializers.CharField()
    container = serializers.CharField()
    facts = serializers.ListField(child=serializers.CharField())
    signal = serializers.CharField()
    hazard = serializers.CharField()
    care = serializers.ListField(child=serializers.CharField())


class LabelsOf(APIView):
    """One label for each container of a lot that is not empty; without containers, one for the lot."""

    opens_to = Mark(VOLUNTEER)

    @extend_schema(responses=LabelAnswer(many=True))
    def get(self, request: Request, code: str) -> Response:
        lots = Item.objects.lots().select_related("material", "lot")
        item = get_object_or_404(lots, code=codes.tidy(code))
        return Response(LabelAnswer(labels.for_lots([item]), many=True).data)
