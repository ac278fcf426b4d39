"""What is bought, and how it is counted."""

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from inventory.models.suppliers import Supplier


class Unit(models.TextChoices):
    MASS = "mass", _("grams")
    PIECES = "pieces", _("pieces")


class Material(models.Model):
    """A thing the club keeps by lots. Amounts are milligrams or pieces, as `unit` says."""

    class Kind(models.TextChoices):
        ACID = "acid", _("oxalic acid dihydrate")
        GLYCERINE = "glycerine", _("glycerine")
        STRIP = "strip", _("strip blanks")
        OTHER = "other", _("other")

    name = models.CharField(_("name"), max_length=120, unique=True)
    kind = models.CharField(_("kind"), max_length=10, choices=Kind.choices)
    unit = models.CharField(_("counted in"), max_length=6, choices=Unit.choices)
    low_level = models.BigIntegerField(_("safety stock"), null=True, blank=True)
    pack_size = models.BigIntegerField(_("pack size"), null=True, blank=True)
    least_at_once = models.BigIntegerField(_("less than this at once is questioned"), null=True, blank=True)
    most_at_once = models.BigIntegerField(_("more than this at once is questioned"), null=True, blank=True)
    per_dose = models.BigIntegerField(_("what one hive dose takes of it"), null=True, blank=True)
    holds_on_arrival = models.BooleanField(_("every new lot is put on hold on arrival"), default=False)
    supplier = models.ForeignKey(Supplier, models.SET_NULL, null=True, blank=True, related_name="materials")

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(low_level__isnull=True) | Q(low_level__gte=0), name="inventory_material_low_level"
            ),
            models.CheckConstraint(
                condition=Q(pack_size__isnull=True) | Q(pack_size__gt=0), name="inventory_material_pack"
            ),
            models.CheckConstraint(
                condition=Q(least_at_once__isnull=True)
                | Q(least_at_once__gt=0) & (Q(most_at_once__isnull=True) | Q(most_at_once__gte=F("least_at_once"))),
                name="inventory_material_range",
            ),
            models.CheckConstraint(
                condition=Q(per_dose__isnull=True) | Q(per_dose__gt=0), name="inventory_material_per_dose"
            ),
            models.CheckConstraint(
                condition=Q(kind="strip", unit="pieces")
                | Q(kind__in=["acid", "glycerine"], unit="mass")
                | Q(kind="other"),
                name="inventory_material_unit",
            ),
        ]

    def __str__(self) -> str:
        return self.name
