"""Files of opening stock over the API: handed in as base64, judged, looked through row by row, written."""

import base64
import binascii
from typing import Any, ClassVar

from django.shortcuts import get_object_or_404
from django_filters import rest_framework as filters
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.generics import ListAPIView, RetrieveAPIView
from rest_framework.request import Request
from rest_framework.response import Response

from coop.access import COORDINATOR, Mark
from coop.api.base import CommandView, command_view
from coop.api.fields import Happened
from inventory.commands import importing
from inventory.files import reading, work
from inventory.models import StockFile, StockRow

WRITES = Mark(COORDINATOR)


class TakesFile(Happened):
    name = serializers.CharField(max_length=200)
    content = serializers.CharField(
        max_length=reading.MOST_BYTES * 4 // 3 + 100, help_text="the file in base64: CSV, XLSX, ODS or CSV in a zip"
    )

    def validate_content(self, value: str) -> bytes:
        try:
            return base64.b64decode(value, validate=True)
        except (binascii.Error, ValueError):
            raise serializers.ValidationError("Send the file's bytes in base64.") from None


class TakesNothing(Happened):
    pass


class FileAnswer(serializers.ModelSerializer[StockFile]):
    """How far a file is. `trouble` says why it cannot be read, or what of it was passed over."""

    wrong = serializers.SerializerMethodField()

    class Meta:
        model = StockFile
        fields: ClassVar = ["id", "name", "state", "trouble", "total", "judged", "wrong", "handed_in_at", "written_by"]

    def get_wrong(self, file: StockFile) -> int:
        return StockRow.objects.filter(file=file, verdict=StockRow.Verdict.WRONG).count()


class ListedFile(serializers.ModelSerializer[StockFile]):
    class Meta:
        model = StockFile
        fields: ClassVar = ["id", "name", "state", "trouble", "total", "judged", "handed_in_at", "written_by"]


class RowAnswer(serializers.ModelSerializer[StockRow]):
    code = serializers.CharField(source="item.code_id", default=None)
    cells = serializers.DictField(child=serializers.CharField())

    class Meta:
        model = StockRow
        fields: ClassVar = ["sheet", "number", "verdict", "sentence", "cells", "code"]


class HandIn(CommandView):
    """Hand in a file of opening stock. A small one is judged in the answer, a larger one in the background."""

    opens_to = WRITES
    command = staticmethod(importing.hand_in)
    serializer_class = TakesFile
    answer_class = FileAnswer

    def answer(self, result: StockFile) -> Any:
        if not work.is_small(result) or not work.do(result, only_small=True):
            work.ring()
        result.refresh_from_db()
        return super().answer(result)


class Files(ListAPIView[StockFile]):
    """Files of opening stock, newest first."""

    opens_to = WRITES
    serializer_class = ListedFile
    queryset = StockFile.objects.all()


class OneFile(RetrieveAPIView[StockFile]):
    """One file: how far it is, and how many of its rows are not right."""

    opens_to = WRITES
    serializer_class = FileAnswer
    queryset = StockFile.objects.all()


class RowFilter(filters.FilterSet):
    class Meta:
        model = StockRow
        fields: ClassVar = ["verdict", "sheet"]


class Rows(ListAPIView[StockRow]):
    """The rows of a file, each with its verdict and a sentence."""

    opens_to = WRITES
    serializer_class = RowAnswer
    filterset_class = RowFilter
    queryset = StockRow.objects.none()

    @extend_schema(responses=RowAnswer(many=True))
    def get(self, request: Request, *args: Any, **kwargs: Any) -> Response:
        return super().get(request, *args, **kwargs)

    def get_queryset(self) -> Any:
        if getattr(self, "swagger_fake_view", False):
            return self.queryset
        file = get_object_or_404(StockFile, pk=self.kwargs["pk"])
        return StockRow.objects.filter(file=file).select_related("item")


def _file(view: Any, data: dict[str, Any], pk: int) -> dict[str, Any]:
    return {"file": get_object_or_404(StockFile, pk=pk)}


def _write(*, file: StockFile, **given: Any) -> StockFile:
    """Write a file into the book, all rows or none. Above 1 000 rows it is written in the background: "writing"."""
    command = importing.ask_to_write if file.total > work.WRITTEN_AT_ONCE else importing.write_file
    done: StockFile = command(file=file, **given)
    return done


write_file = command_view("WriteFile", _write, TakesNothing, WRITES, FileAnswer, _file)
judge_again = command_view("JudgeAgain", importing.judge_again, TakesNothing, WRITES, FileAnswer, _file)
