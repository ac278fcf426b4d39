"""Pages of what has a code and comes from the bench: mixes, soaks, bags, samples, returned solution."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from batches import strength
from batches.models import Bag, Mix, ReturnedSolution, Sample, Soak
from batches.pages import costs
from batches.pages.bench import batch_name, crumbs
from batches.pages.mixing import curve_of, rounded
from batches.queries import content
from batches.queries.course import liquid_at, strips_at
from batches.queries.doses import hive_doses
from coop import access
from coop.parts import Crumb
from inventory.holds import holds_of
from inventory.models import Holding, Item, Place
from inventory.threads import thread_of

STATES = {
    "laid": "waits",
    "soaking": "waits",
    "lifted": "waits",
    "released": "fine",
    "rejected": "stop",
    "rework": "soon",
    "abandoned": "stop",
}


def thing(item: Item) -> dict[str, Any]:
    """What every page of a thing with a code shows: its thread, its holds, where it is."""
    where = Holding.objects.filter(item=item, quantity__gt=0).exclude(place__kind=Place.Kind.BENCH)
    return {
        "item": item,
        "stops": thread_of(item),
        "holds": holds_of(item),
        "where": where.select_related("place__person"),
        "place": "bench",
    }


def state_of(soak: Soak, holds: list[Any]) -> tuple[str, str]:
    """Shape and word of a soak; a hold comes before everything."""
    if holds:
        return "hold", _("on hold")
    if soak.state == Soak.State.LIFTED and soak.bench.closed_at is not None:
        return "waits", _("waits for release")
    return STATES[soak.state], soak.get_state_display()


@require_safe
@access.opens_to(access.VOLUNTEER)
def mix_page(request: HttpRequest, code: str) -> HttpResponse:
    mix = get_object_or_404(Mix.objects.select_related("item__solution", "bench__recipe"), item__code=code)
    known = {
        **thing(mix.item),
        "mix": mix,
        "bench": mix.bench,
        "solution": getattr(mix.item, "solution", None),
        "left": rounded(liquid_at(mix.item)),
        "curve": curve_of(mix) if mix.readings.exists() else None,
        "weighings": mix.weighings.select_related("item__material", "scale", "second_eyes", "corrected"),
        "pours": mix.pours.select_related("soak__item"),
        "titrations": mix.item.titrations.all(),
        "cost": costs.of_mix(mix.item, mix.bench),
        "crumbs": [*crumbs(mix.bench), Crumb(_("Mix %(n)s") % {"n": mix.number})],
    }
    return render(request, "batches/mix.html", known)


@require_safe
@access.opens_to(access.VOLUNTEER)
def bag_page(request: HttpRequest, code: str) -> HttpResponse:
    bag = get_object_or_404(Bag.objects.for_list(), item__code=code)
    found = content.of_bag(bag)
    common = thing(bag.item)
    shape, word = ("stop", _("split off")) if bag.is_split_off else state_of(bag.soak, common["holds"])
    known = {
        **common,
        "bag": bag,
        "soak": bag.soak,
        "content_mg": found.found.content_mg if found else None,
        "content": round(found.found.content_mg) if found else None,
        "doses": hive_doses(bag.soak.bench.instructions, bag.strips),
        "cost": costs.of_bag(bag.item, bag.soak.bench.instructions),
        "parts": bag.parts.select_related("item"),
        "shape": shape,
        "word": word,
        "crumbs": [*crumbs(bag.soak.bench), Crumb(_("Bag"))],
    }
    return render(request, "batches/bag.html", known)


@require_safe
@access.opens_to(access.VOLUNTEER)
def sample_page(request: HttpRequest, code: str) -> HttpResponse:
    sample = get_object_or_404(Sample.objects.select_related("item", "soak__bench", "soak__item"), item__code=code)
    known = {
        **thing(sample.item),
        "sample": sample,
        "crumbs": [*crumbs(sample.soak.bench), Crumb(_("Retained sample"))],
    }
    return render(request, "batches/sample.html", known)


@require_safe
@access.opens_to(access.VOLUNTEER)
def returned_page(request: HttpRequest, code: str) -> HttpResponse:
    item = get_object_or_404(Item.objects.filter(kind=Item.Kind.RETURNED).select_related("solution"), code=code)
    row = ReturnedSolution.objects.filter(item=item).select_related("soak__bench", "mix__bench").first()
    bench = (row.soak.bench if row.soak else row.mix.bench if row.mix else None) if row else None
    known = {
        **thing(item),
        "row": row,
        "solution": getattr(item, "solution", None),
        "titrations": item.titrations.all(),
        "cost": costs.of_returned(item),
        "crumbs": [*(crumbs(bench) if bench else crumbs()), Crumb(_("Returned solution"))],
    }
    return render(request, "batches/returned.html", known)


def soak_facts(soak: Soak) -> dict[str, Any]:
    """Content, doses and strength of a soak, as far as they are known yet."""
    found = content.of_soak(soak)
    strong = strength.of_soak(soak)
    liquid = liquid_at(soak.item)
    bagged = strips_in_bags(soak)
    return {
        "content": found,
        "content_mg": round(found.whole.content_mg) if found else None,
        "expanded_mg": round(2 * found.whole.u_mg) if found else None,
        "strength": strong,
        "bagged": bagged,
        "left": strips_at(soak),
        "liquid": liquid,
        "liquid_words": rounded(liquid),
        "doses": hive_doses(soak.bench.instructions, bagged),
    }


def strips_in_bags(soak: Soak) -> int:
    """Strips that a release lets go: those in bags that were not split off."""
    return sum(soak.bags.filter(parent=None, split_off=None).values_list("strips", flat=True))


def soak_by_code(code: str) -> Soak:
    return get_object_or_404(Soak.objects.for_list(), item__code=code)


def soak_crumbs(soak: Soak) -> list[Crumb]:
    return [
        Crumb(_("Bench"), reverse("bench")),
        Crumb(batch_name(soak.bench), reverse("batches:bench", args=[soak.bench_id])),
        Crumb(_("Soak")),
    ]
