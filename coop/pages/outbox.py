"""The outbox, for coordinators: every letter and what came of it. Codes and links show no text."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from coop import pulse
from coop.access import COORDINATOR, opens_to
from coop.commands import telling
from coop.models import Letter
from coop.pages.base import DeedForm
from coop.pages.form_page import filled, form_page
from coop.parts import Crumb
from coop.tables import Column, Filter, Table

SHAPES = {"queued": "waits", "leased": "waits", "sent": "fine", "failed": "stop", "expired": "overdue"}


def letter_url(letter: Letter) -> str:
    return reverse("letter", args=[letter.pk])


OUTBOX = Table(
    "letters",
    columns=(
        Column("made", gettext_lazy("Written"), "made_at", "moment", sort="id"),
        Column("to", gettext_lazy("To"), "to", sort="to"),
        Column("subject", gettext_lazy("Subject"), "subject", sort="subject", link=letter_url, strong=True),
        Column(
            "state",
            gettext_lazy("State"),
            lambda one: (SHAPES[one.state], one.get_state_display()),
            "state",
            sort="state",
        ),
        Column("sent", gettext_lazy("Sent"), "sent_at", "moment", sort="sent_at"),
    ),
    filters=(Filter("state", gettext_lazy("State"), "state", Letter.State.choices),),
    search=("to", "subject"),
    order="-made",
    caption=gettext_lazy("Letters"),
    nothing=gettext_lazy("No letter yet. Reminders are written at eight in the morning."),
)


@opens_to(COORDINATOR)
@require_safe
def outbox(request: HttpRequest) -> HttpResponse:
    shown = OUTBOX.from_request(request, Letter.objects.all())
    return shown.file() or render(request, "coop/outbox.html", {"table": shown, "last_ran": pulse.last_ran()})


@opens_to(COORDINATOR)
@require_safe
def letter_page(request: HttpRequest, pk: int) -> HttpResponse:
    letter = get_object_or_404(Letter.objects.select_related("person"), pk=pk)
    can_resend = not letter.is_secret and letter.state in ("sent", "failed", "expired")
    known = {"letter": letter, "can_resend": can_resend, "shape": SHAPES[letter.state], "crumbs": _crumbs()}
    return render(request, "coop/letter.html", known)


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def send_again(request: HttpRequest, pk: int) -> HttpResponse:
    letter = get_object_or_404(Letter, pk=pk)
    return form_page(
        request,
        filled(request, DeedForm),
        telling.send_again,
        title=_("Send once more"),
        lead=_("“%(subject)s” to %(to)s") % {"subject": letter.subject, "to": letter.to},
        word=_("Send once more"),
        back=letter_url(letter),
        done=_("Queued. It goes within a minute."),
        crumbs=_crumbs(),
        letter=letter,
    )


def _crumbs() -> list[Crumb]:
    return [Crumb(_("Letters"), reverse("outbox"))]
