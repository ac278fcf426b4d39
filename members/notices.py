"""What members are told: strips due out, a round that opens or closes, what they got."""

import datetime as dt
from collections.abc import Iterator

from django.conf import settings
from django.db.models import Sum
from django.urls import reverse
from django.utils.translation import gettext as _

from coop import registry, wording
from coop.models import Notice, Person, the_club
from coop.notices import NoticeKind, Wanted
from members.models import Ask, Round, RoundKeeper, Share, ShareOut, Treatment, TreatmentLine
from members.queries import division
from members.science.calendar_days import latest_stage

#: a round that closes within so many days is worth a word to whoever has not asked
CLOSES_SOON = dt.timedelta(days=2)


# ---- strips due out --------------------------------------------------------------------------------------------------
@registry.notices.register("strips-due")
def strips_due() -> NoticeKind:
    return NoticeKind(_due_wanted, _due_lines, _still_due, _due_subject)


def _due_wanted(now: dt.datetime) -> Iterator[Wanted]:
    """One for each apiary and due day: the latest stage that has come. Entered late, the earlier ones never were."""
    zone = the_club().zone
    last = the_club().day_of(now) + dt.timedelta(days=7)
    rows = Treatment.objects.still_in().filter(due_on__lte=last).select_related("apiary__keeper")
    seen: set[tuple[int, dt.date]] = set()
    for treatment in rows.order_by("due_on", "apiary_id"):
        place = (treatment.apiary_id, treatment.due_on)
        reminder = latest_stage(treatment.due_on, now, zone)
        if reminder is None or place in seen:
            continue
        seen.add(place)
        group = f"strips-due:{treatment.apiary_id}:{treatment.due_on}"
        yield Wanted(
            person=treatment.apiary.keeper,
            key=f"{group}:{reminder.stage}",
            group=group,
            stage=reminder.stage,
            due_at=reminder.at,
            facts={"apiary": treatment.apiary_id, "due_on": treatment.due_on.isoformat(), "stage": reminder.stage},
        )


def _due_lines_of(notice: Notice) -> "list[Treatment]":
    due_on = dt.date.fromisoformat(notice.facts["due_on"])
    rows = Treatment.objects.still_in().filter(apiary=notice.facts["apiary"], due_on=due_on)
    return list(rows.select_related("apiary"))


def _still_due(notice: Notice, now: dt.datetime) -> bool:
    return bool(_due_lines_of(notice))


def _due_lines(notice: Notice) -> str:
    due_on = dt.date.fromisoformat(notice.facts["due_on"])
    rows = _due_lines_of(notice)
    if not rows:
        return ""
    lines = TreatmentLine.objects.filter(treatment__in=rows)
    sums = lines.aggregate(n=Sum("strips_in"), out=Sum("strips_out"), chewed=Sum("strips_chewed"))
    strips = sums["n"] - sums["out"] - sums["chewed"]
    hives = lines.values("hive").distinct().count()
    first = {
        -7: _("%(apiary)s: %(strips)s in %(hives)s are due out on %(day)s."),
        0: _("%(apiary)s: take %(strips)s out of %(hives)s today, %(day)s."),
        3: _("%(apiary)s: %(strips)s are still in %(hives)s; they were due out on %(day)s."),
        10: _(
            "%(apiary)s: %(strips)s are still in %(hives)s, ten days and more after %(day)s. A coordinator sees it too."
        ),
    }[notice.facts["stage"]] % {
        "apiary": rows[0].apiary.name,
        "strips": wording.counted(strips),
        "hives": wording.counted(hives, "hive"),
        "day": wording.day(due_on),
    }
    advice = _("Gloves on; used strips go into a closed bag and are disposed of as the club's sheet says.")
    link = _("Once they are out, one tap here: %(link)s") % {"link": settings.SITE_ADDRESS + reverse("hives")}
    return f"{first}\n{advice}\n{link}"


def _due_subject(notice: Notice) -> str:
    due_on = dt.date.fromisoformat(notice.facts["due_on"])
    if notice.facts["stage"] > 0:
        return _("Strips are still in: they were due out on %(day)s") % {"day": wording.day(due_on)}
    return _("Strips are due out on %(day)s") % {"day": wording.day(due_on)}


# ---- a round opens, and closes soon ----------------------------------------------------------------------------------
@registry.notices.register("round-open")
def round_open() -> NoticeKind:
    return NoticeKind(_open_wanted, _open_lines, _has_not_asked, _open_subject)


