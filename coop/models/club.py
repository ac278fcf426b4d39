"""The club itself: one row, its hive kinds, and the legal basis it works under."""

import datetime as dt
from zoneinfo import ZoneInfo, available_timezones

from django.core.exceptions import ValidationError
from django.db import models
from django.utils import timezone
from django.utils.translation import gettext_lazy as _


def _known_zone(name: str) -> None:
    if name not in available_timezones():
        raise ValidationError(_("“%(name)s” is not a time zone. Write it like Europe/Paris."), params={"name": name})


class Club(models.Model):
    """The one club this server serves (primary key 1). Its row is also the gate: see coop/command.py."""

    id = models.PositiveSmallIntegerField(primary_key=True, default=1, editable=False)
    name = models.CharField(_("name"), max_length=120)
    zone = models.CharField(_("time zone"), max_length=64, default="UTC", validators=[_known_zone])
    phone = models.CharField(_("phone for questions about a bag"), max_length=40, blank=True)
    poison_phone = models.CharField(_("poison line"), max_length=40, blank=True)
    shed_address = models.CharField(_("address of the shed, for an ambulance"), max_length=200, blank=True)
    sheet_link = models.URLField(_("supplier's safety data sheet"), blank=True)
    signal_word = models.CharField(_("signal word"), max_length=20, blank=True)
    hazard_text = models.TextField(_("hazard statements, as the supplier's sheet has them"), blank=True)
    mask_text = models.CharField(_("mask, of the class the sheet names"), max_length=200, blank=True)
    first_aid_text = models.TextField(_("first aid, as the supplier's sheet has it"), blank=True)
    can_titrate = models.BooleanField(_("has a balance fine enough for a titration"), default=False)
    one_dose_first = models.BooleanField(_("one hive dose to every asker first"), default=False)
    bag_days = models.PositiveSmallIntegerField(_("days a bag keeps, from lift"), default=180)
    limits = models.JSONField(_("bench limits that differ from the defaults"), default=dict, blank=True)
    is_demo = models.BooleanField(default=False, editable=False)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(id=1), name="coop_club_single")]

    def __str__(self) -> str:
        return self.name

    @property
    def tz(self) -> ZoneInfo:
        return ZoneInfo(self.zone)

    def day_of(self, moment: dt.datetime) -> dt.date:
        """The local calendar date of an aware moment."""
        return moment.astimezone(self.tz).date()

    def today(self, now: dt.datetime | None = None) -> dt.date:
        return self.day_of(now or timezone.now())


def the_club() -> Club:
    """The club's row. Raises Club.DoesNotExist on a server that has not been started for a club yet."""
    return Club.objects.get(pk=1)


class HiveKind(models.Model):
    """A kind of hive on the club's own list, such as a nucleus or a double brood."""

    name = models.CharField(_("kind of hive"), max_length=60, unique=True)
    order = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["order", "name"]

    def __str__(self) -> str:
        return self.name


class LegalBasisQuerySet(models.QuerySet["LegalBasis"]):
    def valid_on(self, subject: str, day: dt.date) -> "LegalBasisQuerySet":
        """What stands for a subject on a local day; empty means the club may not do it."""
        return self.filter(subject=subject, valid_from__lte=day, valid_until__gte=day, ended_at=None)


class LegalBasis(models.Model):
    """What the club relies on: the rule, where it stands, who checked. Never legal advice of ours."""

    class Subject(models.TextChoices):
        POSSESSION = "possession", _("keeping strong acid")
        OWN_USE = "own_use", _("use on one's own hives")
        SUPPLY = "supply", _("supply to others")

    subject = models.CharField(max_length=12, choices=Subject.choices)
    rule = models.CharField(_("the rule"), max_length=200)
    reference = models.CharField(_("where it stands"), max_length=200)
    checked_by = models.CharField(_("who checked"), max_length=120)
    valid_from = models.DateField(_("valid from"))
    valid_until = models.DateField(_("valid until"))
    ended_at = models.DateTimeField(null=True, blank=True, editable=False)
    deed = models.ForeignKey("coop.Deed", models.PROTECT, related_name="+")

    objects = LegalBasisQuerySet.as_manager()

    class Meta:
        ordering = ["subject", "-valid_until", "-id"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(valid_until__gte=models.F("valid_from")), name="coop_legalbasis_span"
            )
        ]

    def __str__(self) -> str:
        return f"{self.get_subject_display()}: {self.rule}"
