"""A mix: what was weighed into the pail, how it was heated, and what strength came of it."""

import datetime as dt

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from batches.models.bench import Bench
from batches.models.equipment import Equipment
from coop.models import Person
from inventory.models import Container, Item, Movement


class Clarity(models.TextChoices):
    """What a torch at the bottom shows."""

    LUMPS = "lumps", _("lumps")
    GRAINS = "grains", _("grains")
    CLOUDY = "cloudy", _("cloudy")
    HAZY = "hazy", _("hazy")
    CLEAR = "clear", _("clear")
    CRYSTALS = "crystals", _("crystals")
    COLOURED = "coloured", _("coloured")


class Mix(models.Model):
    """One pail of a bench. Its item is counted in milligrams of solution."""

    item = models.OneToOneField(Item, models.PROTECT, related_name="mix")
    bench = models.ForeignKey(Bench, models.PROTECT, related_name="mixes")
    number = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["bench", "number"]
        constraints = [models.UniqueConstraint(fields=["bench", "number"], name="batches_mix_number")]

    def __str__(self) -> str:
        return str(self.item)

    def first_poured_at(self) -> dt.datetime | None:
        pour = self.pours.order_by("happened_at").first()
        return pour.happened_at if pour else None


class Weighing(models.Model):
    """So much of a lot or of a returned solution went into the pail. `drawn` and `made` are the standing movements."""

    mix = models.ForeignKey(Mix, models.PROTECT, related_name="weighings")
    item = models.ForeignKey(Item, models.PROTECT, related_name="weighings")
    container = models.ForeignKey(Container, models.PROTECT, null=True, blank=True, related_name="+")
    target_mg = models.BigIntegerField(null=True, blank=True)
    mass_mg = models.BigIntegerField()
    tare_mg = models.BigIntegerField(_("before"), null=True, blank=True)
    gross_mg = models.BigIntegerField(_("after"), null=True, blank=True)
    first_mass_mg = models.BigIntegerField(_("as first entered"))
    scale = models.ForeignKey(Equipment, models.PROTECT, null=True, blank=True, related_name="weighings")
    second_eyes = models.ForeignKey(Person, models.PROTECT, null=True, blank=True, related_name="+")
    was_caked = models.BooleanField(_("caked"), default=False)
    drawn = models.ForeignKey(Movement, models.PROTECT, related_name="+")
    made = models.ForeignKey(Movement, models.PROTECT, related_name="+")
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    corrected = models.ForeignKey("coop.Deed", models.PROTECT, null=True, blank=True, related_name="+")
    reason = models.CharField(_("why corrected"), max_length=300, blank=True)
    happened_at = models.DateTimeField()

    class Meta:
        ordering = ["happened_at", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(mass_mg__gte=0, first_mass_mg__gt=0), name="batches_weighing_mass")
        ]


class PailCheck(models.Model):
    """The whole pail on the scale, net, beside the sum of its parts."""

    mix = models.ForeignKey(Mix, models.PROTECT, related_name="pail_checks")
    total_mg = models.BigIntegerField()
    expected_mg = models.BigIntegerField()
    scale = models.ForeignKey(Equipment, models.PROTECT, null=True, blank=True, related_name="pail_checks")
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    happened_at = models.DateTimeField()

    class Meta:
        ordering = ["happened_at", "id"]
        constraints = [models.CheckConstraint(condition=Q(total_mg__gt=0), name="batches_pailcheck_total")]


class Reading(models.Model):
    """One look at the thermometer and into the pail or tub. `corrected_mc` uses the last check before it."""

    mix = models.ForeignKey(Mix, models.PROTECT, null=True, blank=True, related_name="readings")
    soak = models.ForeignKey("batches.Soak", models.PROTECT, null=True, blank=True, related_name="readings")
    solution_mc = models.IntegerField(_("solution"))
    bath_mc = models.IntegerField(_("bath"), null=True, blank=True)
    was_stirred = models.BooleanField(_("stirred"), default=False)
    clarity = models.CharField(_("clarity"), max_length=8, choices=Clarity.choices, blank=True)
    thermometer = models.ForeignKey(Equipment, models.PROTECT, null=True, blank=True, related_name="readings")
    corrected_mc = models.IntegerField()
    expanded_mc = models.IntegerField(_("U, k = 2"))
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    happened_at = models.DateTimeField()

    class Meta:
        ordering = ["happened_at", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(mix__isnull=False, soak__isnull=True) | Q(mix__isnull=True, soak__isnull=False),
                name="batches_reading_of_one",
            ),
            models.CheckConstraint(condition=Q(expanded_mc__gte=0), name="batches_reading_u"),
        ]
        indexes = [models.Index(fields=["mix", "happened_at"])]


class Solution(models.Model):
    """The strength of a mix, of a returned solution, or of a tub that was titrated: a fact about its item.

    `w_ppb` is what counts; `weighed_ppb` is what the weighings give, kept beside a titrated strength.
    """

    class Source(models.TextChoices):
        COMPUTED = "computed", _("computed")
        TITRATED = "titrated", _("titrated")

    item = models.OneToOneField(Item, models.PROTECT, primary_key=True, related_name="solution")
    w_ppb = models.BigIntegerField(null=True, blank=True)
    u_ppb = models.BigIntegerField(default=0)
    weighed_ppb = models.BigIntegerField(null=True, blank=True)
    source = models.CharField(max_length=8, choices=Source.choices, default=Source.COMPUTED)
    reuse = models.PositiveSmallIntegerField(default=0)
    reheats = models.PositiveSmallIntegerField(default=0)
    clarity = models.CharField(max_length=8, choices=Clarity.choices, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(w_ppb__isnull=True) | Q(w_ppb__gte=0, w_ppb__lte=1_500_000_000), name="batches_solution_w"
            ),
            models.CheckConstraint(condition=Q(u_ppb__gte=0), name="batches_solution_u"),
        ]

    @property
    def is_titrated(self) -> bool:
        return self.source == self.Source.TITRATED


class Titration(models.Model):
    """A strength found by titration. NaOH sees free acid only; how it was done stands in `method`."""

    item = models.ForeignKey(Item, models.PROTECT, related_name="titrations")
    w_ppb = models.BigIntegerField()
    u_ppb = models.BigIntegerField()
    method = models.CharField(_("how, and with what"), max_length=300)
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    happened_at = models.DateTimeField()

    class Meta:
        ordering = ["-happened_at", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(w_ppb__gt=0, w_ppb__lt=1_500_000_000, u_ppb__gte=0), name="batches_titration_w"
            )
        ]
