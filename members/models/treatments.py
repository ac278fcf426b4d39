"""Strips in hives: when they went in, when they are due out, and what came out."""

import datetime as dt

from django.db import models
from django.db.models import F, Q, Sum
from django.utils.translation import gettext_lazy as _

from batches.models import Instructions
from coop.models import Person
from inventory.models import Item
from members.models.apiaries import Apiary, Hive


class TreatmentQuerySet(models.QuerySet["Treatment"]):
    def visible_to(self, person: Person) -> "TreatmentQuerySet":
        return self if person.is_coordinator else self.filter(apiary__keeper=person)

    def still_in(self) -> "TreatmentQuerySet":
        """With strips in a hive."""
        return self.filter(out_on=None)

    def overdue(self, day: dt.date) -> "TreatmentQuerySet":
        """In longer than the instructions say, on a local day."""
        return self.still_in().filter(due_on__lt=day)

    def for_list(self) -> "TreatmentQuerySet":
        return self.select_related("apiary__keeper", "instructions").annotate(
            strips_in=Sum("lines__strips_in"),
            strips_out=Sum("lines__strips_out"),
            strips_chewed=Sum("lines__strips_chewed"),
            hives=models.Count("lines__hive", distinct=True),
        )


class Treatment(models.Model):
    """Strips put into hives of one apiary on one local day by one version of the instructions.

    `due_on` is `in_on` and so many calendar days. `out_on` is the day the last strip came out, or was found gone.
    """

    apiary = models.ForeignKey(Apiary, models.PROTECT, related_name="treatments")
    instructions = models.ForeignKey(Instructions, models.PROTECT, related_name="treatments")
    in_on = models.DateField(_("in on"))
    due_on = models.DateField(_("due out on"))
    out_on = models.DateField(_("out on"), null=True, blank=True)
    is_late = models.BooleanField(_("entered on a later day"), default=False)
    sequence = models.PositiveIntegerField(default=0, help_text="rises when a date changes, for calendars")
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")

    objects = TreatmentQuerySet.as_manager()

    class Meta:
        ordering = ["-in_on", "-id"]
        constraints = [models.CheckConstraint(condition=Q(due_on__gt=F("in_on")), name="members_treatment_due")]
        indexes = [models.Index(fields=["out_on", "due_on"])]

    def __str__(self) -> str:
        return f"{self.apiary}, {self.in_on}"


class TreatmentLine(models.Model):
    """Strips of one bag in one hive: put in, taken out and disposed of, chewed away by the bees or not found."""

    treatment = models.ForeignKey(Treatment, models.CASCADE, related_name="lines")
    hive = models.ForeignKey(Hive, models.PROTECT, related_name="treatments")
    item = models.ForeignKey(Item, models.PROTECT, related_name="treatments")
    strips_in = models.PositiveIntegerField()
    strips_out = models.PositiveIntegerField(default=0)
    strips_chewed = models.PositiveIntegerField(_("chewed away"), default=0)

    class Meta:
        ordering = ["treatment", "hive", "id"]
        constraints = [
            models.UniqueConstraint(fields=["treatment", "hive", "item"], name="members_line_once"),
            models.CheckConstraint(condition=Q(strips_in__gt=0), name="members_line_strips"),
            models.CheckConstraint(
                condition=Q(strips_in__gte=F("strips_out") + F("strips_chewed")), name="members_line_not_more_out"
            ),
        ]

    @property
    def still_in(self) -> int:
        return self.strips_in - self.strips_out - self.strips_chewed
