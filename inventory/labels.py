"""Labels for what stands on the shelf: one for each container of a lot, with what whoever opens it must know."""

import dataclasses
from collections.abc import Iterable, Sequence
from decimal import Decimal

import typst
from django.conf import settings
from django.utils.translation import gettext as _

from coop import printing, wording
from coop.label_sheets import INSET, SHEETS, Sheet, Spot
from coop.models import Club, the_club
from coop.refusals import Refused
from inventory.models import Container, Item, Lot, Material

MOST = 300
#: hazard words smaller than this help nobody, in points: common practice, no published source
LEAST_POINTS = 6
#: so many labels, those with most words, are tried on other papers
_TRIED = 8
#: what labels.typ ends with where hazard words do not fit
_TOO_SMALL = "hazard words do not fit"
#: signs after which a word without a space may be broken on a label
_LONG = 14


@dataclasses.dataclass(frozen=True)
class Label:
    """The words of one label, each made to be read alone. `container` is empty where the label is for the lot."""

    code: str
    address: str
    material: str
    container: str
    facts: tuple[str, ...]
    signal: str
    hazard: str
    care: tuple[str, ...]

    @property
    def name(self) -> str:
        """What the label is for, in a sentence."""
        parts = [wording.code(self.code), self.material, self.container]
        return ", ".join(part for part in parts if part)


def address_of(code: str) -> str:
    """The address in the QR code of anything with a code, in capitals: they make the smallest picture.

    `/C/` leads where `/c/` leads; scheme and host never mind capitals.
    """
    return f"{settings.SITE_ADDRESS}/c/{code}".upper()


def labels_of(item: Item, containers: Iterable[Container | None]) -> list[Label]:
    """One label of a lot for each container; None stands for the lot without naming one."""
    club = the_club()
    return [_label(item, one, club) for one in containers]


def for_lot(item: Item) -> list[Container | None]:
    """What needs a label: each container that is not empty, else the lot itself."""
    return [*item.lot.containers.filter(emptied_on=None)] or [None]


def for_lots(items: Iterable[Item]) -> list[Label]:
    """A label for each container of several lots, as a delivery brings them."""
    return [label for item in items for label in labels_of(item, for_lot(item))]


def pdf(
    labels: Sequence[Label],
    sheet: Sheet,
    *,
    title: str,
    first: int = 1,
    right_mm: Decimal | int = 0,
    down_mm: Decimal | int = 0,
) -> bytes:
    """The labels on sheets of that paper, from its first free label, shifted as the printer needs it.

    Refused: code "first" beyond the sheet, "shift" off the paper, "many" above 300 labels, "none" without one, "small"
    where hazard words would be smaller than 6 points.
    """
    if not labels:
        raise Refused(_("There is nothing to print a label for."), code="none")
    if len(labels) > MOST:
        raise Refused(
            _("%(count)s labels at once are more than %(most)s. Print them in parts.")
            % {"count": wording.figure(len(labels)), "most": MOST},
            code="many",
        )
    if not 1 <= first <= sheet.a_sheet:
        raise Refused(
            _("A sheet of this paper has the labels 1 to %(last)s.") % {"last": sheet.a_sheet},
            code="first",
            field="first",
        )
    sheet.check_shift(Decimal(right_mm), Decimal(down_mm))
    try:
        return _set(labels, sheet, sheet.spots(len(labels), first, right_mm, down_mm), title)
    except typst.TypstError as error:
        if _TOO_SMALL not in str(error):
            raise
        raise _too_small(labels, sheet) from error


def _set(labels: Sequence[Label], sheet: Sheet, spots: Sequence[Spot], title: str) -> bytes:
    codes = sorted({label.code for label in labels})
    rows = [
        _printed(label) | {"sheet": spot.sheet, "x": float(spot.x_mm), "y": float(spot.y_mm)}
        for label, spot in zip(labels, spots, strict=True)
    ]
    data = {
        "title": title,
        "width": float(sheet.width_mm),
        "height": float(sheet.height_mm),
        "inset": float(INSET),
        "sheets": spots[-1].sheet + 1,
        "opened": _("Opened on"),
        "least": LEAST_POINTS * 4,
        "refusal": _TOO_SMALL,
        "labels": rows,
    }
    return printing.pdf("inventory", "labels", data, {f"{code}.svg": printing.qr(address_of(code)) for code in codes})


