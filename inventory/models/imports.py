"""A file of opening stock: read, judged row by row, and written all at once or not at all."""

from typing import Any

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from inventory.models.items import Item


class StockFile(models.Model):
    """One file that was handed in. It is judged in the background, a piece at a time, and can be taken up again."""

    class State(models.TextChoices):
        WAITING = "waiting", _("waits to be read")
        READING = "reading", _("being read")
        READ = "read", _("read")
        WRITING = "writing", _("being written")
        WRITTEN = "written", _("written")
        UNREADABLE = "bad", _("cannot be read")

    name = models.CharField(max_length=120)
    paper = models.ForeignKey("coop.Document", models.PROTECT, related_name="+")
    state = models.CharField(max_length=8, choices=State.choices, default=State.WAITING)
    trouble = models.CharField(max_length=300, blank=True)
    total = models.PositiveIntegerField(default=0)
    judged = models.PositiveIntegerField(default=0)
    claimed_at = models.DateTimeField(null=True, blank=True)
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    written_by = models.ForeignKey("coop.Deed", models.PROTECT, null=True, blank=True, related_name="+")
    handed_in_at = models.DateTimeField()

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(state="written") | Q(written_by__isnull=False), name="inventory_stockfile_written"
            )
        ]

    def __str__(self) -> str:
        return self.name


class StockRow(models.Model):
    """One row of a file as it stands there, and what would become of it."""

    class Verdict(models.TextChoices):
        WAITS = "waits", _("not judged yet")
        NEW = "new", _("will be added")
        ALREADY = "already", _("is there already")
        CHANGE = "change", _("will be changed")
        WRONG = "wrong", _("not right")

    file = models.ForeignKey(StockFile, models.CASCADE, related_name="rows")
    sheet = models.CharField(max_length=40)
    number = models.PositiveIntegerField(_("row"))
    cells: Any = models.JSONField(default=dict)
    verdict = models.CharField(max_length=8, choices=Verdict.choices, default=Verdict.WAITS)
    sentence = models.CharField(max_length=500, blank=True)
    item = models.ForeignKey(Item, models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["id"]
        indexes = [models.Index(fields=["file", "verdict", "id"])]
