"""A soak: strips of one blank lot in the tub, what was poured on them, and the marked ones."""

import datetime as dt

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from batches.models.bench import Bench
from batches.models.equipment import Equipment
from batches.models.mixes import Clarity, Mix
from batches.science import clock
from inventory.models import Item


class SoakQuerySet(models.QuerySet["Soak"]):
    def for_list(self) -> "SoakQuerySet":
        return self.select_related("item", "bench__recipe", "bench__instructions", "bench__recorder", "blanks")

    def waiting_for_release(self) -> "SoakQuerySet":
        """Lifted, its bench closed, and nobody has decided yet (or it came back from rework)."""
        return self.filter(state__in=[Soak.State.LIFTED, Soak.State.REWORK], bench__state=Bench.State.CLOSED)

    def in_the_tub(self) -> "SoakQuerySet":
        return self.filter(state=Soak.State.SOAKING)


class Soak(models.Model):
    """Strips in one tub. Its item counts pieces; the solution in the tub stays a mass of its mixes."""

    class State(models.TextChoices):
        LAID = "laid", _("strips laid")
        SOAKING = "soaking", _("in the tub")
        LIFTED = "lifted", _("lifted")
        RELEASED = "released", _("released")
        REJECTED = "rejected", _("rejected")
        REWORK = "rework", _("back to rework")
        ABANDONED = "abandoned", _("abandoned")

    DECIDED = ("released", "rejected", "abandoned")

    item = models.OneToOneField(Item, models.PROTECT, related_name="soak")
    bench = models.ForeignKey(Bench, models.PROTECT, related_name="soaks")
    number = models.PositiveSmallIntegerField()
    state = models.CharField(max_length=10, choices=State.choices, default=State.LAID)
    blanks = models.ForeignKey(Item, models.PROTECT, related_name="+")
    strips = models.PositiveIntegerField(_("strips laid"))
    laid_at = models.DateTimeField()
    poured_at = models.DateTimeField(null=True, blank=True)
    lifted_at = models.DateTimeField(null=True, blank=True)
    min_mc = models.IntegerField(_("room, lowest"), null=True, blank=True)
    max_mc = models.IntegerField(_("room, highest"), null=True, blank=True)
    clarity = models.CharField(_("tub at lift"), max_length=8, choices=Clarity.choices, blank=True)
    drain_min = models.PositiveSmallIntegerField(_("minutes drained"), null=True, blank=True)
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")

    objects = SoakQuerySet.as_manager()

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.UniqueConstraint(fields=["bench", "number"], name="batches_soak_number"),
            models.CheckConstraint(condition=Q(strips__gt=0), name="batches_soak_strips"),
            models.CheckConstraint(
                condition=Q(min_mc__isnull=True) | Q(max_mc__isnull=True) | Q(max_mc__gte=F("min_mc")),
                name="batches_soak_room",
            ),
        ]
        indexes = [models.Index(fields=["state", "poured_at"])]

    def __str__(self) -> str:
        return str(self.item)

    def lift_due_at(self) -> dt.datetime | None:
        """Elapsed hours from the first pour, whatever the wall clock does."""
        return clock.after(self.poured_at, self.bench.recipe.soak_hours) if self.poured_at else None

    def hours(self, now: dt.datetime | None = None) -> float | None:
        """Elapsed hours in the tub until the lift, or until now."""
        end = self.lifted_at or now
        return clock.hours(self.poured_at, end) if self.poured_at and end else None


class Pour(models.Model):
    """So much of a mix went into a tub: the pail before less the pail after."""

    mix = models.ForeignKey(Mix, models.PROTECT, related_name="pours")
    soak = models.ForeignKey(Soak, models.PROTECT, related_name="pours")
    before_mg = models.BigIntegerField(_("pail before"), null=True, blank=True)
    after_mg = models.BigIntegerField(_("pail after"), null=True, blank=True)
    mass_mg = models.BigIntegerField()
    temp_mc = models.IntegerField(_("solution"), null=True, blank=True)
    clarity = models.CharField(_("clarity"), max_length=8, choices=Clarity.choices, blank=True)
    covered_mm = models.PositiveSmallIntegerField(_("covered by, mm"), null=True, blank=True)
    is_topup = models.BooleanField(_("topping up"), default=False)
    has_lid = models.BooleanField(_("weight on, lid on"), default=False)
    scale = models.ForeignKey(Equipment, models.PROTECT, null=True, blank=True, related_name="pours")
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    happened_at = models.DateTimeField()

    class Meta:
        ordering = ["happened_at", "id"]
        constraints = [models.CheckConstraint(condition=Q(mass_mg__gt=0), name="batches_pour_mass")]


class Look(models.Model):
    """A look into the tub while the strips soak."""

    soak = models.ForeignKey(Soak, models.PROTECT, related_name="looks")
    is_covered = models.BooleanField(_("all covered"), default=True)
    has_crystals = models.BooleanField(_("crystals"), default=False)
    min_mc = models.IntegerField(_("room, lowest"), null=True, blank=True)
    max_mc = models.IntegerField(_("room, highest"), null=True, blank=True)
    note = models.CharField(_("note"), max_length=300, blank=True)
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    happened_at = models.DateTimeField()

    class Meta:
        ordering = ["happened_at", "id"]


class MarkedStrip(models.Model):
    """One of the strips marked before the soak: weighed dry, and wet after the lift."""

    soak = models.ForeignKey(Soak, models.PROTECT, related_name="marked")
    n = models.PositiveSmallIntegerField()
    dry_mg = models.BigIntegerField()
    wet_mg = models.BigIntegerField(null=True, blank=True)
    dry_scale = models.ForeignKey(Equipment, models.PROTECT, null=True, blank=True, related_name="marked_dry")
    wet_scale = models.ForeignKey(Equipment, models.PROTECT, null=True, blank=True, related_name="marked_wet")
    dry_at = models.DateTimeField()
    wet_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["soak", "n"]
        constraints = [
            models.UniqueConstraint(fields=["soak", "n"], name="batches_marked_n"),
            models.CheckConstraint(condition=Q(dry_mg__gt=0), name="batches_marked_dry"),
            models.CheckConstraint(condition=Q(wet_mg__isnull=True) | Q(wet_mg__gt=0), name="batches_marked_wet"),
        ]
