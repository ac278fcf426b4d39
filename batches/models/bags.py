"""What comes out of a soak: bags and parts of bags, retained samples, returned solution."""

import datetime as dt

from django.db import models
from django.db.models import Q, Sum
from django.db.models.functions import Coalesce
from django.utils.translation import gettext_lazy as _

from batches.models.equipment import Equipment
from batches.models.mixes import Mix
from batches.models.soaks import Soak
from inventory.models import Item


class BagQuerySet(models.QuerySet["Bag"]):
    def released(self, day: dt.date | None = None) -> "BagQuerySet":
        """Bags of released soaks that were not split off; with a local day also those still in date on it.

        Holds are not asked here: a hold is computed through ancestry, see batches.queries.bags.may_go_out.
        """
        bags = self.filter(soak__state=Soak.State.RELEASED, split_off=None, parent__split_off=None)
        if day is not None:
            bags = bags.filter(Q(item__best_before=None) | Q(item__best_before__gte=day))
        return bags

    def in_store(self) -> "BagQuerySet":
        """Bags with strips on a shelf, each with `in_store` strips."""
        return self.annotate(
            in_store=Coalesce(
                Sum("item__holdings__quantity", filter=Q(item__holdings__place__kind="shed")),
                0,
                output_field=models.BigIntegerField(),
            )
        ).filter(in_store__gt=0)

    def for_list(self) -> "BagQuerySet":
        return self.select_related("item", "soak__item", "soak__bench", "parent__item")


class Bag(models.Model):
    """A bag of strips with a code of its own. A part of a bag names the whole bag it came from in `parent`."""

    item = models.OneToOneField(Item, models.PROTECT, related_name="bag")
    soak = models.ForeignKey(Soak, models.PROTECT, related_name="bags")
    parent = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="parts")
    strips = models.PositiveIntegerField(_("strips"))
    tare_mg = models.BigIntegerField(_("empty bag"), null=True, blank=True)
    gross_mg = models.BigIntegerField(_("full bag"), null=True, blank=True)
    net_mg = models.BigIntegerField(_("net"), null=True, blank=True)
    has_label = models.BooleanField(_("label in place"), default=True)
    scale = models.ForeignKey(Equipment, models.PROTECT, null=True, blank=True, related_name="bags")
    split_off = models.ForeignKey("coop.Deed", models.PROTECT, null=True, blank=True, related_name="+")
    split_reason = models.CharField(max_length=300, blank=True)
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    happened_at = models.DateTimeField()

    objects = BagQuerySet.as_manager()

    class Meta:
        ordering = ["soak", "id"]
        constraints = [
            models.CheckConstraint(condition=Q(strips__gt=0), name="batches_bag_strips"),
            models.CheckConstraint(
                condition=Q(parent__isnull=False) | Q(net_mg__isnull=False, net_mg__gt=0), name="batches_bag_net"
            ),
        ]

    def __str__(self) -> str:
        return str(self.item)

    @property
    def whole(self) -> "Bag":
        """The bag that was weighed: itself, or the one it is a part of."""
        return self.parent or self

    @property
    def is_split_off(self) -> bool:
        return self.whole.split_off_id is not None or self.split_off_id is not None


class Sample(models.Model):
    """Strips kept back for later doubt."""

    item = models.OneToOneField(Item, models.PROTECT, related_name="sample")
    soak = models.ForeignKey(Soak, models.PROTECT, related_name="samples")
    strips = models.PositiveIntegerField(_("strips"))
    net_mg = models.BigIntegerField(_("net"), null=True, blank=True)
    scale = models.ForeignKey(Equipment, models.PROTECT, null=True, blank=True, related_name="samples")
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    happened_at = models.DateTimeField()

    class Meta:
        ordering = ["soak", "id"]
        constraints = [models.CheckConstraint(condition=Q(strips__gt=0), name="batches_sample_strips")]


class ReturnedSolution(models.Model):
    """What went back on the shelf from a tub, or from the pail. Its strength stands in Solution."""

    item = models.OneToOneField(Item, models.PROTECT, related_name="returned")
    soak = models.ForeignKey(Soak, models.PROTECT, null=True, blank=True, related_name="returned")
    mix = models.ForeignKey(Mix, models.PROTECT, null=True, blank=True, related_name="returned")
    mass_mg = models.BigIntegerField()
    container = models.CharField(_("container"), max_length=80, blank=True)
    scale = models.ForeignKey(Equipment, models.PROTECT, null=True, blank=True, related_name="returned")
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    happened_at = models.DateTimeField()

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(mix__isnull=False, soak__isnull=True) | Q(mix__isnull=True, soak__isnull=False),
                name="batches_returned_from_one",
            ),
            models.CheckConstraint(condition=Q(mass_mg__gt=0), name="batches_returned_mass"),
        ]
