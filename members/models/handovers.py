"""Strips changing hands: from the club to a member, from one member to another, and back."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from coop.models import LegalBasis, Person
from inventory.models import Item, Movement
from members.models.shares import Share


class HandOverQuerySet(models.QuerySet["HandOver"]):
    def visible_to(self, person: Person) -> "HandOverQuerySet":
        """Those one gave or got; all of them for a coordinator."""
        if person.is_coordinator:
            return self
        return self.filter(Q(receiver=person) | Q(giver=person))

    def for_list(self) -> "HandOverQuerySet":
        return self.select_related("item", "giver", "receiver", "collected_by", "share__round")


class HandOver(models.Model):
    """Strips of one bag to one member, on the legal basis of that day, cautions acknowledged."""

    class Kind(models.TextChoices):
        HAND_OVER = "hand_over", _("handed over")
        PASS_ON = "pass_on", _("passed on")

    kind = models.CharField(max_length=10, choices=Kind.choices)
    item = models.ForeignKey(Item, models.PROTECT, related_name="hand_overs")
    giver = models.ForeignKey(Person, models.PROTECT, related_name="gave")
    receiver = models.ForeignKey(Person, models.PROTECT, related_name="got")
    collected_by = models.ForeignKey(Person, models.PROTECT, null=True, blank=True, related_name="collected")
    strips = models.PositiveIntegerField()
    cautions_acknowledged = models.BooleanField(_("cautions acknowledged"), default=False)
    legal_basis = models.ForeignKey(LegalBasis, models.PROTECT, null=True, blank=True, related_name="hand_overs")
    share = models.ForeignKey(Share, models.PROTECT, null=True, blank=True, related_name="hand_overs")
    movement = models.OneToOneField(Movement, models.PROTECT, related_name="hand_over")
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    happened_at = models.DateTimeField()

    objects = HandOverQuerySet.as_manager()

    class Meta:
        ordering = ["-happened_at", "-id"]
        constraints = [
            models.CheckConstraint(condition=Q(strips__gt=0), name="members_handover_strips"),
            models.CheckConstraint(
                condition=Q(kind="pass_on") | Q(legal_basis__isnull=False, cautions_acknowledged=True),
                name="members_handover_lawful",
            ),
        ]
        indexes = [models.Index(fields=["receiver", "-happened_at"])]


class ReturnQuerySet(models.QuerySet["Return"]):
    def opened(self) -> "ReturnQuerySet":
        """What came back opened, and so is handed to nobody again."""
        return self.filter(is_unopened=False)


class Return(models.Model):
    """Strips a member brought back: into quarantine, until somebody decides about them."""

    item = models.ForeignKey(Item, models.PROTECT, related_name="brought_back")
    person = models.ForeignKey(Person, models.PROTECT, related_name="brought_back")
    strips = models.PositiveIntegerField()
    is_unopened = models.BooleanField(_("the bag was never opened"))
    reason = models.CharField(_("why"), max_length=200, blank=True)
    movement = models.OneToOneField(Movement, models.PROTECT, related_name="bring_back")
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    happened_at = models.DateTimeField()

    objects = ReturnQuerySet.as_manager()

    class Meta:
        ordering = ["-happened_at", "-id"]
        constraints = [models.CheckConstraint(condition=Q(strips__gt=0), name="members_return_strips")]
