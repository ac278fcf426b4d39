"""The arithmetic of a tub over the ledger: what solution leaves it, in whole milligrams, by mix.

The solution in a tub stays an item of each mix it came from. What is taken out is taken from all of them in
proportion (the tub is taken as well mixed), in integers with the largest remainder, so that the sum is exact.
"""

from collections.abc import Sequence

from batches.models import Bag, Mix, Sample, Soak
from coop.models import Deed
from inventory.ledger import Move, post
from inventory.models import Edge, Holding, Item, Movement, Place

Cause = Movement.Cause


def split(amount: int, weights: Sequence[int]) -> list[int]:
    """`amount` in whole parts in proportion to the weights; the parts sum exactly. Ties go to the earlier."""
    whole = sum(weights)
    if whole <= 0:
        return [0] * len(weights)
    parts = [amount * weight // whole for weight in weights]
    rest = sorted(range(len(weights)), key=lambda i: (-(amount * weights[i] % whole), i))
    for place in rest[: amount - sum(parts)]:
        parts[place] += 1
    return parts


def liquids(soak: Soak) -> list[tuple[Item, int]]:
    """What solution stands in the tub now, by mix."""
    rows = Holding.objects.filter(place=Place.objects.bench_of(soak.item), item__unit="mass", quantity__gt=0)
    return [(row.item, row.quantity) for row in rows.select_related("item").order_by("item_id")]


def left_mg(soak: Soak) -> int:
    return sum(quantity for _item, quantity in liquids(soak))


def draw(soak: Soak, mass_mg: int, target: Place, cause: str, note: str = "") -> list[Move]:
    """Moves that take so much solution out of the tub.

    A tub that holds less by the book than was weighed out of it is a weighing difference: the rest comes from
    `found` under the cause `unexplained` and is counted, with its sign, in the balance. Where no pour is on record yet,
    it comes by way of the pail, so that what is made of it knows what it was made from.
    """
    if mass_mg <= 0:
        return []
    tub = Place.objects.bench_of(soak.item)
    held = liquids(soak) or [(item, 0) for item in _poured_or_mixed(soak)[:1]]
    if not held:
        return []
    total = sum(quantity for _item, quantity in held)
    moves: list[Move] = []
    amounts = [quantity for _item, quantity in held]
    if total < mass_mg:
        moves += _found(soak, held[0][0], tub, mass_mg - total)
        amounts[0] += mass_mg - total
    else:
        amounts = split(mass_mg, amounts)
    moves += [
        Move(item, tub, target, part, cause, note) for (item, _held), part in zip(held, amounts, strict=True) if part
    ]
    return moves


def _found(soak: Soak, mix: Item, tub: Place, mass_mg: int) -> list[Move]:
    found = Place.objects.the(Place.Kind.FOUND)
    if Edge.objects.filter(parent=mix, child=soak.item, mass_mg__gt=0).exists():
        return [Move(mix, found, tub, mass_mg, Cause.UNEXPLAINED)]
    pail = Place.objects.bench_of(mix)
    return [
        Move(mix, found, pail, mass_mg, Cause.UNEXPLAINED),
        Move(mix, pail, tub, mass_mg, Cause.UNEXPLAINED),
    ]


def _poured_or_mixed(soak: Soak) -> list[Item]:
    poured = [pour.mix.item for pour in soak.pours.select_related("mix__item").order_by("id")]
    return poured or [mix.item for mix in soak.bench.mixes.select_related("item")]


def redraw(deed: Deed, soak: Soak, child: Item, mass_mg: int, cause: str) -> bool:
    """Make the solution that stands as gone into a bag or sample equal `mass_mg`; True when the book changed."""
    tub, used = Place.objects.bench_of(soak.item), Place.objects.used_in(child)
    standing = list(
        Movement.objects.filter(source=tub, target=used, item__unit="mass", reverses=None, reversed_by=None)
        .select_related("item", "source", "target")
        .order_by("id")
    )
    if sum(movement.quantity for movement in standing) == mass_mg:
        return False
    back = [Move(m.item, m.target, m.source, m.quantity, Cause.CORRECT, reverses=m) for m in standing]
    if back:
        post(deed, back, fact=True)
    moves = draw(soak, mass_mg, used, cause)
    if moves:
        post(deed, moves, fact=True)
    return True


def dry_mg(soak: Soak, strips: int) -> int | None:
    """Dry mass of so many strips: by the mean of the marked ones, else by the blank lot; None without either."""
    dry = list(soak.marked.values_list("dry_mg", flat=True))
    if dry:
        return (2 * sum(dry) * strips + len(dry)) // (2 * len(dry))
    lot = getattr(soak.blanks, "lot", None)
    return lot.dry_strip_mg * strips if lot is not None and lot.dry_strip_mg else None


def uptake_mg(soak: Soak, strips: int, net_mg: int | None) -> int:
    """Solution in so many strips: net less dry; by the recipe's uptake where one of them is not known."""
    dry = dry_mg(soak, strips)
    if net_mg is None or dry is None:
        return strips * soak.bench.recipe.uptake_mg
    return max(net_mg - dry, 0)


def redraw_all(deed: Deed, soak: Soak) -> None:
    """After the dry mean or a weighing changed: bags and samples carry what they now weigh."""
    bags = Bag.objects.filter(soak=soak, parent=None).select_related("item").order_by("id")
    for bag in bags:
        redraw(deed, soak, bag.item, uptake_mg(soak, bag.strips, bag.net_mg), Cause.BAG)
    for sample in Sample.objects.filter(soak=soak).select_related("item").order_by("id"):
        redraw(deed, soak, sample.item, uptake_mg(soak, sample.strips, sample.net_mg), Cause.SAMPLE)


def sweep(deed: Deed, soaks: Sequence[Soak], mixes: Sequence[Mix]) -> None:
    """What is left on a bench that ends: in a pail it was seen and is a loss, in a tub it is unexplained."""
    moves: list[Move] = []
    for soak in soaks:
        moves += draw(soak, left_mg(soak), Place.objects.the(Place.Kind.UNEXPLAINED), Cause.UNEXPLAINED)
    lost = Place.objects.the(Place.Kind.LOST)
    for mix in mixes:
        pail = Place.objects.bench_of(mix.item)
        rest = Holding.objects.filter(item=mix.item, place=pail).values_list("quantity", flat=True).first()
        if rest:
            moves.append(Move(mix.item, pail, lost, rest, Cause.LOSS, "left in the pail"))
    if moves:
        post(deed, moves, fact=True)
