"""Where members keep their hives. Hives are rows, from a day until a day."""

import datetime as dt

from django.db import models
from django.db.models import Count, F, Q
from django.utils.translation import gettext_lazy as _

from coop.models import HiveKind, Person
from inventory.models import Place


class ApiaryQuerySet(models.QuerySet["Apiary"]):
    def visible_to(self, person: Person) -> "ApiaryQuerySet":
        """One's own; all of them for a coordinator."""
        return self if person.is_coordinator else self.filter(keeper=person)

    def with_hives(self, day: dt.date) -> "ApiaryQuerySet":
        """Adds `hives_now`: how many stand there on a local day."""
        standing = Q(hives__from_on__lte=day) & (Q(hives__until_on=None) | Q(hives__until_on__gt=day))
        return self.annotate(hives_now=Count("hives", filter=standing, distinct=True))

    def for_list(self) -> "ApiaryQuerySet":
        return self.select_related("keeper", "place")


class Apiary(models.Model):
    """A keeper's stand of hives. `where` is coarse on purpose: a village, never an address."""

    keeper = models.ForeignKey(Person, models.PROTECT, related_name="apiaries")
    name = models.CharField(_("name"), max_length=80)
    where = models.CharField(_("roughly where"), max_length=120, blank=True)
    place = models.OneToOneField(Place, models.PROTECT, related_name="apiary")
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")

    objects = ApiaryQuerySet.as_manager()

    class Meta:
        ordering = ["name", "id"]
        constraints = [models.UniqueConstraint(fields=["keeper", "name"], name="members_apiary_name")]

    def __str__(self) -> str:
        return self.name


class HiveQuerySet(models.QuerySet["Hive"]):
    def visible_to(self, person: Person) -> "HiveQuerySet":
        return self if person.is_coordinator else self.filter(apiary__keeper=person)

    def standing(self, day: dt.date) -> "HiveQuerySet":
        """There on a local day."""
        return self.filter(from_on__lte=day).filter(Q(until_on=None) | Q(until_on__gt=day))


class Hive(models.Model):
    """One hive of a kind. It ends on `until_on`, and is no longer there on that day."""

    class Ending(models.TextChoices):
        LOST = "lost", _("lost")
        SOLD = "sold", _("sold or given away")
        MERGED = "merged", _("merged into another")
        MOVED = "moved", _("moved to another apiary")

    kind = models.ForeignKey(HiveKind, models.PROTECT, related_name="hives")
    apiary = models.ForeignKey(Apiary, models.PROTECT, related_name="hives")
    label = models.CharField(_("mark on the hive"), max_length=40)
    from_on = models.DateField(_("there since"))
    until_on = models.DateField(_("gone on"), null=True, blank=True)
    ending = models.CharField(_("how it ended"), max_length=8, choices=Ending.choices, blank=True)
    came_from = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="went_on_as")
    merged_into = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="took_in")
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    ended_by = models.ForeignKey("coop.Deed", models.PROTECT, null=True, blank=True, related_name="+")

    objects = HiveQuerySet.as_manager()

    class Meta:
        ordering = ["apiary", "id"]
        constraints = [
            models.CheckConstraint(
                condition=Q(until_on=None) | Q(until_on__gte=F("from_on")), name="members_hive_span"
            ),
            models.CheckConstraint(
                condition=Q(until_on=None, ending="") | (Q(until_on__isnull=False) & ~Q(ending="")),
                name="members_hive_ending",
            ),
        ]
        indexes = [models.Index(fields=["apiary", "until_on"])]

    def __str__(self) -> str:
        return self.label
