"""Where things are, and the boundaries they come and go through."""

from typing import TYPE_CHECKING

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from coop import reader
from coop.models import Person

if TYPE_CHECKING:
    from inventory.models.items import Item


class PlaceManager(models.Manager["Place"]):
    """Places are found by what they are for; those that need no naming are made the first time they are asked for."""

    def the(self, kind: "Place.Kind") -> "Place":
        """The one place of a kind of which there is one: destroyed, lost, retained, quarantine, made, found ..."""
        return self.get_or_create(
            kind=kind, item=None, person=None, is_the_one=True, defaults={"name": str(kind.label)}
        )[0]

    def bench_of(self, item: "Item") -> "Place":
        """The real place of a mix or soak in progress."""
        return self.get_or_create(kind=Place.Kind.BENCH, item=item, defaults={"name": f"bench {item}"})[0]

    def used_in(self, item: "Item") -> "Place":
        """The boundary through which inputs become part of an item: movements into it are that item's edges."""
        return self.get_or_create(kind=Place.Kind.USED, item=item, defaults={"name": f"used in {item}"})[0]

    def of_member(self, person: Person) -> "Place":
        """With a member. The place bears no name of theirs, so that nothing of it stays when they leave."""
        return self.get_or_create(kind=Place.Kind.MEMBER, person=person, defaults={"name": "member"})[0]


class Place(models.Model):
    """Real places hold things; boundaries only let them in and out. A bench place and a used place name an item."""

    class Kind(models.TextChoices):
        SHED = "shed", gettext_lazy("shed or shelf")
        BENCH = "bench", gettext_lazy("on the bench")
        RETAINED = "retained", gettext_lazy("retained samples")
        QUARANTINE = "quarantine", gettext_lazy("quarantine")
        MEMBER = "member", gettext_lazy("with a member")
        HIVES = "hives", gettext_lazy("in hives")
        DESTROYED = "destroyed", gettext_lazy("destroyed")
        LOST = "lost", gettext_lazy("lost")
        SUPPLIER = "supplier", gettext_lazy("from the supplier")
        MADE = "made", gettext_lazy("made")
        USED = "used", gettext_lazy("used up")
        FOUND = "found", gettext_lazy("found")
        UNEXPLAINED = "unexplained", gettext_lazy("unexplained")

    BOUNDARIES = ("supplier", "made", "used", "found", "unexplained")
    IN_STORE = ("shed", "quarantine")

    kind = models.CharField(max_length=12, choices=Kind.choices)
    name = models.CharField(gettext_lazy("name"), max_length=120)
    person = models.ForeignKey(Person, models.PROTECT, null=True, blank=True, related_name="places")
    item = models.ForeignKey("inventory.Item", models.PROTECT, null=True, blank=True, related_name="named_places")
    is_the_one = models.BooleanField(default=False)
    is_closed = models.BooleanField(gettext_lazy("no longer used"), default=False)

    objects = PlaceManager()

    class Meta:
        ordering = ["kind", "name", "id"]
        constraints = [
            models.UniqueConstraint(fields=["kind"], condition=Q(is_the_one=True), name="inventory_place_the_one"),
            models.UniqueConstraint(
                fields=["kind", "item"], condition=Q(item__isnull=False), name="inventory_place_of_item"
            ),
            models.UniqueConstraint(fields=["person"], condition=Q(kind="member"), name="inventory_place_of_member"),
            models.UniqueConstraint(fields=["name"], condition=Q(kind="shed"), name="inventory_place_shed_name"),
            models.CheckConstraint(
                condition=~Q(kind="bench") | Q(item__isnull=False), name="inventory_place_bench_item"
            ),
            models.CheckConstraint(
                condition=Q(kind__in=["bench", "used"]) | Q(item__isnull=True), name="inventory_place_item_only_bench"
            ),
            models.CheckConstraint(
                condition=~Q(kind__in=["member", "hives"]) | Q(person__isnull=False), name="inventory_place_person"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def is_boundary(self) -> bool:
        return self.kind in self.BOUNDARIES

    @property
    def words(self) -> str:
        """How the place is called in a sentence."""
        if self.kind == self.Kind.MEMBER and self.person:
            return _("with %(name)s") % {"name": reader.name_of(self.person)}
        if self.kind == self.Kind.HIVES and self.person:
            return _("in hives at %(name)s") % {"name": self.name} if reader.may_learn(self.person) else _("in hives")
        return str(self.name if self.kind == self.Kind.SHED else self.get_kind_display())
