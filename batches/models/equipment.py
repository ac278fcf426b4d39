"""Scales and thermometers, and the checks that say whether they may be believed."""

import datetime as dt

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _


class Equipment(models.Model):
    """A scale (resolution and capacity in milligrams) or a thermometer (in milli-degrees Celsius)."""

    class Kind(models.TextChoices):
        SCALE = "scale", _("scale")
        THERMOMETER = "thermometer", _("thermometer")

    name = models.CharField(_("name"), max_length=80, unique=True)
    kind = models.CharField(_("kind"), max_length=12, choices=Kind.choices)
    resolution = models.BigIntegerField(_("smallest step it shows"))
    capacity = models.BigIntegerField(_("most it can show"))
    u_check = models.BigIntegerField(_("standard uncertainty of its checks"), default=0)
    note = models.CharField(_("note"), max_length=300, blank=True)
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    retired_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["kind", "name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(resolution__gt=0, capacity__gt=0, u_check__gte=0), name="batches_equipment_steps"
            )
        ]

    def __str__(self) -> str:
        return self.name


class EquipmentCheckQuerySet(models.QuerySet["EquipmentCheck"]):
    def good(self) -> "EquipmentCheckQuerySet":
        return self.exclude(verdict=EquipmentCheck.Verdict.BAD)

    def before(self, moment: dt.datetime) -> "EquipmentCheckQuerySet":
        return self.filter(happened_at__lte=moment)


class EquipmentCheck(models.Model):
    """One comparison with a reference: a check mass near the load, or a second thermometer in the same tap water.

    `deviation` is reading less reference: parts per million for a scale, milli-degrees for a thermometer.
    """

    class Verdict(models.TextChoices):
        FINE = "fine", _("fine")
        WARN = "warn", _("near its limit")
        BAD = "bad", _("not to be believed")

    equipment = models.ForeignKey(Equipment, models.PROTECT, related_name="checks")
    bench = models.ForeignKey("batches.Bench", models.PROTECT, null=True, blank=True, related_name="checks")
    reference = models.BigIntegerField(_("reference"))
    reading = models.BigIntegerField(_("reading"))
    deviation = models.BigIntegerField()
    verdict = models.CharField(max_length=4, choices=Verdict.choices)
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    happened_at = models.DateTimeField()

    objects = EquipmentCheckQuerySet.as_manager()

    class Meta:
        ordering = ["-happened_at", "-id"]
        indexes = [models.Index(fields=["equipment", "-happened_at"])]