def _too_small(labels: Sequence[Label], sheet: Sheet) -> Refused:
    """Says which of the papers we know hold these words."""
    alike = {(one.facts, one.hazard): one for one in labels if one.hazard}
    fullest = sorted(alike.values(), key=lambda one: len(" ".join(one.facts)), reverse=True)[:_TRIED]
    papers = [other.words for other in SHEETS.values() if other != sheet and _holds(other, fullest)]
    if not papers:
        words = _(
            "The hazard words fit on no paper we know in letters of 6 points. Shorten them in the club's settings."
        )
        return Refused(words, code="small", field="paper")
    return Refused(
        _(
            "The hazard words do not fit on this label in letters that can be read (6 points). "
            "These papers hold them: %(papers)s."
        )
        % {"papers": "; ".join(papers)},
        code="small",
        field="paper",
    )


def _holds(sheet: Sheet, labels: Sequence[Label]) -> bool:
    try:
        _set(labels, sheet, sheet.spots(len(labels)), sheet.key)
    except typst.TypstError as error:
        if _TOO_SMALL in str(error):
            return False
        raise
    return True


def _label(item: Item, container: Container | None, club: Club) -> Label:
    material = item.material
    is_acid = material is not None and material.kind == Material.Kind.ACID
    read = _("Read the supplier's sheet before you open it.")
    return Label(
        code=item.code_id,
        address=address_of(item.code_id),
        material=material.name if material else "",
        container=_container(container),
        facts=tuple(_facts(item, item.lot, is_acid)),
        signal=club.signal_word if is_acid else "",
        hazard=(club.hazard_text or read) if is_acid else "",
        care=tuple(_care(club, is_acid)),
    )


def _container(container: Container | None) -> str:
    if container is None:
        return ""
    if container.tare_mg is None:
        return container.name
    return _("%(name)s, empty %(tare)s") % {"name": container.name, "tare": wording.mass_g(container.tare_mg)}


def _facts(item: Item, lot: Lot, is_acid: bool) -> list[str]:
    facts = []
    if is_acid:
        facts.append(_form(lot))
    if lot.supplier_lot:
        facts.append(_("Supplier's lot %(lot)s") % {"lot": lot.supplier_lot})
    if item.best_before:
        facts.append(_("Best before %(day)s") % {"day": _unbroken(wording.full_day(item.best_before))})
    return facts


def _form(lot: Lot) -> str:
    """What stands in the drum, in full: "acid" alone is never enough."""
    words = {
        Lot.Form.DIHYDRATE: _("Oxalic acid dihydrate"),
        Lot.Form.ANHYDROUS: _("Anhydrous oxalic acid: not for our recipes"),
    }
    name = words.get(Lot.Form(lot.form), _("Form unknown: do not weigh in"))
    if lot.assay_ppb is None:
        return str(name)
    return _("%(form)s, assay %(assay)s") % {"form": name, "assay": wording.percent(lot.assay_ppb, 10**9)}


def _care(club: Club, is_acid: bool) -> list[str]:
    care = [_("Keep from children and food."), _("See the supplier's sheet.")]
    if club.phone:
        care.append(_("Questions: %(phone)s.") % {"phone": _unbroken(club.phone)})
    if is_acid and club.poison_phone:
        care.append(_("Poison line: %(phone)s.") % {"phone": _unbroken(club.poison_phone)})
    return care


def _unbroken(text: str) -> str:
    """A number or a date that stays on one line."""
    return text.replace(" ", "\u00a0")


def _printed(label: Label) -> dict[str, object]:
    return {
        "code": wording.code(label.code),
        "qr": f"{label.code}.svg",
        "alt": label.address,
        "material": _breakable(label.material),
        "container": _breakable(label.container),
        "facts": [_breakable(fact) for fact in label.facts],
        "signal": _breakable(label.signal),
        "hazard": _breakable(label.hazard),
        "care": " ".join(label.care),
    }


def _breakable(text: str) -> str:
    """Words too long for a label may break anywhere: a zero-width space after each sign."""
    return " ".join("\u200b".join(word) if len(word) > _LONG else word for word in text.split(" "))
