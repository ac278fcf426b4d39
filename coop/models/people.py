"""People, their roles, and the invitations that let them in."""

from typing import Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.db.models.functions import Lower
from django.utils.translation import gettext_lazy as _


class Role(models.TextChoices):
    MEMBER = "member", _("member")
    VOLUNTEER = "volunteer", _("volunteer")
    COORDINATOR = "coordinator", _("coordinator")


class PersonManager(BaseUserManager["Person"]):
    def get_by_natural_key(self, username: str | None) -> "Person":
        return self.get(email__iexact=username)

    def create_user(self, email: str | None = None, **extra: Any) -> "Person":
        """A person without a password: sign-in is by mailed code only."""
        person = self.model(email=self.normalize_email(email) if email else None, **extra)
        person.set_unusable_password()
        person.save(using=self._db)
        return person

    def system(self) -> "Person":
        """The person that scheduled tasks and one-tap answers act as."""
        person, _made = self.get_or_create(is_system=True, defaults={"name": "The server", "is_active": False})
        return person

    def here(self) -> models.QuerySet["Person"]:
        """People who belong to the club now: not left, not the server itself."""
        return self.filter(is_system=False, left_at=None)


class Person(AbstractBaseUser):
    """Somebody of the club. Role is one of three; releaser is a mark any of them may bear."""

    name = models.CharField(_("name"), max_length=120)
    email = models.EmailField(_("e-mail"), null=True, blank=True)
    phone = models.CharField(_("phone"), max_length=40, blank=True)
    address = models.CharField(_("postal address"), max_length=200, blank=True)
    role = models.CharField(_("role"), max_length=12, choices=Role.choices, default=Role.MEMBER)
    is_releaser = models.BooleanField(_("may release batches"), default=False)
    is_system = models.BooleanField(default=False, editable=False)
    is_active = models.BooleanField(default=True)
    wants_reminders = models.BooleanField(_("wants reminders by mail"), default=True)
    joined_on = models.DateField(_("joined on"), null=True, blank=True)
    left_at = models.DateTimeField(null=True, blank=True, editable=False)

    objects: ClassVar[PersonManager] = PersonManager()

    USERNAME_FIELD = "email"
    EMAIL_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]

    class Meta:
        ordering = ["name", "id"]
        constraints = [
            models.UniqueConstraint(
                Lower("email"),
                name="coop_person_email",
                violation_error_message=_("This e-mail is already in the club."),
            ),
            models.UniqueConstraint(
                fields=["is_system"], condition=models.Q(is_system=True), name="coop_person_one_system"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def is_volunteer(self) -> bool:
        return self.role in (Role.VOLUNTEER, Role.COORDINATOR)

    @property
    def is_coordinator(self) -> bool:
        return self.role == Role.COORDINATOR

    @property
    def is_staff(self) -> bool:
        return False


class Invitation(models.Model):
    """A single-use link into the club, for one person who is already on the list. Only its digest is kept."""

    person = models.ForeignKey(Person, models.CASCADE, related_name="invitations")
    digest = models.CharField(max_length=64, unique=True)
    purpose = models.CharField(
        max_length=12, choices=[("invite", _("invitation")), ("let_in", _("from the shell"))], default="invite"
    )
    valid_until = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)
    deed = models.ForeignKey("coop.Deed", models.PROTECT, null=True, related_name="+")


class ApiToken(models.Model):
    """A key for programs, shown once and kept as a digest; it can be revoked."""

    person = models.ForeignKey(Person, models.CASCADE, related_name="tokens")
    name = models.CharField(_("what it is for"), max_length=60)
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField(auto_now_add=True)
    last_used_at = models.DateTimeField(null=True, blank=True)
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-made_at"]


class FreshCode(models.Model):
    """A short code mailed to somebody already signed in, asked before what needs a second look. Kept as a digest.

    Good for ten minutes, five tries and one deed: `used_for` names the first request it opened, and only that one may
    come again.
    """

    person = models.ForeignKey(Person, models.CASCADE, related_name="fresh_codes")
    digest = models.CharField(max_length=64)
    valid_until = models.DateTimeField()
    tries = models.PositiveSmallIntegerField(default=0)
    used_for = models.CharField(max_length=200, blank=True)
    made_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-id"]


class ShedPhone(models.Model):
    """A phone that stays in the shed: signed in as one person for thirty days, for the bench only, and revocable."""

    name = models.CharField(_("which phone"), max_length=60)
    person = models.ForeignKey(Person, models.CASCADE, related_name="shed_phones")
    digest = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField(auto_now_add=True)
    opened_at = models.DateTimeField(null=True, blank=True)
    valid_until = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-id"]
