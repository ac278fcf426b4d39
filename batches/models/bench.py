"""The bench record: one day's work from plan to close, and who was there."""

from typing import Any

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from batches.models.recipes import Instructions, Recipe
from coop.models import Person
from inventory.models import Item, Place


class BenchQuerySet(models.QuerySet["Bench"]):
    def open(self) -> "BenchQuerySet":
        return self.filter(state__in=[Bench.State.PLANNED, Bench.State.RUNNING])

    def for_list(self) -> "BenchQuerySet":
        return self.select_related("recipe", "instructions", "recorder", "place").prefetch_related(
            "mixes__item", "soaks__item"
        )


class Bench(models.Model):
    """One bench record. `plan` holds the figures to reach, `limits` the limits in force, both as they were then.

    `plan`: {"target_mg", "strips", "w_ppb", "acid_mg", "glycerine_mg", "returned_mg", "volume_ml",
    "mixes": [{"target_mg", "lines": [{"item": id, "role": "acid|glycerine|returned", "mass_mg"}]}],
    "warnings": [sentence]}.
    """

    class State(models.TextChoices):
        PLANNED = "planned", _("planned")
        RUNNING = "running", _("running")
        CLOSED = "closed", _("closed")
        ABANDONED = "abandoned", _("abandoned")

    day = models.DateField(_("day"))
    state = models.CharField(max_length=10, choices=State.choices, default=State.PLANNED)
    recipe = models.ForeignKey(Recipe, models.PROTECT, related_name="benches")
    instructions = models.ForeignKey(Instructions, models.PROTECT, null=True, blank=True, related_name="benches")
    place = models.ForeignKey(Place, models.PROTECT, related_name="benches")
    blanks = models.ForeignKey(Item, models.PROTECT, null=True, blank=True, related_name="+")
    recorder = models.ForeignKey(Person, models.PROTECT, null=True, blank=True, related_name="benches_recorded")
    plan: Any = models.JSONField(default=dict)
    limits: Any = models.JSONField(default=dict)
    ready: Any = models.JSONField(_("what stood ready"), default=list, blank=True)
    room_mc = models.IntegerField(_("room at the start"), null=True, blank=True)
    note = models.CharField(_("note"), max_length=300, blank=True)
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    started_at = models.DateTimeField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)

    objects = BenchQuerySet.as_manager()

    class Meta:
        ordering = ["-day", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(state="running") | Q(recorder__isnull=False, started_at__isnull=False),
                name="batches_bench_running",
            ),
            models.CheckConstraint(
                condition=Q(state__in=["planned", "running"]) | Q(closed_at__isnull=False), name="batches_bench_ended"
            ),
        ]
        indexes = [models.Index(fields=["state", "-day"])]

    def __str__(self) -> str:
        return f"{self.day:%Y-%m-%d}"

    @property
    def is_open(self) -> bool:
        return self.state in (self.State.PLANNED, self.State.RUNNING)


class Presence(models.Model):
    """Who was at the bench, in what gear. Everybody here is of the bench team, and so no releaser of its soaks."""

    GEAR = ("goggles", "gloves", "mask", "apron")

    bench = models.ForeignKey(Bench, models.CASCADE, related_name="presences")
    person = models.ForeignKey(Person, models.PROTECT, related_name="presences")
    gear: Any = models.JSONField(default=list)
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")

    class Meta:
        ordering = ["id"]
        constraints = [models.UniqueConstraint(fields=["bench", "person"], name="batches_presence_once")]
