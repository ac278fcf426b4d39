"""The cost part of the pages of mixes, soaks, bags and returned solution."""

import dataclasses
from fractions import Fraction

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from batches.models import Bench, Instructions, Soak
from batches.queries import cost as queries
from coop import wording
from inventory import costs
from inventory.costs import Cost
from inventory.models import Item

KG = 10**6
GIFTS = gettext_lazy("Gifts count as nothing. Losses are borne by the strips.")
SO_FAR = gettext_lazy("So far: the bench is not closed yet.")
CAPPED = gettext_lazy(
    "More solution came back by the book than was there to carry. What came back carries all of it, nothing less "
    "than zero. Look at the weighings."
)


@dataclasses.dataclass(frozen=True)
class CostRow:
    """One figure in micro-cents; `is_answer` is what somebody came for."""

    label: str
    cost: int | Fraction
    is_answer: bool = False


@dataclasses.dataclass(frozen=True)
class CostPart:
    rows: list[CostRow]
    notes: list[str]


def of_soak(soak: Soak) -> CostPart:
    """Solution, what returned solution carries, strips, the batch, a strip and a hive dose by kind of hive."""
    found = queries.of_soak(soak)
    rows = [CostRow(_("Solution"), found.solution), CostRow(_("Returned solution carries"), -found.returned)]
    if found.in_tub:
        rows.append(CostRow(_("In the tub yet"), -found.in_tub))
    rows += [CostRow(_("Strips"), found.blanks), CostRow(_("The batch"), found.batch, is_answer=True)]
    rows += _by_strip(found.a_strip, soak.bench.instructions)
    if found.written_off:
        rows.append(CostRow(_("Written off, no strip bears it"), found.written_off))
    return CostPart(rows, _notes(found.is_capped, found.is_final))


def of_bag(item: Item, instructions: Instructions | None) -> CostPart:
    found = costs.of_item(item)
    return CostPart([CostRow(_("The bag"), found.into), *_by_strip(found.each, instructions)], [str(GIFTS)])


def of_mix(item: Item, bench: Bench) -> CostPart:
    """All that went in, by what it was, and where it went on."""
    found = costs.of_ancestry([item.pk])
    cost = found[item.pk]
    parents = Item.objects.filter(pk__in=cost.by_parent).select_related("material").order_by("made_at", "pk")
    rows = [CostRow(_name(parent), cost.by_parent[parent.pk]) for parent in parents]
    rows += [CostRow(_("Went in"), cost.into, is_answer=True), *_a_kilogram(cost)]
    if cost.returned:
        rows.append(CostRow(_("Carried by what came back from the pail"), cost.returned))
    if cost.carried:
        rows.append(CostRow(_("Borne by the tubs"), cost.carried))
    if cost.waiting:
        is_given_up = bench.state == Bench.State.ABANDONED
        word = _("Written off, unless it is put back") if is_given_up else _("In the pail yet")
        rows.append(CostRow(word, cost.waiting))
    if cost.written_off:
        rows.append(CostRow(_("Written off, nothing bears it"), cost.written_off))
    return CostPart(rows, _notes(cost.is_capped, bench.state in (Bench.State.CLOSED, Bench.State.ABANDONED)))


def of_returned(item: Item) -> CostPart:
    cost = costs.of_item(item)
    rows = [CostRow(_("It carries"), cost.into, is_answer=True), *_a_kilogram(cost)]
    if cost.carried:
        rows += [CostRow(_("Went on into other mixes"), cost.carried), CostRow(_("Still in it"), cost.kept)]
    return CostPart(rows, [str(CAPPED)] if cost.is_capped else [])


def _name(item: Item) -> str:
    what = item.material.name if item.material else item.get_kind_display()
    return f"{what} {wording.code(item.code_id)}"


def _a_kilogram(cost: Cost) -> list[CostRow]:
    return [] if cost.each is None else [CostRow(_("A kilogram"), cost.each * KG)]


def _by_strip(a_strip: Fraction | None, instructions: Instructions | None) -> list[CostRow]:
    if a_strip is None:
        return []
    doses = queries.of_doses(instructions, a_strip)
    return [
        CostRow(_("A strip"), a_strip),
        *(CostRow(_("A hive dose, %(kind)s") % {"kind": dose.hive_kind}, dose.cost, is_answer=True) for dose in doses),
    ]


def _notes(is_capped: bool, is_final: bool) -> list[str]:
    notes: list[str | Promise] = [GIFTS]
    if not is_final:
        notes.append(SO_FAR)
    if is_capped:
        notes.append(CAPPED)
    return [str(note) for note in notes]
