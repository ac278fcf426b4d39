"""The drums, cans and sacks of a lot: added, opened, weighed one by one or as a count, moved, emptied."""

from typing import Any

from django import forms
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from coop.access import COORDINATOR, VOLUNTEER, opens_to
from coop.pages.base import DeedForm
from coop.pages.fields import DayField, MassField, MomentField
from coop.pages.form_page import filled, form_page
from inventory import ledger, shelf
from inventory.commands import containers, counting
from inventory.models import Container, Item, Place
from inventory.pages.common import NoteForm, ShedField, lot, lot_crumbs
from inventory.pages.stock import ConfirmField, asked_place, count_page, deed_page, page_of

CARE = gettext_lazy("Goggles and gloves on. Weigh it as it stands, with its lid: tare is taken off for you.")


class ContainerForm(DeedForm):
    name = forms.CharField(label=gettext_lazy("Name"), max_length=40)
    place = ShedField(with_quarantine=True, label=gettext_lazy("Where it stands"))
    tare_mg = MassField(label=gettext_lazy("Tare"), required=False, least=0)
    gross_mg = MassField(label=gettext_lazy("Gross"), required=False, least=0)

    def __init__(self, *args: Any, item: Item, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        here = shelf.where([item.pk], Place.IN_STORE).get(item.pk, [])
        if here:
            self.initial["place"] = here[0][0].pk


class OpenForm(DeedForm):
    opened_on = DayField(label=gettext_lazy("Opened on"), required=False)


class EmptyForm(DeedForm):
    emptied_on = DayField(label=gettext_lazy("Empty since"), required=False)


class WeighOneForm(DeedForm):
    """Gross, and the tare of one that has none yet or whose tare was wrong."""

    gross_mg = MassField(label=gettext_lazy("Gross"), least=0)
    happened_at = MomentField()  # type: ignore[assignment]

    def __init__(self, *args: Any, container: Container, item: Item, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        known = container.tare_mg
        help_text = "" if known is None else _("So far %(tare)s.") % {"tare": ledger.amount(known, item)}
        self.fields["tare_mg"] = MassField(label=_("Tare"), required=known is None, least=0, help_text=help_text)
        self.order_fields(["gross_mg", "tare_mg", "happened_at"])


class MoveForm(DeedForm):
    target = ShedField(with_quarantine=True, label=gettext_lazy("To"))
    gross_mg = MassField(label=gettext_lazy("Gross, weighed now"), required=False, least=0)
    confirmed = ConfirmField()
    note = forms.CharField(label=gettext_lazy("Note"), max_length=240, required=False)
    happened_at = MomentField()  # type: ignore[assignment]

    def __init__(self, *args: Any, container: Container, item: Item, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if container.place_id and not self.is_bound:  # a second tap finds it there already
            self.fields["target"].queryset = self.fields["target"].queryset.exclude(  # type: ignore[attr-defined]
                pk=container.place_id
            )
        net = container.net_mg
        if net:
            self.fields["gross_mg"].help_text = _(
                "Without it, what was weighed last goes along: %(net)s, at most what the book has there."
            ) % {"net": ledger.amount(net, item)}
        else:
            self.fields["gross_mg"].required = True


class WeighForm(NoteForm):
    """One box for each drum that stands in the shed by the book, or of which nobody knows where it stands."""

    place = forms.ModelChoiceField(Place.objects.filter(kind__in=Place.IN_STORE), widget=forms.HiddenInput)
    confirmed = ConfirmField()

    def __init__(self, *args: Any, item: Item, place: Place | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial["place"] = place.pk if place else None
        near = Q(place=place, emptied_on=None) | Q(place=None, emptied_on=None)
        self.posted = {name for name in self.data if name.startswith(("drum_", "gone_"))}
        drums = item.lot.containers.filter(near | Q(pk__in=self._posted_ids()))
        self.drums = {one.pk: one for one in drums}
        for drum in self.drums.values():
            self._ask_for(drum, item)
        names = [f"{what}_{pk}" for pk in self.drums for what in ("drum", "gone")]
        self.order_fields(["place", *names, "confirmed", "note", "happened_at"])

    def _posted_ids(self) -> list[int]:
        """What was posted once is read the same when it comes again, whatever the first time did."""
        texts = {name.partition("_")[2] for name in self.posted}
        return [int(text) for text in texts if text.isascii() and text.isdigit() and len(text) < 12]

    def _ask_for(self, drum: Container, item: Item) -> None:
        if drum.tare_mg is not None:
            self.fields[f"drum_{drum.pk}"] = MassField(
                label=_("%(name)s, gross") % {"name": drum.name},
                required=False,
                least=0,
                help_text=_("Tare %(tare)s.") % {"tare": ledger.amount(drum.tare_mg, item)}
                if drum.place_id
                else _("Tare %(tare)s. Leave it empty if it does not stand here.")
                % {"tare": ledger.amount(drum.tare_mg, item)},
            )
        if drum.place_id or f"gone_{drum.pk}" in self.posted:
            self.fields[f"gone_{drum.pk}"] = forms.BooleanField(
                label=_("“%(name)s” is not here") % {"name": drum.name}, required=False
            )

    def arguments(self) -> dict[str, Any]:
        found = super().arguments()
        weighed, absent = [], []
        for pk, drum in self.drums.items():
            gross, gone = found.pop(f"drum_{pk}", None), found.pop(f"gone_{pk}", False)
            if gross is not None:
                weighed.append({"container": drum, "gross_mg": gross})
            if gone:
                absent.append(drum)
        return {**found, "weighed": weighed, "absent": absent}


@opens_to(VOLUNTEER)
@require_http_methods(["GET", "POST"])
def weigh(request: HttpRequest, code: str) -> HttpResponse:
    """Part-used drums of one shed counted by weight: gross less tare."""
    item = lot(code)
    places = _places(item)
    place = _chosen(request, places)
    form = filled(request, WeighForm, item=item, place=place)
    shed = place.words if place else _("no shed")
    return count_page(
        request,
        item,
        form,
        counting.count_by_weight,
        title=_("Weigh the drums of %(code)s in %(shed)s") % {"code": item.spaced_code, "shed": shed},
        lead=_("Goggles and gloves on. Weigh each drum as it stands, with its lid: tare is taken off for you."),
        texts=_weigh_texts(item, form, place, places),
        word=_("Count by weight"),
        go_to=lambda: page_of(item),
    )


def _places(item: Item) -> list[Place]:
    """Where drums of a lot stand, and where the book has some of it."""
    known = Q(containers__lot=item.lot, containers__emptied_on=None) | Q(holdings__item=item, holdings__quantity__gt=0)
    return list(Place.objects.filter(known, kind__in=Place.IN_STORE).distinct())


def _chosen(request: HttpRequest, places: list[Place]) -> Place | None:
    """The shed that is asked for, else the first in which there is something to weigh."""
    posted = request.POST.get("place", "")
    asked = int(posted) if posted.isascii() and posted.isdigit() and len(posted) < 12 else asked_place(request)
    if asked is not None:
        found = Place.objects.filter(pk=asked, kind__in=Place.IN_STORE).first()
        if found is not None:
            return found
    return places[0] if places else None


def _weigh_texts(item: Item, form: WeighForm, place: Place | None, places: list[Place]) -> list[str]:
    texts: list[str] = []
    if not form.drums:
        texts.append(_("By the book no drum of it stands here. A drum that was carried here is moved here first."))
    bare = [drum for drum in form.drums.values() if drum.tare_mg is None]
    if bare:
        address = reverse("inventory:container_weigh", args=[item.code_id, bare[0].pk])
        words = _("“%(name)s” has no tare yet.") % {"name": bare[0].name}
        texts.append(format_html('{} <a href="{}">{}</a>', words, address, _("Weigh it by itself first")))
    others = [(f"?place={one.pk}", one.words) for one in places if one != place]
    if others:
        links = format_html_join(" · ", '<a href="{}">{}</a>', others)
        texts.append(format_html("{} {}", _("Elsewhere:"), links))
    return texts


@opens_to(VOLUNTEER)
@require_http_methods(["GET", "POST"])
def add(request: HttpRequest, code: str) -> HttpResponse:
    item = lot(code)
    form = filled(request, ContainerForm, item=item)
    title, word, done = _("A container of %(code)s"), _("Add the container"), _("Added.")
    return deed_page(request, item, form, containers.add_container, title, word, done)


def _one(
    request: HttpRequest, code: str, pk: int, form_class: Any, command: Any, title: str, word: str, **more: Any
) -> HttpResponse:
    """A form page for one container; `title` has its name and the lot's code."""
    item = lot(code)
    container = get_object_or_404(item.lot.containers.select_related("place"), pk=pk)
    known = {"container": container, "item": item} if form_class in (WeighOneForm, MoveForm) else {}
    return form_page(
        request,
        filled(request, form_class, **known),
        command,
        title=title % {"name": container.name, "code": item.spaced_code},
        word=word,
        back=page_of(item),
        crumbs=lot_crumbs(item),
        container=container,
        **more,
    )


@opens_to(VOLUNTEER)
@require_http_methods(["GET", "POST"])
def open_it(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    lead = _("Goggles and gloves on. Leave the day empty if it was today.")
    title, word = _("Open %(name)s of %(code)s"), _("Note that it is open")
    return _one(request, code, pk, OpenForm, containers.open_container, title, word, lead=lead, done=_("Noted."))


@opens_to(VOLUNTEER)
@require_http_methods(["GET", "POST"])
def weigh_one(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    title, word, done = _("Weigh %(name)s of %(code)s"), _("Keep the weight"), _("Weighed.")
    texts = [_("The book of the lot changes only when the drums of a shed are counted.")]
    command = containers.weigh_container
    return _one(request, code, pk, WeighOneForm, command, title, word, lead=CARE, texts=texts, done=done)


@opens_to(COORDINATOR)
@require_http_methods(["GET", "POST"])
def move(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    title, word, done = _("Move %(name)s of %(code)s"), _("Note the move"), _("Moved.")
    lead = _("Lid on, upright, by two if it is heavy. What is in it goes along: gross less tare.")
    return _one(request, code, pk, MoveForm, containers.move_container, title, word, lead=lead, done=done)


@opens_to(VOLUNTEER)
@require_http_methods(["GET", "POST"])
def empty(request: HttpRequest, code: str, pk: int) -> HttpResponse:
    title, word, done = _("Note %(name)s of %(code)s as empty"), _("Note that it is empty"), _("Noted.")
    lead = _("Leave the day empty if it was today. The book of the lot changes only by a count.")
    texts = [_("An empty drum still has some of it on its walls: it is rinsed and thrown away as the sheet says.")]
    command = containers.empty_container
    return _one(request, code, pk, EmptyForm, command, title, word, lead=lead, texts=texts, done=done)
