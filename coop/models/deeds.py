"""Deeds: one row for every change anybody made, written first, never altered."""

from django.db import models
from django.utils.translation import gettext_lazy as _

from coop import reader


class Deed(models.Model):
    """Who did what, when, through which door; also the record that makes a command happen once.

    Append-only by trigger on both engines; `result` goes from NULL to a value once, in the same transaction.
    """

    class Door(models.TextChoices):
        PAGE = "page", _("page")
        API = "api", _("API")
        TASK = "task", _("scheduled task")
        SHELL = "shell", _("shell")
        IMPORT = "import", _("import")
        PHONE = "phone", _("bench phone")

    actor = models.ForeignKey("coop.Person", models.PROTECT, related_name="deeds")
    key = models.CharField(max_length=120)
    verb = models.CharField(max_length=60)
    fingerprint = models.CharField(max_length=64)
    token = models.UUIDField()
    door = models.CharField(max_length=8, choices=Door.choices, default=Door.PAGE)
    happened_at = models.DateTimeField()
    recorded_at = models.DateTimeField(auto_now_add=True)
    result = models.JSONField(null=True)

    class Meta:
        ordering = ["-id"]
        constraints = [models.UniqueConstraint(fields=["actor", "key"], name="coop_deed_once")]
        indexes = [models.Index(fields=["verb", "recorded_at"])]

    @property
    def who(self) -> str:
        """Who did it, as far as the reader may learn it."""
        return reader.name_of(self.actor)

    def __str__(self) -> str:
        return f"{self.verb} by {self.actor_id} at {self.happened_at:%Y-%m-%d %H:%M}"
