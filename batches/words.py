"""What the trace and the thread ask about things of the bench: their page, their words, whether they may be used."""

import datetime as dt
from collections.abc import Sequence
from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _

from batches.models import Bag, Mix, ReturnedSolution, Sample, Soak, Solution
from coop import registry, wording
from inventory.models import Item


@registry.item_pages.register("mix")
def mix_page(item: Item) -> str:
    return reverse("batches:mix", args=[item.code_id])


@registry.item_pages.register("soak")
def soak_page(item: Item) -> str:
    return reverse("batches:soak", args=[item.code_id])


@registry.item_pages.register("bag")
def bag_page(item: Item) -> str:
    return reverse("batches:bag", args=[item.code_id])


@registry.item_pages.register("sample")
def sample_page(item: Item) -> str:
    return reverse("batches:sample", args=[item.code_id])


@registry.item_pages.register("returned")
def returned_page(item: Item) -> str:
    return reverse("batches:returned", args=[item.code_id])


def _ids(items: Sequence[Item]) -> list[int]:
    return [item.pk for item in items]


@registry.item_words.register("mix")
def mix_words(items: Sequence[Item]) -> dict[int, str]:
    strengths = dict(Solution.objects.filter(item__in=_ids(items)).values_list("item_id", "w_ppb"))
    rows = Mix.objects.filter(item__in=_ids(items)).values_list("item_id", "number", "bench__day")
    return {
        item: _("mix %(n)s of %(day)s, w %(w)s")
        % {"n": number, "day": wording.day(day), "w": wording.fraction(strengths.get(item))}
        for item, number, day in rows
    }


@registry.item_words.register("soak")
def soak_words(items: Sequence[Item]) -> dict[int, str]:
    rows = Soak.objects.filter(item__in=_ids(items)).select_related("bench")
    return {
        soak.item_id: _("soak of %(day)s, %(strips)s, %(state)s")
        % {
            "day": wording.day(soak.bench.day),
            "strips": wording.counted(soak.strips),
            "state": soak.get_state_display(),
        }
        for soak in rows
    }


@registry.item_words.register("bag")
def bag_words(items: Sequence[Item]) -> dict[int, str]:
    rows = Bag.objects.filter(item__in=_ids(items)).select_related("soak", "parent")
    return {bag.item_id: _bag_words(bag) for bag in rows}


def _bag_words(bag: Bag) -> str:
    state = _("split off") if bag.is_split_off else bag.soak.get_state_display()
    words = _("part of a bag, %(strips)s, %(state)s") if bag.parent_id else _("bag, %(strips)s, %(state)s")
    return words % {"strips": wording.counted(bag.strips), "state": state}


@registry.item_words.register("sample")
def sample_words(items: Sequence[Item]) -> dict[int, str]:
    rows = Sample.objects.filter(item__in=_ids(items)).values_list("item_id", "strips")
    return {item: _("retained sample, %(strips)s") % {"strips": wording.counted(strips)} for item, strips in rows}


@registry.item_words.register("returned")
def returned_words(items: Sequence[Item]) -> dict[int, str]:
    rows = Solution.objects.filter(item__in=_ids(items)).values_list("item_id", "w_ppb", "reuse")
    containers = dict(ReturnedSolution.objects.filter(item__in=_ids(items)).values_list("item_id", "container"))
    words = {
        item: _("returned solution, w %(w)s, reuse %(reuse)s") % {"w": wording.fraction(w), "reuse": reuse}
        for item, w, reuse in rows
    }
    return {item: ", ".join(filter(None, (said, containers.get(item)))) for item, said in words.items()}


@registry.clearances.register("batches")
def is_clear(item: Item, day: dt.date, **_more: Any) -> bool:
    """Whether a bag is released and in date on a local day; holds are asked elsewhere. False for all that is no bag."""
    return Bag.objects.released(day).filter(item=item).exists()
