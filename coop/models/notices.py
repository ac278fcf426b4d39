"""What people should be told (Notice), how it is told (Letter), and whether the sender is alive (Pulse)."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _


class Notice(models.Model):
    """A thing one person should hear, wanted once under a key that names the new thing."""

    class State(models.TextChoices):
        WANTED = "wanted", _("wanted")
        BUNDLED = "bundled", _("in a letter")
        DROPPED = "dropped", _("no longer true")
        PHONE = "phone", _("to be told by phone")
        TOLD = "told", _("told by phone")

    key = models.CharField(max_length=160)
    person = models.ForeignKey("coop.Person", models.CASCADE, related_name="notices")
    kind = models.CharField(max_length=40, help_text="registry key of the room's notice function")
    group = models.CharField(
        max_length=120, help_text="notices of one group replace each other; the latest stage stays"
    )
    stage = models.SmallIntegerField(default=0)
    facts = models.JSONField(default=dict)
    urgency = models.CharField(
        max_length=10, choices=[("daily", "daily"), ("soon", "soon"), ("now", "now")], default="daily"
    )
    due_at = models.DateTimeField()
    state = models.CharField(max_length=8, choices=State.choices, default=State.WANTED)
    letter = models.ForeignKey("coop.Letter", models.SET_NULL, null=True, blank=True, related_name="notices")
    wanted_at = models.DateTimeField(auto_now_add=True)
    settled_at = models.DateTimeField(null=True, blank=True)
    calls = models.PositiveSmallIntegerField(default=0, help_text="how often somebody was rung in vain")
    last_call_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["due_at", "id"]
        constraints = [models.UniqueConstraint(fields=["key", "person"], name="coop_notice_once")]
        indexes = [models.Index(fields=["state", "due_at"])]


class Letter(models.Model):
    """One mail to one person. Queued, leased to a sender, then sent, failed or expired.

    At least once: the only possible duplicate is a crash between the SMTP server's yes and our commit, and it
    bears the same Message-ID.
    """

    class State(models.TextChoices):
        QUEUED = "queued", _("queued")
        LEASED = "leased", _("being sent")
        SENT = "sent", _("sent")
        FAILED = "failed", _("failed")
        EXPIRED = "expired", _("expired")

    key = models.CharField(max_length=160, unique=True)
    person = models.ForeignKey("coop.Person", models.CASCADE, null=True, related_name="letters")
    to = models.EmailField()
    subject = models.CharField(max_length=200)
    body = models.TextField()
    html = models.TextField(blank=True)
    message_id = models.CharField(max_length=120, unique=True)
    kind = models.CharField(max_length=20, default="reminder")
    is_secret = models.BooleanField(default=False, help_text="a code or link to sign in: never shown to others")
    state = models.CharField(max_length=8, choices=State.choices, default=State.QUEUED)
    attempts = models.PositiveSmallIntegerField(default=0)
    last_error = models.CharField(max_length=300, blank=True)
    send_after = models.DateTimeField()
    expires_at = models.DateTimeField(null=True, blank=True)
    leased_until = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-id"]
        indexes = [models.Index(fields=["state", "send_after"])]
        constraints = [
            models.CheckConstraint(
                condition=~Q(state="leased") | Q(leased_until__isnull=False), name="coop_letter_lease"
            )
        ]


class Pulse(models.Model):
    """When a scheduled job last ran; claimed by a conditional update so that a second beat does no harm."""

    name = models.CharField(max_length=40, primary_key=True)
    claimed_at = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    note = models.CharField(max_length=300, blank=True)
