"""Deeds of a round: plan, open, ask, close, open again, share out, let a part go on, end."""

import datetime as dt
from typing import Any

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from batches.models import Instructions
from coop import wording
from coop.access import COORDINATOR, MEMBER, opens_to
from coop.models import Person, the_club
from coop.pages.base import DeedForm
from coop.pages.fields import MomentField, PiecesField
from coop.pages.form_page import filled, form_page
from coop.parts import Crumb
from members.commands import rounds as commands
from members.commands import sharing
from members.models import Ask, Round, RoundKeeper, Share
from members.pages.rooms import me, my_round, round_crumbs, shareout_crumbs
from members.queries import supply

BOTH = ["GET", "HEAD", "POST"]


def _url(round: Round) -> str:
    return reverse("members:round", args=[round.pk])


class PlanForm(DeedForm):
    name = forms.CharField(label=gettext_lazy("Name, such as its season"), max_length=80)
    instructions = forms.ModelChoiceField(
        label=gettext_lazy("Instructions, with the hive doses"), queryset=Instructions.objects.none(), empty_label=None
    )
    opens_at = MomentField(label=gettext_lazy("Opens, if not now"))
    closes_at = MomentField(label=gettext_lazy("Closes"), required=True)
    one_dose_first = forms.BooleanField(
        label=gettext_lazy("One hive dose to every asker first"),
        required=False,
        help_text=gettext_lazy(
            "Without it, keepers of one hive get nothing while others who keep many still wait. The club decides."
        ),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["instructions"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = Instructions.objects.current()


class CloseAtForm(DeedForm):
    closes_at = MomentField(label=gettext_lazy("Takes asks until"), required=True)


class ShareOutForm(DeedForm):
    strips = PiecesField(
        label=gettext_lazy("Strips to share out, if not all"), required=False, least=0, unit=gettext_lazy("strips")
    )
    one_dose_first = forms.BooleanField(label=gettext_lazy("One hive dose to every asker first"), required=False)


class AskForm(DeedForm):
    """A figure for each kind of hive that was frozen for the person."""

    def __init__(self, *args: Any, keeper: RoundKeeper, round: Round, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.kinds = [
            dose for dose in round.instructions.doses.select_related("hive_kind") if keeper.hives_of(dose.hive_kind_id)
        ]
        mine = Ask.objects.filter(round=round, person=keeper.person_id)
        asked = dict(mine.values_list("hive_kind_id", "asked"))
        for dose in self.kinds:
            hives = keeper.hives_of(dose.hive_kind_id)
            self.fields[f"kind_{dose.hive_kind_id}"] = PiecesField(
                label=_("For how many hives: %(kind)s") % {"kind": dose.hive_kind},
                help_text=_("You keep %(hives)s of it; each gets %(strips)s or none.")
                % {"hives": hives, "strips": wording.counted(dose.strips)},
                required=False,
                least=0,
                most=10_000,
                unit=_("hives"),
                initial=asked.get(dose.hive_kind_id, hives if not asked else 0),
            )

    def arguments(self) -> dict[str, Any]:
        return {
            "doses": {dose.hive_kind_id: self.cleaned_data[f"kind_{dose.hive_kind_id}"] or 0 for dose in self.kinds}
        }


class NoShowForm(DeedForm):
    people = forms.ModelMultipleChoiceField(
        label=gettext_lazy("Who did not come"),
        queryset=Person.objects.none(),
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(self, *args: Any, round: Round, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["people"]
        assert isinstance(field, forms.ModelMultipleChoiceField)
        waiting = Share.objects.filter(round=round, state=Share.State.WAITING).values("person")
        field.queryset = Person.objects.filter(pk__in=waiting).order_by("name")

    def arguments(self) -> dict[str, Any]:
        return {"people": list(self.cleaned_data["people"])}


@require_http_methods(BOTH)
@opens_to(COORDINATOR)
def plan(request: HttpRequest) -> HttpResponse:
    initial = {"one_dose_first": the_club().one_dose_first}
    return form_page(
        request,
        filled(request, PlanForm, initial=initial),
        commands.plan_round,
        title=_("Plan a round"),
        lead=_("Members ask by hives, then the strips there are get divided by one rule that all can read."),
        word=_("Plan the round"),
        back=reverse("shareout"),
        done=_("Planned. Nobody can ask before it opens."),
        crumbs=shareout_crumbs(Crumb(_("Plan a round"))),
        go_to=_url,
    )


@require_http_methods(BOTH)
@opens_to(COORDINATOR)
def open_round(request: HttpRequest, pk: int) -> HttpResponse:
    round = my_round(request, pk)
    return form_page(
        request,
        filled(request, DeedForm),
        commands.open_round,
        title=_("Open “%(name)s”") % {"name": round.name},
        lead=_(
            "Hives freeze as they stand now: asks count up to them. A number is drawn for every keeper, which settles "
            "ties that are left. Every keeper gets a letter."
        ),
        word=_("Open for asks"),
        back=_url(round),
        done=_("Open. Hives are frozen and the numbers are drawn."),
        crumbs=round_crumbs(round),
        round=round,
    )


@require_http_methods(BOTH)
@opens_to(MEMBER)
def ask(request: HttpRequest, pk: int, person: int | None = None) -> HttpResponse:
    """One's own ask; for somebody else a coordinator enters it."""
    round, mine = my_round(request, pk), me(request)
    if person is not None and person != mine.pk and not mine.is_coordinator:
        raise Http404
    who = mine if person is None else get_object_or_404(Person.objects.here(), pk=person)
    keeper = RoundKeeper.objects.filter(round=round, person=who).first()
    if keeper is None:
        raise Http404
    own = who == mine
    return form_page(
        request,
        filled(request, AskForm, keeper=keeper, round=round),
        commands.ask,
        title=_("For how many hives?") if own else _("For how many hives of %(name)s?") % {"name": who.name},
        lead=_("“%(round)s” takes asks until %(when)s. It can be changed until then; 0 withdraws it.")
        % {"round": round.name, "when": wording.moment(round.closes_at)},
        word=_("Ask"),
        back=_url(round),
        done=_("Noted. It can be changed until %(when)s.") % {"when": wording.moment(round.closes_at)},
        crumbs=round_crumbs(round),
        round=round,
        person=who,
    )


@require_http_methods(BOTH)
@opens_to(COORDINATOR)
def close(request: HttpRequest, pk: int) -> HttpResponse:
    round = my_round(request, pk)
    silent = RoundKeeper.objects.filter(round=round).exclude(
        person__in=Ask.objects.filter(round=round).values("person")
    )
    return form_page(
        request,
        filled(request, DeedForm),
        commands.close_round,
        title=_("Close “%(name)s”") % {"name": round.name},
        lead=_("%(n)d keepers have not asked. After this nobody can, unless it is opened again.")
        % {"n": silent.count()},
        word=_("Close the round"),
        back=_url(round),
        done=_("Closed."),
        crumbs=round_crumbs(round),
        round=round,
    )


@require_http_methods(BOTH)
@opens_to(COORDINATOR)
def reopen(request: HttpRequest, pk: int) -> HttpResponse:
    round = my_round(request, pk)
    return form_page(
        request,
        filled(request, CloseAtForm, initial={"closes_at": round.closes_at + dt.timedelta(days=7)}),
        commands.reopen_round,
        title=_("Take asks again"),
        lead=_("Hives and drawn numbers stay as they are."),
        word=_("Take asks again"),
        back=_url(round),
        done=_("Open again."),
        crumbs=round_crumbs(round),
        round=round,
    )


@require_http_methods(BOTH)
@opens_to(COORDINATOR)
def share(request: HttpRequest, pk: int) -> HttpResponse:
    round = my_round(request, pk)
    there = supply.on_offer(the_club().today(), round)
    return form_page(
        request,
        filled(request, ShareOutForm, initial={"one_dose_first": round.one_dose_first}),
        sharing.share_out,
        title=_("Share out %(strips)s") % {"strips": wording.counted(there)},
        lead=_(
            "Released, in date, not on hold, not promised. It can be run again until the first bag goes out; everyone "
            "who asked gets a letter with what they got and why."
        ),
        word=_("Share out"),
        back=_url(round),
        done=_("Shared out."),
        crumbs=round_crumbs(round),
        round=round,
    )


@require_http_methods(BOTH)
@opens_to(COORDINATOR)
def no_show(request: HttpRequest, pk: int) -> HttpResponse:
    round = my_round(request, pk)
    return form_page(
        request,
        filled(request, NoShowForm, round=round),
        sharing.pass_no_show,
        title=_("Who did not come?"),
        lead=_("What they leave goes on by the same rule, from what each has. What was collected stays."),
        word=_("Let it go on"),
        back=_url(round),
        done=_("It went on. Whoever got more gets a letter."),
        crumbs=round_crumbs(round),
        round=round,
    )


@require_http_methods(BOTH)
@opens_to(COORDINATOR)
def end(request: HttpRequest, pk: int) -> HttpResponse:
    round = my_round(request, pk)
    return form_page(
        request,
        filled(request, DeedForm),
        commands.end_round,
        title=_("End “%(name)s”") % {"name": round.name},
        lead=_("What was not collected is promised to nobody any more."),
        word=_("End the round"),
        back=_url(round),
        done=_("Ended."),
        crumbs=round_crumbs(round),
        round=round,
    )
