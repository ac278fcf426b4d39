"""What was set right about a lot: typed once wrong, kept beside what stands now."""

from typing import Any

from django.db import models
from django.utils.translation import gettext_lazy as _

from inventory.models.items import Lot


class Amendment(models.Model):
    """One correction of a lot's papers. `before` and `after` hold the same fields: text, numbers, ISO days, row ids."""

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="amendments")
    before: Any = models.JSONField(default=dict)
    after: Any = models.JSONField(default=dict)
    reason = models.CharField(_("why"), max_length=300)
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    happened_at = models.DateTimeField()

    class Meta:
        ordering = ["-id"]

    def __str__(self) -> str:
        return self.reason
