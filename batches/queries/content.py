"""Strip content from the record: grams of oxalic acid dihydrate in a strip, with its uncertainty; and uniformity."""

import dataclasses
from fractions import Fraction

from batches import strength
from batches.models import Bag, Equipment, Soak
from batches.science import content, uniformity

#: the step taken for a scale that was not named: 1 g, by bench judgement
STEP_MG = 1_000


@dataclasses.dataclass(frozen=True)
class OfBag:
    """One bag's mean strip."""

    bag: Bag
    code: str
    strips: int
    found: content.BagContent


@dataclasses.dataclass(frozen=True)
class OfSoak:
    """The mean strip of what was bagged (split-off bags apart), and each bag beside it."""

    whole: content.Content
    bags: list[OfBag]


def dry_mean(soak: Soak) -> content.DryMean | None:
    """Of the marked strips; else the blank lot's dry mass, whose uncertainty is not known and taken as none."""
    dry = list(soak.marked.values_list("dry_mg", flat=True))
    if len(dry) > 1:
        return content.dry_mean(dry)
    lot = getattr(soak.blanks, "lot", None)
    return content.DryMean(Fraction(lot.dry_strip_mg), 0.0, 0.0) if lot is not None and lot.dry_strip_mg else None


def of_soak(soak: Soak) -> OfSoak | None:
    """None until strips are bagged and both the dry mass and the strength are known."""
    bags = list(soak.bags.filter(parent=None).select_related("item", "scale").order_by("id"))
    strong, dry = strength.of_soak(soak), dry_mean(soak)
    judged = [bag for bag in bags if bag.split_off_id is None] or bags
    if not judged or strong is None or dry is None:
        return None
    steps = [step for bag in judged for step in [_step(bag.scale)] * 2]
    weighed = [content.Bagged(bag.strips, int(bag.net_mg or 0)) for bag in judged]
    whole, _each = content.of_bags(weighed, dry, strong.w_ppb, strong.u_ppb, steps)
    found = [
        OfBag(
            bag,
            bag.item.code_id,
            bag.strips,
            content.of_bag(content.Bagged(bag.strips, int(bag.net_mg or 0)), dry.mean_mg, strong.w_ppb, whole),
        )
        for bag in bags
    ]
    return OfSoak(whole, found)


def of_bag(bag: Bag) -> OfBag | None:
    """A bag's strip content; a part of a bag has that of the whole."""
    soak = of_soak(bag.soak)
    return next((one for one in soak.bags if one.bag.pk == bag.whole.pk), None) if soak else None


def uniformity_of(soak: Soak) -> uniformity.Acceptance | None:
    """AV of the marked strips' uptake, in percent of the recipe's; None until they are weighed wet."""
    marked = [(one.dry_mg, one.wet_mg) for one in soak.marked.order_by("n") if one.wet_mg is not None]
    if len(marked) < uniformity.STAGE_1:
        return None
    dry, wet = [one for one, _wet in marked], [one for _dry, one in marked]
    return uniformity.acceptance(uniformity.paired(dry, wet, soak.bench.recipe.uptake_mg))


def _step(scale: Equipment | None) -> int:
    return scale.resolution if scale else STEP_MG
