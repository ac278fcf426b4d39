"""What a division gave: its whole record, and what is packed for whom."""

from django.db import models
from django.db.models import F, OuterRef, Q, Subquery, Sum
from django.db.models.functions import Coalesce
from django.utils.translation import gettext_lazy as _

from coop.models import Person
from members.models.rounds import Round


class ShareOut(models.Model):
    """One run of the division. `frozen` is all that went in, `digest` its mark, `result` every step that came out.

    The last one of a round counts. `goes_on_from` names the run it continues, after somebody did not come.
    """

    round = models.ForeignKey(Round, models.CASCADE, related_name="share_outs")
    frozen = models.JSONField()
    digest = models.CharField(max_length=64)
    result = models.JSONField()
    strips = models.PositiveIntegerField(_("strips divided"))
    strips_left = models.PositiveIntegerField(_("strips left over"))
    doses = models.PositiveIntegerField(_("hive doses given in all"))
    goes_on_from = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="went_on_as")
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")
    made_at = models.DateTimeField()

    class Meta:
        ordering = ["-id"]

    def __str__(self) -> str:
        return self.digest[:12]


class ShareQuerySet(models.QuerySet["Share"]):
    def visible_to(self, person: Person) -> "ShareQuerySet":
        return self if person.is_coordinator else self.filter(person=person)

    def with_handed(self) -> "ShareQuerySet":
        """Adds `handed`: strips of it that went out so far."""
        from members.models.handovers import HandOver

        given = HandOver.objects.filter(share=OuterRef("pk")).order_by().values("share").annotate(n=Sum("strips"))
        return self.annotate(handed=Coalesce(Subquery(given.values("n")[:1]), 0, output_field=models.BigIntegerField()))

    def to_collect(self) -> "ShareQuerySet":
        """Waiting, with strips still to be handed over."""
        return self.with_handed().filter(
            state=Share.State.WAITING, strips__gt=F("handed"), round__state=Round.State.SHARED
        )


class Share(models.Model):
    """What one member gets in a round: hive doses by kind, strips in all."""

    class State(models.TextChoices):
        WAITING = "waiting", _("to be collected")
        COLLECTED = "collected", _("collected")
        NO_SHOW = "no_show", _("did not come")
        NONE = "none", _("nothing this time")

    round = models.ForeignKey(Round, models.CASCADE, related_name="shares")
    person = models.ForeignKey(Person, models.PROTECT, related_name="shares")
    asked = models.PositiveIntegerField()
    doses = models.PositiveIntegerField()
    by_kind = models.JSONField(help_text="hive kind id, as text, to hive doses")
    strips = models.PositiveIntegerField()
    state = models.CharField(max_length=10, choices=State.choices, default=State.WAITING)

    objects = ShareQuerySet.as_manager()

    class Meta:
        ordering = ["round", "-doses", "person__name"]
        constraints = [
            models.UniqueConstraint(fields=["round", "person"], name="members_share_once"),
            models.CheckConstraint(condition=Q(doses__lte=F("asked")), name="members_share_not_above_ask"),
        ]
