"""What the Share-out and the Hives put on somebody's Today."""

import datetime as dt
from collections.abc import Iterator

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from coop import registry, wording
from coop.models import Person, the_club
from coop.today import Task, Urgency
from members.models import Ask, Round, RoundKeeper, Share, Treatment
from members.queries import supply

SOON_DAYS = 7


@registry.today.register("hives")
def hives(person: Person, now: dt.datetime) -> Iterator[Task]:
    """One's own strips that are due or overdue; for a coordinator also everybody's overdue ones, in one task."""
    day = the_club().day_of(now)
    url = reverse("hives")
    own = Treatment.objects.still_in().filter(apiary__keeper=person, due_on__lte=day + dt.timedelta(days=SOON_DAYS))
    for treatment in own.select_related("apiary").order_by("due_on"):
        late = treatment.due_on < day
        yield Task(
            Urgency.OVERDUE if late else Urgency.NOW if treatment.due_on == day else Urgency.SOON,
            _("Strips are still in: %(apiary)s") % {"apiary": treatment.apiary.name}
            if late
            else _("Strips come out: %(apiary)s") % {"apiary": treatment.apiary.name},
            when=wording.away(treatment.due_on, day),
            text=_("Due out on %(day)s.") % {"day": wording.day(treatment.due_on, day)},
            label=_("Strips are out"),
            url=f"{url}#treatment-{treatment.pk}",
        )
    if person.is_coordinator:
        yield from _everybody(person, day)


def _everybody(person: Person, day: dt.date) -> Iterator[Task]:
    late = list(Treatment.objects.overdue(day).exclude(apiary__keeper=person).for_list().order_by("due_on"))
    if not late:
        return
    count = len({treatment.apiary_id for treatment in late})
    yield Task(
        Urgency.OVERDUE,
        ngettext("Strips are still in at one apiary", "Strips are still in at %(n)d apiaries", count) % {"n": count},
        when=_("overdue, %(days)s") % {"days": wording.counted((day - late[0].due_on).days, "day")},
        text=_("Each was due out on the day shown."),
        cells=[
            (
                one.apiary.name,
                one.apiary.keeper.name,
                wording.counted(one.hives, "hive"),  # type: ignore[attr-defined]
                wording.day(one.due_on, day),
            )
            for one in late[:10]
        ],
        label=_("Open them"),
        url=reverse("members:treatments") + "?state=overdue",
    )


@registry.today.register("shareout")
def shareout(person: Person, now: dt.datetime) -> Iterator[Task]:
    """A round one may ask in, strips to collect; for a coordinator a round that closes, or waits to be shared out."""
    for keeper in RoundKeeper.objects.filter(
        person=person, round__state=Round.State.OPEN, round__closes_at__gt=now
    ).select_related("round"):
        if not Ask.objects.filter(round=keeper.round, person=person).exists():
            yield Task(
                Urgency.SOON,
                _("Ask for strips: %(round)s") % {"round": keeper.round.name},
                when=_("until %(when)s") % {"when": wording.moment(keeper.round.closes_at, now)},
                text=_("You keep %(hives)s.") % {"hives": wording.counted(keeper.hives, "hive")},
                label=_("Ask"),
                url=reverse("members:ask", args=[keeper.round_id]),
            )
    for share in Share.objects.to_collect().filter(person=person).select_related("round"):
        yield Task(
            Urgency.SOON,
            _("Collect %(strips)s") % {"strips": wording.counted(supply.left_of(share))},
            text=_("%(doses)s from “%(round)s”.")
            % {"doses": wording.counted(share.doses, "hive dose"), "round": share.round.name},
            label=_("See the share"),
            url=reverse("members:round", args=[share.round_id]),
        )
    if person.is_coordinator:
        yield from _rounds(now)


def _rounds(now: dt.datetime) -> Iterator[Task]:
    rounds = Round.objects.filter(state__in=(Round.State.DRAFT, Round.State.OPEN, Round.State.CLOSED))
    for round in rounds.order_by("closes_at"):
        url = reverse("members:round", args=[round.pk])
        if round.state == Round.State.DRAFT:
            if round.opens_at <= now:
                yield Task(Urgency.SOON, _("Open “%(round)s”") % {"round": round.name}, label=_("Open it"), url=url)
            continue
        if round.state == Round.State.CLOSED or round.closes_at <= now:
            text = _("Asks are in; it waits to be shared out.")
            title = _("Share out “%(round)s”") % {"round": round.name}
            yield Task(Urgency.NOW, title, text=text, label=_("Share out"), url=url)
            continue
        yield _closing(round, now, url)


def _closing(round: Round, now: dt.datetime, url: str) -> Task:
    asks = list(Ask.objects.filter(round=round).values_list("person_id", "doses"))
    keepers = RoundKeeper.objects.filter(round=round).count()
    return Task(
        Urgency.SOON if round.closes_at - now <= dt.timedelta(days=3) else Urgency.INFO,
        _("“%(round)s” closes") % {"round": round.name},
        when=wording.moment(round.closes_at, now),
        text=_("%(asked)d of %(all)d keepers have asked, %(doses)s.")
        % {
            "asked": len({person for person, _doses in asks}),
            "all": keepers,
            "doses": wording.counted(sum(doses for _person, doses in asks), "hive dose"),
        },
        label=_("See who has not asked"),
        url=url,
    )
