"""The course of a bench: which steps there are, which are done, and which one is next."""

import dataclasses

from django.db.models import Sum
from django.urls import reverse
from django.utils.translation import gettext as _

from batches.models import Bench, Clarity, Equipment, Mix, Soak
from inventory.models import Holding, Item, Place

CLEAR_APART_S = 180


@dataclasses.dataclass(frozen=True)
class Step:
    """One step: what is to be done, of which pail or tub, where, and whether it is done."""

    key: str
    title: str
    url: str
    is_done: bool
    of: str = ""


def course(bench: Bench) -> list[Step]:
    """All steps of the bench in their order; the plain case is one pail and one tub, more only add their own."""
    steps = [Step("start", _("Open the bench"), _to("start", bench), bench.state != Bench.State.PLANNED)]
    mixes, soaks = list(bench.mixes.order_by("number")), list(bench.soaks.order_by("number"))
    steps += _checks(bench, "before")
    steps += _laying(bench, soaks)
    for mix in mixes:
        steps += _mixing(bench, mix, f"{_('Mix')} {mix.number}" if len(mixes) > 1 else "")
    for soak in soaks:
        steps += _lifting(bench, soak, f"{_('Soak')} {soak.number}" if len(soaks) > 1 else "")
    steps += _checks(bench, "after")
    steps.append(Step("close", _("Close the bench"), _to("close", bench), not bench.is_open))
    return steps


def next_step(bench: Bench) -> Step | None:
    """The first step that is not done; None when all are."""
    return next((step for step in course(bench) if not step.is_done), None)


def place_of(steps: list[Step], url: str) -> tuple[int, int]:
    """The step at an address, or at its path alone: its number and how many there are."""
    numbers = [n for n, step in enumerate(steps, 1) if step.url in (url, url.partition("?")[0])]
    return (numbers[0] if numbers else 0), len(steps)


def clear_twice(mix: Mix) -> bool:
    """Two readings in a row found it clear, at least 3 minutes apart."""
    rows = list(mix.readings.values_list("happened_at", "clarity"))
    clear_since = None
    for at, clarity in rows:
        if clarity and clarity != Clarity.CLEAR:
            clear_since = None
        elif clarity == Clarity.CLEAR:
            clear_since = clear_since or at
            if (at - clear_since).total_seconds() >= CLEAR_APART_S:
                return True
    return False


def strips_at(soak: Soak) -> int:
    """Pieces of the soak that are in no bag yet."""
    rows = Holding.objects.filter(item=soak.item_id, place__kind=Place.Kind.BENCH, place__item=soak.item_id)
    return int(rows.aggregate(left=Sum("quantity"))["left"] or 0)


def liquid_at(item: Item) -> int:
    """Milligrams of solution in the pail or tub of a mix or soak."""
    rows = Holding.objects.filter(place__kind=Place.Kind.BENCH, place__item=item, item__unit="mass")
    return int(rows.aggregate(left=Sum("quantity"))["left"] or 0)


def _to(name: str, *args: Bench | Mix | Soak | int) -> str:
    return reverse(f"batches:{name}", args=[one if isinstance(one, int) else one.pk for one in args])


def _checks(bench: Bench, when: str) -> list[Step]:
    """Scale (and before the work the thermometer) against a reference; no step for what the club does not have."""
    poured = bench.soaks.exclude(poured_at=None).order_by("poured_at").values_list("poured_at", flat=True).first()
    steps = []
    for kind, word in (
        (Equipment.Kind.SCALE, _("Check the scale")),
        (Equipment.Kind.THERMOMETER, _("Check the thermometer")),
    ):
        if (when == "after" and kind != Equipment.Kind.SCALE) or not Equipment.objects.filter(
            kind=kind, retired_at=None
        ).exists():
            continue
        checks = bench.checks.filter(equipment__kind=kind)
        if when == "after":
            done = poured is not None and checks.filter(happened_at__gt=poured).exists()
            word = _("Check the scale again")
        else:
            done = checks.exists()
        steps.append(
            Step(f"check_{kind}_{when}", word, reverse("batches:check", args=[bench.pk, kind]) + f"?{when}", done)
        )
    return steps


def _laying(bench: Bench, soaks: list[Soak]) -> list[Step]:
    steps = [Step("lay", _("Lay the strips"), _to("lay", bench), bool(soaks))]
    for soak in soaks:
        of = f"{_('Soak')} {soak.number}" if len(soaks) > 1 else ""
        steps.append(Step("dry", _("Weigh the marked strips dry"), _to("dry", bench, soak), soak.marked.exists(), of))
    return steps


def _mixing(bench: Bench, mix: Mix, of: str) -> list[Step]:
    plans = bench.plan.get("mixes", [])
    lines = plans[mix.number - 1]["lines"] if mix.number <= len(plans) else []
    names = {
        item.pk: item
        for item in Item.objects.filter(pk__in=[line["item"] for line in lines]).select_related("material")
    }
    weighed = set(mix.weighings.values_list("item_id", flat=True))
    poured = mix.pours.exists()
    steps = []
    order = {"returned": 0, "glycerine": 1, "acid": 2}
    for line in sorted(lines, key=lambda line: order.get(line["role"], 3)):
        item = names[line["item"]]
        title = _("Weigh in %(what)s") % {"what": item.material.name if item.material else _("returned solution")}
        url = _to("weigh", bench, mix) + f"?item={item.code_id}"
        steps.append(Step(f"weigh_{line['role']}", title, url, item.pk in weighed, of))
    if not lines:
        steps.append(Step("weigh", _("Weigh in"), _to("weigh", bench, mix), bool(weighed), of))
    steps.append(Step("pail", _("Weigh the whole pail"), _to("pail", bench, mix), mix.pail_checks.exists(), of))
    steps.append(Step("heat", _("Heat, stir, read"), _to("heat", bench, mix), poured or clear_twice(mix), of))
    steps.append(Step("pour", _("Pour onto the strips"), _to("pour", bench, mix), poured, of))
    return steps


def _lifting(bench: Bench, soak: Soak, of: str) -> list[Step]:
    lifted = soak.lifted_at is not None
    left, wet = strips_at(soak), soak.marked.exclude(wet_mg=None).exists()
    return [
        Step("look", _("Look into the tub"), _to("look", bench, soak), lifted or soak.looks.exists(), of),
        Step("lift", _("Lift and drain"), _to("lift", bench, soak), lifted, of),
        Step("wet", _("Weigh the marked strips wet"), _to("wet", bench, soak), wet or not soak.marked.exists(), of),
        Step("sample", _("Keep a sample"), _to("sample_in", bench, soak), soak.samples.exists(), of),
        Step("bag", _("Bag and weigh"), _to("bag_in", bench, soak), lifted and left == 0, of),
        Step("back", _("Put the solution back"), _to("back", bench, soak), soak.returned.exists(), of),
    ]
