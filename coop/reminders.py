"""What the ground itself reminds of: a legal basis that ends, calls to make, letters and a sender in trouble."""

import datetime as dt
from collections.abc import Iterator

from django.conf import settings
from django.db.models import Count
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from coop import notices, pulse, registry, wording
from coop.models import Club, LegalBasis, Letter, Notice, Person, Pulse, Role
from coop.notices import NoticeKind, Wanted
from coop.today import Task, Urgency

LEGAL_DAYS = 60
LEGAL_STAGES = (LEGAL_DAYS, 14, 0)
TROUBLE_DAYS = 3


@registry.notices.register("legal-basis-ends")
def legal_basis_ends() -> NoticeKind:
    return NoticeKind(wanted=_bases_ending, lines=_basis_lines, still_true=_still_ends, subject=_basis_subject)


def _bases_ending(now: dt.datetime) -> Iterator[Wanted]:
    """60 and 14 days before a basis ends and on its last day, to every coordinator, unless another goes on after it."""
    club = Club.objects.get(pk=1)
    today = club.today(now)
    coordinators = list(Person.objects.here().filter(role=Role.COORDINATOR, is_active=True))
    for basis in _ending(today):
        days = (basis.valid_until - today).days
        stage = sum(days <= before for before in LEGAL_STAGES)
        for person in coordinators:
            yield Wanted(
                person=person,
                key=f"legal-basis-ends:{basis.pk}:{stage}",
                group=f"legal-basis-ends:{basis.pk}",
                stage=stage,
                due_at=now,
                facts={"basis": basis.pk},
            )


def _ending(today: dt.date) -> list[LegalBasis]:
    """The last valid basis of each subject, where it ends within sixty days."""
    found = []
    for subject in LegalBasis.Subject.values:
        standing = LegalBasis.objects.filter(subject=subject, ended_at=None).order_by("-valid_until", "-pk").first()
        if standing and today <= standing.valid_until <= today + dt.timedelta(days=LEGAL_DAYS):
            found.append(standing)
    return found


def _still_ends(notice: Notice, now: dt.datetime) -> bool:
    club = Club.objects.get(pk=1)
    return notice.facts["basis"] in [basis.pk for basis in _ending(club.today(now))]


def _basis_subject(notice: Notice) -> str:
    return _("A legal basis of the club ends soon")


def _basis_lines(notice: Notice) -> str:
    basis = LegalBasis.objects.filter(pk=notice.facts["basis"]).first()
    if basis is None:
        return ""
    return _(
        "The legal basis for %(subject)s, “%(rule)s”, is valid until %(until)s. Look whether it goes on, and note what "
        "the club relies on then. Without a valid basis for supply nothing is handed over.\n%(link)s"
    ) % {
        "subject": basis.get_subject_display(),
        "rule": basis.rule,
        "until": wording.day(basis.valid_until),
        "link": settings.SITE_ADDRESS + reverse("legal_bases"),
    }


@registry.today.register("club")
def for_coordinators(person: Person, now: dt.datetime) -> Iterator[Task]:
    """What of the ground needs a coordinator's hand."""
    if not person.is_coordinator:
        return
    yield from _calls()
    yield from _sender(now)
    yield from _books()
    yield from _letters(now)
    yield from _legal(now)


def _calls() -> Iterator[Task]:
    for person, waiting in notices.for_the_phone().items():
        calls = max(one.calls for one in waiting)
        tried = ngettext("rung once in vain", "rung %(count)d times in vain", calls) % {"count": calls}
        yield Task(
            urgency=Urgency.NOW,
            title=_("Call %(name)s") % {"name": person.name},
            when=tried if calls else "",
            text=person.phone or _("No phone is known."),
            rows=[notices.lines_of(one).splitlines()[0] for one in waiting],
            label=_("Told by phone"),
            url=reverse("person_call", args=[person.pk]),
        )


def _sender(now: dt.datetime) -> Iterator[Task]:
    if pulse.is_sender_alive(now):
        return
    last = pulse.last_ran()
    yield Task(
        urgency=Urgency.STOP,
        title=_("No letter is sent"),
        when=_("the sender last ran %(when)s") % {"when": wording.moment(last, now)} if last else _("it never ran"),
        text=_("Reminders and recalls wait. Whoever runs the server should look at the worker."),
        label=_("See the letters"),
        url=reverse("outbox"),
        order=-1,
    )


def _books() -> Iterator[Task]:
    """What the last nightly proof found."""
    night = Pulse.objects.filter(name=pulse.PROVE).exclude(note="").first()
    if night is None:
        return
    yield Task(
        urgency=Urgency.STOP,
        title=_("The books do not prove"),
        when=wording.moment(night.finished_at),
        text=night.note,
        rows=[_("Whoever runs the server should run: manage.py prove")],
        order=-1,
    )


def _letters(now: dt.datetime) -> Iterator[Task]:
    """Letters that failed or came too late in the last days, counted."""
    since = now - dt.timedelta(days=TROUBLE_DAYS)
    bad = Letter.objects.filter(state__in=["failed", "expired"], is_secret=False, send_after__gte=since)
    counts = dict(bad.order_by().values_list("state").annotate(Count("pk")))
    words = {
        "failed": ngettext("one letter was refused", "%(count)d letters were refused", counts.get("failed", 0)),
        "expired": ngettext(
            "one letter came too late and was dropped",
            "%(count)d letters came too late and were dropped",
            counts.get("expired", 0),
        ),
    }
    if counts:
        yield Task(
            urgency=Urgency.SOON,
            title=_("Letters that did not arrive"),
            rows=[words[state] % {"count": count} for state, count in sorted(counts.items())],
            label=_("See the letters"),
            url=reverse("outbox"),
        )


def _legal(now: dt.datetime) -> Iterator[Task]:
    today = Club.objects.get(pk=1).today(now)
    url = reverse("legal_bases")
    if not LegalBasis.objects.valid_on(LegalBasis.Subject.SUPPLY, today).exists():
        yield Task(
            urgency=Urgency.STOP,
            title=_("Nothing may be handed over"),
            text=_("No legal basis for supply to others is valid today."),
            label=_("Note a legal basis"),
            url=url,
        )
    for basis in _ending(today):
        yield Task(
            urgency=Urgency.SOON,
            title=_("A legal basis ends: %(subject)s") % {"subject": basis.get_subject_display()},
            when=wording.away(basis.valid_until, today),
            text=basis.rule,
            label=_("Look at it"),
            url=reverse("legal_basis", args=[basis.pk]),
        )
