"""The incident book: a spill or a splash, who was there, and what was done."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from coop import reader
from inventory.models.ledger import Movement
from inventory.models.places import Place


class Incident(models.Model):
    """Written once, by whoever saw it; what turns out different is written as another one.

    `people` says in their own words who was there or hurt: pages read it as `people_words`.
    """

    place = models.ForeignKey(Place, models.PROTECT, null=True, blank=True, related_name="incidents")
    what = models.CharField(_("what happened"), max_length=500)
    people = models.CharField(_("who was there or hurt"), max_length=200, blank=True)
    done = models.CharField(_("what was done"), max_length=500, blank=True)
    movement = models.OneToOneField(Movement, models.PROTECT, null=True, blank=True, related_name="incident")
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    happened_at = models.DateTimeField()

    class Meta:
        ordering = ["-happened_at", "-id"]

    def __str__(self) -> str:
        return self.what

    @property
    def people_words(self) -> str:
        """Who was there or hurt, for readers who may learn it; "" for others."""
        return str(self.people) if reader.may_read_words_of(self.deed.actor) else ""

    @property
    def standing(self) -> Movement | None:
        """What stands of its movement, which was perhaps set right; None when nothing was spilt after all."""
        movement = self.movement
        while movement is not None and hasattr(movement, "reversed_by"):
            movement = getattr(movement, "replaced_by", None)
        return movement
