"""Recipes (chemistry and limits) and instructions (hive doses), versioned apart and never altered once written."""

from django.db import models
from django.db.models import F, OuterRef, Q, Subquery
from django.utils.translation import gettext_lazy as _

from coop.models import HiveKind


class VersionedQuerySet(models.QuerySet):  # type: ignore[type-arg]
    def current(self) -> "VersionedQuerySet":
        """The newest version under each name, unless the name was retired."""
        newest = self.model._default_manager.filter(name=OuterRef("name")).order_by("-version").values("pk")[:1]
        return self.filter(pk=Subquery(newest), retired_at=None).order_by("name")


class Recipe(models.Model):
    """One version of a recipe. A change makes a new version; a written version is never altered (by trigger)."""

    name = models.CharField(_("name"), max_length=120)
    version = models.PositiveIntegerField()
    w_ppb = models.BigIntegerField(_("strength aimed at, mass fraction of dihydrate"))
    uptake_mg = models.BigIntegerField(_("solution one strip takes up"))
    content_low_mg = models.BigIntegerField(_("strip content, at least"))
    content_high_mg = models.BigIntegerField(_("strip content, at most"))
    tub_mg = models.BigIntegerField(_("so much solution in the tub"))
    tub_strips = models.PositiveIntegerField(_("covers so many strips"))
    u_w_ppb = models.BigIntegerField(_("standard uncertainty of a strength weighed in"), default=0)
    soak_hours = models.PositiveSmallIntegerField(_("hours in the tub, aimed at"), default=48)
    steps = models.TextField(_("steps, in the club's own words"), blank=True)
    source = models.CharField(_("where it comes from"), max_length=300, blank=True)
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    retired_at = models.DateTimeField(null=True, blank=True)

    objects = VersionedQuerySet.as_manager()

    class Meta:
        ordering = ["name", "-version"]
        constraints = [
            models.UniqueConstraint(fields=["name", "version"], name="batches_recipe_version"),
            models.CheckConstraint(condition=Q(w_ppb__gt=0, w_ppb__lt=1_000_000_000), name="batches_recipe_w"),
            models.CheckConstraint(
                condition=Q(uptake_mg__gt=0, tub_mg__gt=0, tub_strips__gt=0, u_w_ppb__gte=0),
                name="batches_recipe_amounts",
            ),
            models.CheckConstraint(
                condition=Q(content_low_mg__gt=0, content_high_mg__gt=F("content_low_mg")), name="batches_recipe_band"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name}, {self.version}"

    def strips_covered(self, mass_mg: int) -> int:
        """Whole strips that so much solution covers in the tub."""
        return mass_mg * self.tub_strips // self.tub_mg

    def mass_for(self, strips: int) -> int:
        """Milligrams of solution that cover so many strips, rounded up."""
        return -(-strips * self.tub_mg // self.tub_strips)


class Instructions(models.Model):
    """One version of the instructions that go with the strips. What they say is the club's own, with its source."""

    name = models.CharField(_("name"), max_length=120)
    version = models.PositiveIntegerField()
    days = models.PositiveSmallIntegerField(_("days in the hive"))
    supers_text = models.CharField(_("honey supers"), max_length=300, blank=True)
    withdrawal_text = models.CharField(_("withdrawal"), max_length=300, blank=True)
    source = models.CharField(_("where it comes from"), max_length=300)
    text = models.TextField(_("what the member reads"), blank=True)
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    retired_at = models.DateTimeField(null=True, blank=True)

    objects = VersionedQuerySet.as_manager()

    class Meta:
        ordering = ["name", "-version"]
        constraints = [
            models.UniqueConstraint(fields=["name", "version"], name="batches_instructions_version"),
            models.CheckConstraint(condition=Q(days__gt=0), name="batches_instructions_days"),
        ]

    def __str__(self) -> str:
        return f"{self.name}, {self.version}"


class InstructionsDose(models.Model):
    """Strips for one hive of a kind."""

    instructions = models.ForeignKey(Instructions, models.CASCADE, related_name="doses")
    hive_kind = models.ForeignKey(HiveKind, models.PROTECT, related_name="doses")
    strips = models.PositiveSmallIntegerField(_("strips a hive"))

    class Meta:
        ordering = ["hive_kind__order", "hive_kind__name"]
        constraints = [
            models.UniqueConstraint(fields=["instructions", "hive_kind"], name="batches_dose_once"),
            models.CheckConstraint(condition=Q(strips__gt=0), name="batches_dose_strips"),
        ]

    def __str__(self) -> str:
        return f"{self.hive_kind}: {self.strips}"
