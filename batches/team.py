"""Who belongs to a bench team, and what happens when evidence comes in after a decision.

Both need the gate: late evidence puts what was released on hold in the same transaction.
"""

from django.utils.translation import gettext as _

from batches.models import Bench, Deviation, Mix, Presence, Release, Soak
from coop.models import Deed, Person
from inventory.models import Hold, HoldSeed, Question


def team_of(bench: Bench) -> set[int]:
    """Person ids of everybody who was there, wrote there, or recorded."""
    team = set(bench.presences.values_list("person_id", flat=True))
    return team | {bench.recorder_id} if bench.recorder_id else team


def enter(deed: Deed, bench: Bench, person: Person | None = None, gear: list[str] | None = None) -> Presence:
    """The person (else who does the deed) is of the team from now on.

    The bench's state is read again behind the gate: a rival may have closed it since the caller looked. A releaser who
    turns out to have been there is kept as a fact; a deviation opens on what they released, and it goes on hold.
    """
    bench.refresh_from_db(fields=["state"])
    who = person or deed.actor
    presence, is_new = Presence.objects.get_or_create(
        bench=bench, person=who, defaults={"gear": gear or [], "deed": deed}
    )
    if gear and not is_new and presence.gear != gear:
        presence.gear = gear
        presence.save(update_fields=["gear"])
    if is_new:
        _question_own_releases(deed, bench, who)
    return presence


def late(deed: Deed, soak: Soak, text: str) -> None:
    """What came in after a release is kept; a deviation opens and the soak goes on hold. Nothing where not released.

    The state is read again behind the gate: the soak may have been released since the caller looked.
    """
    if Soak.objects.filter(pk=soak.pk, state=Soak.State.RELEASED).exists():
        _doubt(deed, soak, "late", _("Came in after the release: %(text)s") % {"text": text})


def late_for_mix(deed: Deed, mix: Mix, text: str) -> None:
    """The same for every soak that any of this mix was poured into."""
    for soak in (
        Soak.objects.filter(pours__mix=mix, state=Soak.State.RELEASED).select_related("item", "bench").distinct()
    ):
        late(deed, soak, text)


def _question_own_releases(deed: Deed, bench: Bench, who: Person) -> None:
    released = Release.objects.filter(
        soak__bench=bench, person=who, verdict=Release.Verdict.RELEASED, soak__state=Soak.State.RELEASED
    )
    for release in released.select_related("soak__item", "soak__bench"):
        text = _("%(name)s released it and was at the bench.") % {"name": who.name}
        _doubt(deed, release.soak, "team", text)


def _doubt(deed: Deed, soak: Soak, kind: str, text: str) -> None:
    Deviation.objects.create(bench=soak.bench, soak=soak, kind=kind, text=text[:300], opened=deed)
    Question.objects.create(item=soak.item, kind=Question.Kind.LATE, text=text[:300], deed=deed)
    hold = Hold.objects.create(reason=text[:300], placed_by=deed, placed_at=deed.happened_at)
    HoldSeed.objects.create(hold=hold, item=soak.item)
