"""Whom the club buys from."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _


class Supplier(models.Model):
    name = models.CharField(_("name"), max_length=120, unique=True)
    address = models.CharField(_("address"), max_length=200, blank=True)
    phone = models.CharField(_("phone"), max_length=40, blank=True)
    email = models.EmailField(_("e-mail"), blank=True)
    lead_days = models.PositiveSmallIntegerField(_("days from order to delivery"), default=14)
    order_weekdays = models.CharField(
        _("takes orders on"), max_length=7, default="12345", help_text=_("ISO weekdays: 1 is Monday, 7 is Sunday")
    )

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(order_weekdays__regex=r"^1?2?3?4?5?6?7?$"), name="inventory_supplier_days"
            ),
            models.CheckConstraint(condition=~Q(order_weekdays=""), name="inventory_supplier_some_day"),
        ]

    def __str__(self) -> str:
        return self.name
