"""What was ordered, and what came in at the door in one go."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from inventory.models.materials import Material
from inventory.models.suppliers import Supplier


class Delivery(models.Model):
    """One arrival at the door: several lots and containers under one delivery note."""

    supplier = models.ForeignKey(Supplier, models.PROTECT, related_name="deliveries")
    paper_number = models.CharField(_("number of the delivery note"), max_length=80, blank=True)
    note = models.CharField(_("note"), max_length=300, blank=True)
    arrived_at = models.DateTimeField()
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-arrived_at", "-id"]
        verbose_name_plural = "deliveries"

    def __str__(self) -> str:
        return f"{self.supplier} {self.arrived_at:%Y-%m-%d}"


class OrderQuerySet(models.QuerySet["Order"]):
    def open(self) -> "OrderQuerySet":
        """On its way: neither arrived nor cancelled."""
        return self.filter(outcome="")


class Order(models.Model):
    """So much of a material was ordered. Open until it arrived or was cancelled; its state is never changed back."""

    class Outcome(models.TextChoices):
        ARRIVED = "arrived", _("arrived")
        CANCELLED = "cancelled", _("cancelled")

    material = models.ForeignKey(Material, models.PROTECT, related_name="orders")
    supplier = models.ForeignKey(Supplier, models.PROTECT, null=True, blank=True, related_name="orders")
    quantity = models.BigIntegerField()
    ordered_on = models.DateField(_("ordered on"))
    expected_on = models.DateField(_("expected on"))
    note = models.CharField(_("note"), max_length=300, blank=True)
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    outcome = models.CharField(max_length=10, choices=Outcome.choices, blank=True)
    ended_by = models.ForeignKey("coop.Deed", models.PROTECT, null=True, blank=True, related_name="+")

    objects = OrderQuerySet.as_manager()

    class Meta:
        ordering = ["expected_on", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(quantity__gt=0), name="inventory_order_quantity"),
            models.CheckConstraint(
                condition=Q(outcome="", ended_by__isnull=True)
                | Q(outcome__in=["arrived", "cancelled"], ended_by__isnull=False),
                name="inventory_order_ended",
            ),
        ]
