"""Holds: a doubt that begins at items and reaches everything made from them. Never a stored flag."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from inventory.models.items import Item


class HoldQuerySet(models.QuerySet["Hold"]):
    def active(self) -> "HoldQuerySet":
        return self.filter(lifted_by=None)


class Hold(models.Model):
    """Placed by a deed, lifted by another. It may begin at several items, as when an instrument is doubted."""

    reason = models.CharField(_("why"), max_length=300)
    began_with = models.CharField(max_length=120, blank=True, help_text="words for what it began with, if not an item")
    placed_by = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    placed_at = models.DateTimeField()
    lifted_by = models.ForeignKey("coop.Deed", models.PROTECT, null=True, blank=True, related_name="+")
    lifted_at = models.DateTimeField(null=True, blank=True)
    lift_reason = models.CharField(_("why lifted"), max_length=300, blank=True)
    items = models.ManyToManyField(Item, through="HoldSeed", related_name="holds")

    objects = HoldQuerySet.as_manager()

    class Meta:
        ordering = ["-id"]
        indexes = [models.Index(fields=["lifted_by"])]

    def __str__(self) -> str:
        return self.reason


class HoldSeed(models.Model):
    hold = models.ForeignKey(Hold, models.CASCADE, related_name="seeds")
    item = models.ForeignKey(Item, models.PROTECT, related_name="hold_seeds")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["hold", "item"], name="inventory_holdseed_once")]


class Freed(models.Model):
    """A signed decision: one descendant is free from one hold, for the contents as they were signed."""

    hold = models.ForeignKey(Hold, models.CASCADE, related_name="freed")
    item = models.ForeignKey(Item, models.PROTECT, related_name="freed_from")
    reason = models.CharField(max_length=300)
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    voided_by = models.ForeignKey("coop.Deed", models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["hold", "item"], condition=models.Q(voided_by=None), name="inventory_freed_once"
            )
        ]
