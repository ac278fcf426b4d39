"""Apiaries and the hives in them."""

import datetime as dt
from collections.abc import Sequence

from django.db import models
from django.utils.translation import gettext as _

from coop.command import Refused, command
from coop.models import Deed, HiveKind, Person, the_club
from inventory.models import Place
from members.models import Apiary, Hive

MOST_AT_ONCE = 200


@command("members.add_apiary")
def add_apiary(deed: Deed, *, name: str, where: str = "", keeper: Person | None = None) -> Apiary:
    """A stand of hives of the actor, or of `keeper` if a coordinator enters it. Refused: code "name" (taken, empty)."""
    keeper = keeper or deed.actor
    name = _free_name(keeper, name)
    place = Place.objects.create(kind=Place.Kind.HIVES, name=name, person=keeper)
    return Apiary.objects.create(keeper=keeper, name=name, where=where.strip(), place=place, deed=deed)


@command("members.change_apiary")
def change_apiary(deed: Deed, *, apiary: Apiary, name: str, where: str = "") -> Apiary:
    """Another name, or another rough place. Refused as adding one."""
    apiary.name, apiary.where = _free_name(apiary.keeper, name, apiary), where.strip()
    apiary.save(update_fields=["name", "where"])
    Place.objects.filter(pk=apiary.place_id).update(name=apiary.name)
    return apiary


@command("members.add_hives")
def add_hives(
    deed: Deed,
    *,
    apiary: Apiary,
    kind: HiveKind,
    count: int = 1,
    labels: Sequence[str] = (),
    from_on: dt.date | None = None,
) -> list[Hive]:
    """So many hives of a kind; without labels they are numbered on. Refused: code "count", "label" (taken), "day"."""
    if labels:
        count = len(labels)
    if not 1 <= count <= MOST_AT_ONCE:
        raise Refused(_("Enter 1 to %(most)d hives at a time.") % {"most": MOST_AT_ONCE}, code="count", field="count")
    day = _known_day(deed, from_on)
    names = [label.strip()[:40] for label in labels] if labels else _next_labels(apiary, count)
    _refuse_taken(apiary, names)
    return [Hive.objects.create(apiary=apiary, kind=kind, label=name, from_on=day, deed=deed) for name in names]


@command("members.end_hives")
def end_hives(
    deed: Deed,
    *,
    hives: Sequence[Hive],
    ending: str,
    until_on: dt.date | None = None,
    into: Hive | None = None,
    to_apiary: Apiary | None = None,
) -> list[Hive]:
    """Hives that are no longer there: lost, sold, merged `into` another, or moved to another apiary of the keeper.

    A moved hive goes on there as a hive that came from this one. Strips in them stay on the record of the apiary where
    they were put in. Refused: code "ended" (not there any more), "into", "to_apiary", "day".
    """
    hives = list(Hive.objects.filter(pk__in=[hive.pk for hive in hives]).select_related("kind").order_by("id"))
    day = _known_day(deed, until_on)
    if ending not in Hive.Ending.values:
        raise Refused(_("Say how the hive ended: lost, sold, merged or moved."), code="ending", field="ending")
    _check_where_to(hives, ending, into, to_apiary)
    for hive in hives:
        if hive.until_on is not None:
            raise Refused(_("%(hive)s is not there any more.") % {"hive": hive.label}, code="ended")
        if day < hive.from_on:
            raise Refused(_("%(hive)s came later than that day.") % {"hive": hive.label}, code="day", field="until_on")
        hive.until_on, hive.ending, hive.ended_by = day, ending, deed
        hive.merged_into = into if ending == Hive.Ending.MERGED else None
        hive.save(update_fields=["until_on", "ending", "ended_by", "merged_into"])
        if ending == Hive.Ending.MOVED and to_apiary is not None:
            _go_on(deed, hive, to_apiary, day)
    return hives


@command("members.split_hive")
def split_hive(
    deed: Deed, *, hive: Hive, kind: HiveKind | None = None, label: str = "", from_on: dt.date | None = None
) -> Hive:
    """A new hive made from one that stays. Refused: code "ended", "label" (taken), "day"."""
    if hive.until_on is not None:
        raise Refused(_("%(hive)s is not there any more.") % {"hive": hive.label}, code="ended")
    day = _known_day(deed, from_on)
    name = label.strip()[:40] or _next_labels(hive.apiary, 1)[0]
    _refuse_taken(hive.apiary, [name])
    return Hive.objects.create(
        apiary=hive.apiary, kind=kind or hive.kind, label=name, from_on=day, came_from=hive, deed=deed
    )


def _go_on(deed: Deed, hive: Hive, apiary: Apiary, day: dt.date) -> None:
    taken = _standing(apiary).filter(label=hive.label).exists()
    name = _next_labels(apiary, 1)[0] if taken else hive.label
    Hive.objects.create(apiary=apiary, kind=hive.kind, label=name, from_on=day, came_from=hive, deed=deed)


def _check_where_to(hives: Sequence[Hive], ending: str, into: Hive | None, to_apiary: Apiary | None) -> None:
    if ending == Hive.Ending.MERGED and (into is None or into.until_on is not None or into in hives):
        raise Refused(_("Say which hive it was merged into, one that is still there."), code="into", field="into")
    if ending == Hive.Ending.MOVED and (to_apiary is None or any(hive.apiary_id == to_apiary.pk for hive in hives)):
        raise Refused(_("Say which other apiary it was moved to."), code="to_apiary", field="to_apiary")


def _free_name(keeper: Person, name: str, apiary: Apiary | None = None) -> str:
    name = " ".join(name.split())
    if not name:
        raise Refused(_("An apiary needs a name."), code="name", field="name")
    if Apiary.objects.filter(keeper=keeper, name=name).exclude(pk=apiary.pk if apiary else 0).exists():
        raise Refused(_("There is an apiary %(name)s already.") % {"name": name}, code="name", field="name")
    return name


def _known_day(deed: Deed, day: dt.date | None) -> dt.date:
    today = the_club().day_of(deed.happened_at)
    if day is not None and day > the_club().day_of(deed.recorded_at):
        raise Refused(_("That day has not come yet."), code="day")
    return day or today


def _standing(apiary: Apiary) -> "models.QuerySet[Hive]":
    return Hive.objects.filter(apiary=apiary, until_on=None)


def _next_labels(apiary: Apiary, count: int) -> list[str]:
    """Numbers that no hive of the apiary ever bore."""
    borne = [int(label) for label in apiary.hives.values_list("label", flat=True) if label.isdigit()]
    first = max(borne, default=0) + 1
    return [str(number) for number in range(first, first + count)]


def _refuse_taken(apiary: Apiary, names: Sequence[str]) -> None:
    taken = set(_standing(apiary).filter(label__in=names).values_list("label", flat=True))
    if taken or len(set(names)) < len(names) or "" in names:
        raise Refused(
            _("Each hive of an apiary needs a mark of its own; %(taken)s is there already.")
            % {"taken": ", ".join(sorted(taken)) or _("one of them")},
            code="label",
            field="labels",
        )
