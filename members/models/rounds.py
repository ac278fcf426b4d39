"""Rounds: members ask by hives, and the strips there are get divided."""

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from batches.models import Instructions
from coop.models import HiveKind, Person


class RoundQuerySet(models.QuerySet["Round"]):
    def visible_to(self, person: Person) -> "RoundQuerySet":
        """Drafts are the coordinator's own."""
        return self if person.is_coordinator else self.exclude(state=Round.State.DRAFT)

    def open(self) -> "RoundQuerySet":
        return self.filter(state=Round.State.OPEN)

    def shared(self) -> "RoundQuerySet":
        """Divided, the last one first."""
        return self.filter(state__in=(Round.State.SHARED, Round.State.ENDED)).order_by("-shared_at", "-id")


class Round(models.Model):
    """One round of asks. Hives are frozen and numbers drawn when it opens."""

    class State(models.TextChoices):
        DRAFT = "draft", _("being planned")
        OPEN = "open", _("open for asks")
        CLOSED = "closed", _("asks are in")
        SHARED = "shared", _("shared out")
        ENDED = "ended", _("ended")

    name = models.CharField(_("name"), max_length=80)
    instructions = models.ForeignKey(Instructions, models.PROTECT, related_name="rounds")
    state = models.CharField(max_length=8, choices=State.choices, default=State.DRAFT)
    opens_at = models.DateTimeField(_("opens"))
    closes_at = models.DateTimeField(_("closes"))
    one_dose_first = models.BooleanField(_("one hive dose to every asker first"), default=False)
    frozen_on = models.DateField(_("hives frozen on"), null=True, blank=True)
    drawn_how = models.CharField(_("how the numbers were drawn"), max_length=120, blank=True)
    opened_at = models.DateTimeField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    shared_at = models.DateTimeField(null=True, blank=True)
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")

    objects = RoundQuerySet.as_manager()

    class Meta:
        ordering = ["-opens_at", "-id"]
        constraints = [
            models.CheckConstraint(condition=Q(closes_at__gt=F("opens_at")), name="members_round_span"),
            models.CheckConstraint(
                condition=Q(state="draft") | Q(frozen_on__isnull=False), name="members_round_frozen"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class RoundKeeper(models.Model):
    """A keeper as the round froze them: hives by kind, what they got last time, and the number drawn for them."""

    round = models.ForeignKey(Round, models.CASCADE, related_name="keepers")
    person = models.ForeignKey(Person, models.PROTECT, related_name="rounds")
    hives = models.PositiveIntegerField()
    hives_by_kind = models.JSONField(help_text="hive kind id, as text, to how many hives")
    last_got = models.PositiveIntegerField(default=0)
    last_asked = models.PositiveIntegerField(default=0)
    drawn = models.PositiveIntegerField()

    class Meta:
        ordering = ["-hives", "drawn"]
        constraints = [
            models.UniqueConstraint(fields=["round", "person"], name="members_roundkeeper_once"),
            models.UniqueConstraint(fields=["round", "drawn"], name="members_roundkeeper_drawn"),
        ]

    def hives_of(self, kind_id: int) -> int:
        return int(self.hives_by_kind.get(str(kind_id), 0))


class Ask(models.Model):
    """Hive doses somebody asks for, by kind of hive: `asked` as it was said, `doses` capped by the frozen hives."""

    round = models.ForeignKey(Round, models.CASCADE, related_name="asks")
    person = models.ForeignKey(Person, models.PROTECT, related_name="asks")
    hive_kind = models.ForeignKey(HiveKind, models.PROTECT, related_name="asks")
    asked = models.PositiveIntegerField()
    doses = models.PositiveIntegerField()
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")

    class Meta:
        ordering = ["round", "person", "hive_kind"]
        constraints = [
            models.UniqueConstraint(fields=["round", "person", "hive_kind"], name="members_ask_once"),
            models.CheckConstraint(condition=Q(doses__lte=F("asked")), name="members_ask_capped"),
        ]
