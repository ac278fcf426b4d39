"""What the bench will take from the shelf: planned benches, and what one under way still has to weigh in."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple

from django.db.models import Sum
from django.urls import reverse
from django.utils.translation import gettext as _

from batches.models import Bench, Pour, Soak, Weighing
from coop import registry, wording
from inventory.models import Holding, Item, Place
from inventory.outlook import Demand

AT_ONCE = 5000
#: strips of these soaks are on their way to a release
COMING = (Soak.State.LAID, Soak.State.SOAKING, Soak.State.LIFTED, Soak.State.REWORK)


class Done(NamedTuple):
    """What happened already at benches under way: amounts by bench and pail, pails poured, strips laid by bench."""

    weighed: dict[tuple[int, int, int], int]
    poured: set[tuple[int, int]]
    laid: dict[int, int]


@registry.demands.register("benches")
def planned_benches(day: dt.date, until: dt.date) -> Iterator[Demand]:
    """The lines of every plan by material, and the blanks; of a bench under way the rest, pails poured left out."""
    rows = list(
        Bench.objects.open()
        .filter(day__lte=until)
        .order_by("day", "pk")
        .values_list("pk", "day", "state", "plan", "recipe__name", "blanks__material_id")
    )
    materials = _materials(plan for _pk, _day, _state, plan, _recipe, _blanks in rows)
    done = _done([pk for pk, _day, state, *_rest in rows if state == Bench.State.RUNNING])
    address = reverse("batches:bench", args=[0])
    for pk, on, state, plan, recipe, blanks in rows:
        is_running = state == Bench.State.RUNNING
        needs = _rest(pk, plan, blanks, materials, done) if is_running else _whole(plan, blanks, materials)
        when = day if is_running else on
        words, key, url = _words(is_running, on, day, recipe), f"bench:{pk}", address.replace("0", str(pk))
        for material, quantity in needs.items():
            yield Demand(material, when, quantity, words, key, url)


def strips_to_come(held: Iterable[int] = ()) -> int:
    """Strips that are planned, laid, in the tub, or lifted and waiting for their release; soaks on hold left out."""
    held = set(held)
    rows = list(Bench.objects.open().values_list("pk", "state", "plan"))
    running = [pk for pk, state, _plan in rows if state == Bench.State.RUNNING]
    done = _done(running)
    planned = sum(
        _strips_left(pk, plan, done) if state == Bench.State.RUNNING else int(plan.get("strips") or 0)
        for pk, state, plan in rows
    )
    soaks = [pk for pk in Soak.objects.filter(state__in=COMING).values_list("item_id", flat=True) if pk not in held]
    there = Holding.objects.filter(item__unit="pieces", place__kind__in=[Place.Kind.SHED, Place.Kind.BENCH])
    at_the_bench = there.filter(item__in=soaks)
    in_bags = there.filter(
        item__bag__soak__item__in=soaks, item__bag__split_off=None, item__bag__parent__split_off=None
    )
    return planned + _total(at_the_bench) + _total(in_bags.exclude(item__in=held))


def _total(rows: Any) -> int:
    return int(rows.aggregate(total=Sum("quantity"))["total"] or 0)


def _whole(plan: dict[str, Any], blanks: int | None, materials: dict[int, int]) -> dict[int, int]:
    """Material to what the whole plan takes of it."""
    needs: dict[int, int] = {}
    for mix in plan.get("mixes", ()):
        for line in mix["lines"]:
            material = materials.get(line["item"])
            if material is not None:
                needs[material] = needs.get(material, 0) + line["mass_mg"]
    if blanks is not None and plan.get("strips"):
        needs[blanks] = needs.get(blanks, 0) + plan["strips"]
    return needs


def _rest(pk: int, plan: dict[str, Any], blanks: int | None, materials: dict[int, int], done: Done) -> dict[int, int]:
    """Material to what is still to be taken: by pail, so that too much in one is not less in another."""
    needs: dict[int, int] = defaultdict(int)
    for number, mix in enumerate(plan.get("mixes", ()), 1):
        if (pk, number) in done.poured:
            continue
        for material, planned in _whole({"mixes": [mix]}, None, materials).items():
            needs[material] += max(0, planned - done.weighed.get((pk, number, material), 0))
    if blanks is not None:
        needs[blanks] += _strips_left(pk, plan, done)
    return {material: quantity for material, quantity in needs.items() if quantity}


def _strips_left(pk: int, plan: dict[str, Any], done: Done) -> int:
    """Strips of the plan that are not laid yet; none once something was poured."""
    if any(bench == pk for bench, _number in done.poured):
        return 0
    return max(0, int(plan.get("strips") or 0) - done.laid.get(pk, 0))


def _materials(plans: Iterable[dict[str, Any]]) -> dict[int, int]:
    """Item to material, for what the plans name; returned solution is of none."""
    items = list({line["item"] for plan in plans for mix in plan.get("mixes", ()) for line in mix["lines"]})
    found: dict[int, int] = {}
    for start in range(0, len(items), AT_ONCE):
        rows = Item.objects.filter(pk__in=items[start : start + AT_ONCE], material__isnull=False).order_by()
        found |= {pk: material for pk, material in rows.values_list("pk", "material_id") if material is not None}
    return found


def _done(benches: list[int]) -> Done:
    done = Done(defaultdict(int), set(), {})
    if not benches:
        return done
    weighings = Weighing.objects.filter(mix__bench__in=benches, item__material__isnull=False).order_by()
    for bench, number, material, mass in weighings.values_list(
        "mix__bench_id", "mix__number", "item__material_id", "mass_mg"
    ):
        done.weighed[bench, number, material or 0] += mass
    pours = Pour.objects.filter(mix__bench__in=benches).order_by()
    done.poured.update(pours.values_list("mix__bench_id", "mix__number"))
    laid = Soak.objects.filter(bench__in=benches).order_by().values_list("bench").annotate(total=Sum("strips"))
    done.laid.update(laid)
    return done


def _words(is_running: bool, on: dt.date, day: dt.date, recipe: str) -> str:
    if is_running:
        return _("bench under way, %(recipe)s") % {"recipe": recipe}
    if on < day:
        return _("late bench of %(day)s, %(recipe)s") % {"day": wording.day(on, day), "recipe": recipe}
    return _("bench, %(recipe)s") % {"recipe": recipe}