@registry.notices.register("round-closes")
def round_closes() -> NoticeKind:
    return NoticeKind(_closes_wanted, _open_lines, _has_not_asked, _closes_subject)


def _keepers(round: Round) -> Iterator[Person]:
    """Who may ask and has not."""
    asked = Ask.objects.filter(round=round).values("person")
    for keeper in RoundKeeper.objects.filter(round=round).exclude(person__in=asked).select_related("person"):
        yield keeper.person


def _open_wanted(now: dt.datetime) -> Iterator[Wanted]:
    for round in Round.objects.open().filter(opened_at__lte=now, closes_at__gt=now):
        assert round.opened_at is not None
        for person in _keepers(round):
            key = f"round-open:{round.pk}:{round.opened_at:%Y%m%dT%H%MZ}"
            yield Wanted(person=person, key=key, due_at=round.opened_at, facts={"round": round.pk})


def _closes_wanted(now: dt.datetime) -> Iterator[Wanted]:
    for round in Round.objects.open().filter(closes_at__gt=now, closes_at__lte=now + CLOSES_SOON):
        for person in _keepers(round):
            key = f"round-closes:{round.pk}:{round.closes_at:%Y%m%dT%H%MZ}"
            yield Wanted(person=person, key=key, due_at=round.closes_at - CLOSES_SOON, facts={"round": round.pk})


def _has_not_asked(notice: Notice, now: dt.datetime) -> bool:
    round = Round.objects.open().filter(pk=notice.facts["round"], closes_at__gt=now).first()
    return round is not None and not Ask.objects.filter(round=round, person=notice.person_id).exists()


def _open_lines(notice: Notice) -> str:
    round = Round.objects.get(pk=notice.facts["round"])
    return _("“%(name)s” takes asks for strips until %(when)s. Say for how many hives: %(link)s") % {
        "name": round.name,
        "when": wording.moment(round.closes_at),
        "link": settings.SITE_ADDRESS + reverse("members:ask", args=[round.pk]),
    }


def _open_subject(notice: Notice) -> str:
    return _("“%(name)s” is open: for how many hives?") % {"name": Round.objects.get(pk=notice.facts["round"]).name}


def _closes_subject(notice: Notice) -> str:
    return _("“%(name)s” closes soon") % {"name": Round.objects.get(pk=notice.facts["round"]).name}


# ---- what one got ----------------------------------------------------------------------------------------------------
@registry.notices.register("shared-out")
def shared_out() -> NoticeKind:
    return NoticeKind(_shared_wanted, _shared_lines, _is_last_run, _shared_subject)


def _shared_wanted(now: dt.datetime) -> Iterator[Wanted]:
    """Everyone who asked hears what the run that counts gave them; where it went on, only those who got more."""
    for round in Round.objects.filter(state=Round.State.SHARED).prefetch_related("share_outs", "shares__person"):
        runs = list(reversed(round.share_outs.all()))
        for run in division.chain(runs):
            gained = {step["key"] for step in run.result["steps"]}
            for share in round.shares.all():
                if share.state == Share.State.NO_SHOW or (run.goes_on_from_id and share.person_id not in gained):
                    continue
                yield Wanted(
                    person=share.person,
                    key=f"shared-out:{run.pk}",
                    group=f"shared-out:{round.pk}",
                    stage=runs.index(run),
                    due_at=run.made_at,
                    facts={"run": run.pk},
                )


def _is_last_run(notice: Notice, now: dt.datetime) -> bool:
    share = _share(notice)
    return share is not None and share.round.state == Round.State.SHARED and share.state != Share.State.COLLECTED


def _shared_lines(notice: Notice) -> str:
    share = _share(notice)
    if share is None:
        return ""
    return _(
        "“%(round)s” is shared out: you got %(got)s of %(asked)s, %(strips)s to collect. Why so many: %(link)s"
    ) % {
        "round": share.round.name,
        "got": share.doses,
        "asked": wording.counted(share.asked, "hive dose"),
        "strips": wording.counted(share.strips),
        "link": settings.SITE_ADDRESS + reverse("members:round", args=[share.round_id]),
    }


def _shared_subject(notice: Notice) -> str:
    share = _share(notice)
    return _("“%(round)s” is shared out") % {"round": share.round.name if share else ""}


def _share(notice: Notice) -> Share | None:
    """A share is written anew when the division is run again; it is the person's of that round that counts."""
    run = ShareOut.objects.filter(pk=notice.facts["run"]).first()
    if run is None:
        return None
    return Share.objects.filter(round=run.round_id, person=notice.person_id).select_related("round").first()
