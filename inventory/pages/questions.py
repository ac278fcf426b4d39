"""Questions about the book: kept facts that somebody has to look into."""

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from coop.access import COORDINATOR, VOLUNTEER, opens_to
from coop.pages.base import DeedForm
from coop.pages.form_page import filled, form_page
from coop.parts import Crumb
from coop.tables import Column, Filter, Table
from inventory import threads
from inventory.commands.correcting import settle_question
from inventory.models import Question
from inventory.pages.common import crumbs

QUESTIONS = Table(
    "questions",
    columns=(
        Column("asked", gettext_lazy("Asked"), "asked_at", "moment", sort="asked_at"),
        Column(
            "code",
            gettext_lazy("About"),
            "item.code_id",
            "code",
            sort="item__code",
            link=lambda row: threads.url_of(row.item),
        ),
        Column(
            "text",
            gettext_lazy("What the book cannot know"),
            "text",
            link=lambda row: reverse("inventory:question", args=[row.pk]),
        ),
        Column("who", gettext_lazy("By"), "deed.who"),
        Column(
            "state",
            gettext_lazy("State"),
            lambda row: ("fine", _("settled")) if row.settled_by_id else ("waits", _("open")),
            "state",
        ),
        Column("answer", gettext_lazy("Answer"), "answer"),
    ),
    filters=(
        Filter("kind", gettext_lazy("Kind"), "kind", Question.Kind.choices),
        Filter(
            "open",
            gettext_lazy("State"),
            "settled_by__isnull",
            [("True", gettext_lazy("open")), ("False", gettext_lazy("settled"))],
        ),
    ),
    search=("item__code__text", "text", "answer"),
    order="-asked",
    caption=gettext_lazy("Questions about the book"),
)


class AnswerForm(DeedForm):
    answer = forms.CharField(label=gettext_lazy("What you found out"), max_length=300)


@opens_to(VOLUNTEER)
@require_safe
def questions(request: HttpRequest) -> HttpResponse:
    rows = Question.objects.select_related("item", "deed__actor")
    table = QUESTIONS.from_request(request, rows)
    return table.file() or render(request, "inventory/questions.html", {"table": table, "crumbs": crumbs()})


@opens_to(VOLUNTEER)
@require_safe
def question(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(Question.objects.select_related("item", "deed__actor", "settled_by__actor"), pk=pk)
    known = {
        "question": row,
        "url": threads.url_of(row.item),
        "crumbs": crumbs(Crumb(_("Questions"), reverse("inventory:questions"))),
    }
    return render(request, "inventory/question.html", known)


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def settle(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(Question, pk=pk)
    return form_page(
        request,
        filled(request, AnswerForm),
        settle_question,
        title=_("Settle the question"),
        lead=row.text,
        word=_("Settle it"),
        back=reverse("inventory:questions"),
        done=_("Settled."),
        crumbs=crumbs(Crumb(_("Questions"), reverse("inventory:questions"))),
        question=row,
    )
