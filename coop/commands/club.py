"""The club, changed by its coordinators. How it begins: founding.py."""

from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError
from django.utils.translation import gettext as _

from coop.command import Refused, command
from coop.models import Club, Deed, HiveKind

#: what a coordinator may change; the demo mark is laid down once, when the club is made
CHANGEABLE = (
    "name",
    "zone",
    "phone",
    "poison_phone",
    "shed_address",
    "sheet_link",
    "signal_word",
    "hazard_text",
    "mask_text",
    "first_aid_text",
    "can_titrate",
    "one_dose_first",
    "bag_days",
    "limits",
)


@command("club.change", gate=True)
def change_club(deed: Deed, **changes: Any) -> Club:
    """Change some of the club's facts: zone, phones, the supplier's sheet and its words, habits, bench limits."""
    club = Club.objects.get(pk=1)
    for name, value in changes.items():
        if name not in CHANGEABLE:
            raise Refused(_("The club has no “%(name)s” to change.") % {"name": name}, code="unknown", field=name)
        setattr(club, name, value)
    try:
        club.full_clean(validate_unique=False)
    except ValidationError as trouble:
        field, words = next(iter(trouble.message_dict.items()))
        raise Refused(" ".join(words), code="invalid", field=field) from None
    club.save(update_fields=list(changes))
    return club


@command("club.add_hive_kind")
def add_hive_kind(deed: Deed, *, name: str, order: int = 0) -> HiveKind:
    """Put a kind of hive on the club's list. Refused when the name is taken."""
    words = " ".join(name.split())
    if HiveKind.objects.filter(name__iexact=words).exists():
        raise Refused(_("“%(name)s” is on the list already.") % {"name": words}, code="taken", field="name")
    return HiveKind.objects.create(name=words, order=order)


@command("club.change_hive_kind")
def change_hive_kind(deed: Deed, *, kind: HiveKind, name: str, order: int = 0) -> HiveKind:
    """Rename a kind of hive or move it in the list; hives and instructions keep meaning the same kind."""
    words = " ".join(name.split())
    if HiveKind.objects.filter(name__iexact=words).exclude(pk=kind.pk).exists():
        raise Refused(_("“%(name)s” is on the list already.") % {"name": words}, code="taken", field="name")
    kind.name, kind.order = words, order
    try:
        kind.save(update_fields=["name", "order"])
    except IntegrityError as rival:
        raise Refused(_("“%(name)s” is on the list already.") % {"name": words}, code="taken", field="name") from rival
    return kind
