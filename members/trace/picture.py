"""Pictures of a trace: tubs filled by share, and the bar of strips that must close."""

from collections.abc import Sequence

from django.utils.translation import gettext as _

from coop import wording
from coop.drawing.division import BalancePart, balance_bar
from coop.drawing.picture import Picture
from coop.drawing.tubs import Tub, tubs
from inventory.models import Item
from inventory.science.shares import WHOLE
from members.trace.holders import Pieces
from members.trace.reach import Reach, Reached

MOST_TUBS = 24


def reach_picture(item: Item, reach: Reach) -> Picture | None:
    """A tub for each soak that the matter of a thing came into; None where it has not come into any by mass."""
    soaks = [row for row in reach.rows if row.item.kind == Item.Kind.SOAK and row.share]
    if not soaks or reach.drawn_mg is None:
        return None
    drawn = [_tub(item, soak, reach) for soak in soaks[:MOST_TUBS]]
    title = _("How far it reaches")
    narrow, wide = tubs(title, drawn)
    return Picture(
        title,
        narrow=narrow,
        wide=wide,
        lead=_("Its share by mass in each tub, taken as well mixed."),
        heads=[_("Soak"), _("Came there"), _("Share by mass"), _("Of it"), _("Made"), _("Of it a strip")],
        rows=[
            [
                soak.item.spaced_code,
                tub.how,
                wording.percent(tub.share, places=3),
                tub.amount,
                tub.made,
                tub.each,
            ]
            for soak, tub in zip(soaks, drawn, strict=False)
        ],
        note=_("The first %(count)s tubs of %(all)s are drawn; the table has them all.")
        % {"count": MOST_TUBS, "all": len(soaks)}
        if len(soaks) > MOST_TUBS
        else "",
    )


def _tub(item: Item, soak: Reached, reach: Reach) -> Tub:
    bags = _bags_of(soak, reach)
    strips = sum(row.strips or 0 for row in bags)
    poured = sum(edge.mass_mg for edge in reach.edges if edge.child == soak.item.pk)
    share = (soak.share or 0) / WHOLE
    each = next((row.each_mg for row in bags if row.each_mg), None)
    return Tub(
        when=wording.day(soak.item.made_at),
        how=_how(item, soak, reach),
        share=share,
        amount=wording.mass_g(round(poured * share), 0),
        made=f"{wording.counted(len(bags), 'bag')}, {wording.counted(strips)}" if bags else "",
        each=_("%(mass)s a strip") % {"mass": wording.mass_g(each, 2)} if each else "",
    )


def _bags_of(soak: Reached, reach: Reach) -> list[Reached]:
    """The bags filled from a soak itself; parts of bags are not counted again."""
    ids = {edge.child for edge in reach.edges if edge.parent == soak.item.pk}
    return [row for row in reach.rows if row.item.pk in ids and row.item.kind == Item.Kind.BAG]


def _how(item: Item, soak: Reached, reach: Reach) -> str:
    mixes = {edge.parent for edge in reach.edges if edge.child == soak.item.pk}
    is_direct = any(edge.parent == item.pk and edge.child in mixes | {soak.item.pk} for edge in reach.edges)
    return _("direct") if is_direct else _("by returned solution")


def pieces_picture(pieces: Pieces) -> Picture:
    """Made, and every part of it, as a bar."""
    made = wording.counted(pieces.made)
    title = (
        _("Made %(strips)s, and every one is accounted for")
        if pieces.difference == 0
        else _("Made %(strips)s: they do not close")
    )
    parts = [
        BalancePart(_("in store"), pieces.in_store, "pale"),
        BalancePart(_("retained"), pieces.retained, "slate"),
        BalancePart(_("with members"), pieces.with_members, "mid-rust"),
        BalancePart(_("destroyed"), pieces.destroyed, "rule"),
        BalancePart(_("lost"), pieces.lost, "ink"),
        BalancePart(_("used otherwise"), pieces.otherwise, "mid"),
        BalancePart(_("not accounted for"), pieces.difference, "rust"),
    ]
    shown = [part for number, part in enumerate(parts) if part.amount or number < 5]
    return balance_bar(title % {"strips": made}, _("made"), shown, unit="pieces")


def codes_of(items: Sequence[Item]) -> str:
    return ", ".join(item.spaced_code for item in items)
