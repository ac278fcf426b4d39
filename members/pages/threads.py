"""Threads as a member reads them: where strips came from, where they are, and what is still to come."""

import dataclasses

from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from batches.models import Bag, Soak
from batches.queries import content
from coop import wording
from coop.models import Person, the_club
from coop.thread import ThreadStop
from inventory.holds import on_hold
from inventory.threads import thread_of
from members.models import HandOver, Treatment, TreatmentLine
from members.science.calendar_days import reminders


def of_bag(bag: Bag, person: Person) -> list[ThreadStop]:
    """The bag's whole thread; its links are for those whom the pages behind them open to."""
    stops = thread_of(bag.item)
    if person.is_volunteer:
        return stops
    return [dataclasses.replace(stop, url="") for stop in stops]


def of_treatment(treatment: Treatment, person: Person) -> list[ThreadStop]:
    """Soak, bag, in; then, dashed, the next reminder and the day they come out."""
    lines = list(treatment.lines.select_related("item", "hive"))
    bags = list(
        Bag.objects.filter(item__in={line.item_id for line in lines}).select_related(
            "item", "soak__item", "soak__bench"
        )
    )
    held = on_hold([bag.item_id for bag in bags])
    is_held = bool(held)
    soak = _soak_stop(bags, person, is_held)
    stops = [soak] if soak else []
    stops += [_bag_stop(bag, treatment, bag.item_id in held) for bag in bags[:3]]
    stops.append(
        ThreadStop(
            _("In %(day)s") % {"day": wording.day(treatment.in_on)},
            lines=[_in_words(lines)],
            is_self=True,
            held=is_held,
        )
    )
    return [*stops, *_ahead(treatment)] if treatment.out_on is None else [*stops, _out(treatment, lines)]


def _soak_stop(bags: list[Bag], person: Person, held: bool) -> ThreadStop | None:
    soaks = {bag.soak_id: bag.soak for bag in bags}
    if not soaks:
        return None
    soak = next(iter(soaks.values()))
    found = content.of_soak(soak)
    words = []
    if found:
        words.append(_("%(mass)s a strip") % {"mass": wording.mass_g(round(found.whole.content_mg), 1)})
    words.append(_("on hold") if held else str(Soak.State(soak.state).label))
    url = reverse("batches:soak", args=[soak.item.code_id]) if person.is_volunteer else ""
    return ThreadStop(
        _("Soak of %(day)s") % {"day": wording.day(soak.bench.day)}, url=url, lines=[", ".join(words)], held=held
    )


def _bag_stop(bag: Bag, treatment: Treatment, held: bool) -> ThreadStop:
    got = HandOver.objects.filter(item=bag.item, receiver=treatment.apiary.keeper_id).order_by("-happened_at").first()
    lines = [_("collected %(day)s") % {"day": wording.day(got.happened_at.date())}] if got else []
    return ThreadStop(
        _("Bag %(code)s") % {"code": bag.item.spaced_code},
        url=reverse("members:strips", args=[bag.item.code_id]),
        lines=lines,
        held=held,
    )


def _in_words(lines: list[TreatmentLine]) -> str:
    """ "3 in each of 6 hives", or the sum where hives differ."""
    by_hive: dict[int, int] = {}
    for line in lines:
        by_hive[line.hive_id] = by_hive.get(line.hive_id, 0) + line.strips_in
    hives = wording.counted(len(by_hive), "hive")
    if len(set(by_hive.values())) == 1 and len(by_hive) > 1:
        return _("%(n)d in each of %(hives)s") % {"n": next(iter(by_hive.values())), "hives": hives}
    return _("%(strips)s in %(hives)s") % {"strips": wording.counted(sum(by_hive.values())), "hives": hives}


def _ahead(treatment: Treatment) -> list[ThreadStop]:
    club = the_club()
    now, found = timezone.now(), []
    coming = [one for one in reminders(treatment.due_on, club.zone) if one.at > now]
    if coming:
        keeper = treatment.apiary.keeper
        way = _("by mail, one for the apiary") if keeper.email else _("by phone")
        found.append(
            ThreadStop(_("Next reminder %(when)s") % {"when": wording.moment(coming[0].at)}, lines=[way], ahead=True)
        )
    days = wording.counted(treatment.instructions.days, "day")
    found.append(
        ThreadStop(
            _("Out %(day)s") % {"day": wording.day(treatment.due_on)},
            lines=[_("after %(days)s, by the instructions") % {"days": days}],
            ahead=True,
            soon=True,
        )
    )
    return found


def _out(treatment: Treatment, lines: list[TreatmentLine]) -> ThreadStop:
    out = sum(line.strips_out for line in lines)
    chewed = sum(line.strips_chewed for line in lines)
    words = [_("%(strips)s disposed of") % {"strips": wording.counted(out)}] if out else []
    if chewed:
        words.append(_("%(strips)s chewed away") % {"strips": wording.counted(chewed)})
    return ThreadStop(_("Out %(day)s") % {"day": wording.day(treatment.out_on)}, lines=words)
