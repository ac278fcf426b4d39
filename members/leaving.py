"""What the rooms of members know about one person: what is in the way of leaving, and what is kept about them."""

from collections.abc import Iterator
from typing import Any

from django.utils.translation import gettext as _

from coop import registry, wording
from coop.models import Person
from members.models import Apiary, HandOver, Share, Treatment
from members.queries import held


@registry.leavings.register("members")
def still_open(person: Person) -> Iterator[str]:
    strips = held.strips_of(person)
    if strips:
        yield _("%(strips)s are still with them by the book.") % {"strips": wording.counted(strips)}
    for treatment in Treatment.objects.still_in().filter(apiary__keeper=person).select_related("apiary"):
        yield _("Strips are still in their hives at %(apiary)s.") % {"apiary": treatment.apiary.name}
    for share in Share.objects.to_collect().filter(person=person).select_related("round"):
        yield _("“%(round)s” holds a share for them.") % {"round": share.round.name}


@registry.forgettings.register("members")
def forget(person: Person) -> None:
    """Roughly where hives stand, and what apiaries were called, goes; how many hives were treated stays."""
    for number, apiary in enumerate(Apiary.objects.filter(keeper=person).select_related("place"), start=1):
        apiary.name, apiary.where = _("Apiary %(n)d") % {"n": number}, ""
        apiary.place.name = apiary.name
        apiary.save(update_fields=["name", "where"])
        apiary.place.save(update_fields=["name"])


@registry.belongings.register("members")
def kept_about(person: Person) -> dict[str, list[dict[str, Any]]]:
    return {
        _("Apiaries"): [
            {"name": one.name, "where": one.where, "hives": one.hives.count()}
            for one in Apiary.objects.filter(keeper=person)
        ],
        _("Asks and shares"): [
            {"round": share.round.name, "asked": share.asked, "got": share.doses, "strips": share.strips}
            for share in Share.objects.filter(person=person).select_related("round")
        ],
        _("Strips received and passed on"): [
            {
                "what": row.get_kind_display(),
                "code": row.item.spaced_code,
                "strips": row.strips,
                "when": row.happened_at.isoformat(),
            }
            for row in HandOver.objects.filter(receiver=person).select_related("item")
        ],
        _("Treatments"): [
            {
                "apiary": one.apiary.name,
                "in": one.in_on.isoformat(),
                "due": one.due_on.isoformat(),
                "strips": one.strips_in,  # type: ignore[attr-defined]
            }  # type: ignore[attr-defined]
            for one in Treatment.objects.filter(apiary__keeper=person).for_list()
        ],
    }
