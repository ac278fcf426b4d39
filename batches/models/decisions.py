"""What somebody had to decide: deviations, and the release of a soak."""

from typing import Any

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from batches.models.bench import Bench
from batches.models.soaks import Soak
from coop.models import Person


class DeviationQuerySet(models.QuerySet["Deviation"]):
    def about(self, soak: Soak) -> "DeviationQuerySet":
        """Those of this soak and those of its bench as a whole."""
        return self.filter(Q(soak=soak) | Q(bench=soak.bench_id, soak=None))

    def undecided(self) -> "DeviationQuerySet":
        return self.filter(decided=None)


class Deviation(models.Model):
    """Something was not as planned. Opened by one person, decided by another. `kind` is that of a row of the release
    table (a bag's has its code: "bag-KXJV3Y4X"), or late, team, other."""

    bench = models.ForeignKey(Bench, models.PROTECT, related_name="deviations")
    soak = models.ForeignKey(Soak, models.PROTECT, null=True, blank=True, related_name="deviations")
    kind = models.CharField(max_length=24)
    text = models.CharField(_("what happened"), max_length=300)
    reason = models.CharField(_("why it may pass"), max_length=500, blank=True)
    opened = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    reasoned = models.ForeignKey("coop.Deed", models.PROTECT, null=True, blank=True, related_name="+")
    decided = models.ForeignKey("coop.Deed", models.PROTECT, null=True, blank=True, related_name="+")
    is_accepted = models.BooleanField(null=True, blank=True)
    decision = models.CharField(_("words of the decision"), max_length=300, blank=True)

    objects = DeviationQuerySet.as_manager()

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(decided__isnull=True, is_accepted__isnull=True)
                | Q(decided__isnull=False, is_accepted__isnull=False),
                name="batches_deviation_decided",
            )
        ]

    def __str__(self) -> str:
        return self.text


class Release(models.Model):
    """A decision on one soak, with the table as it stood. The database refuses the recorder as releaser (trigger)."""

    class Verdict(models.TextChoices):
        RELEASED = "released", _("released")
        REJECTED = "rejected", _("rejected")
        REWORK = "rework", _("back to rework")

    soak = models.ForeignKey(Soak, models.PROTECT, related_name="releases")
    verdict = models.CharField(max_length=8, choices=Verdict.choices)
    person = models.ForeignKey(Person, models.PROTECT, related_name="releases")
    table: Any = models.JSONField(default=dict)
    note = models.CharField(_("note"), max_length=500, blank=True)
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    decided_at = models.DateTimeField()

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.UniqueConstraint(fields=["soak"], condition=Q(verdict="released"), name="batches_release_once")
        ]
