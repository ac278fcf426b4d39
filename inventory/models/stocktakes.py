"""Stocktakes: a shed counted blind, by one or more people, and what was found."""

from typing import Any

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from inventory.models.items import Item
from inventory.models.ledger import Movement
from inventory.models.places import Place


class Stocktake(models.Model):
    """One shed being counted. At most one at a time in a shed; anybody who may count joins it and may go on with it."""

    class State(models.TextChoices):
        OPEN = "open", _("being counted")
        DONE = "done", _("done")
        LEFT = "left", _("given up")

    place = models.ForeignKey(Place, models.PROTECT, related_name="stocktakes")
    state = models.CharField(max_length=4, choices=State.choices, default=State.OPEN)
    begun_by = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    begun_at = models.DateTimeField()
    ended_by = models.ForeignKey("coop.Deed", models.PROTECT, null=True, blank=True, related_name="+")
    ended_at = models.DateTimeField(null=True, blank=True)
    note = models.CharField(_("note"), max_length=300, blank=True)

    class Meta:
        ordering = ["-begun_at", "-id"]
        constraints = [
            models.UniqueConstraint(fields=["place"], condition=Q(state="open"), name="inventory_stocktake_one_open"),
            models.CheckConstraint(
                condition=Q(state="open", ended_by__isnull=True, ended_at__isnull=True)
                | Q(state__in=["done", "left"], ended_by__isnull=False, ended_at__isnull=False),
                name="inventory_stocktake_ended",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.place} {self.begun_at:%Y-%m-%d}"


class Count(models.Model):
    """One person counted one thing once. `book` is what the book said at that moment, which the counter is not shown.

    A second look is another row; the last row of a thing stands. `movement` is the difference, once it was written.
    `weighed` keeps how it was weighed: [{"container": id, "name": text, "gross_mg": int, "tare_mg": int}].
    """

    stocktake = models.ForeignKey(Stocktake, models.CASCADE, related_name="counts")
    item = models.ForeignKey(Item, models.PROTECT, related_name="counts")
    quantity = models.BigIntegerField()
    book = models.BigIntegerField()
    weighed: Any = models.JSONField(default=list, blank=True)
    note = models.CharField(_("note"), max_length=300, blank=True)
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    happened_at = models.DateTimeField()
    movement = models.OneToOneField(Movement, models.PROTECT, null=True, blank=True, related_name="count_row")

    class Meta:
        ordering = ["id"]
        constraints = [models.CheckConstraint(condition=Q(quantity__gte=0), name="inventory_count_not_negative")]
        indexes = [models.Index(fields=["stocktake", "item", "-id"])]

    @property
    def difference(self) -> int:
        return self.quantity - self.book
