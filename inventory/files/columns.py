"""The lists of a stock file and their columns. The words at the head are the file's format: they are not translated.

A head may carry a unit after a comma ("amount, kg"); order and case do not matter, and unknown columns are passed over.
"""

import dataclasses

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

SUPPLIERS, MATERIALS, LOTS, BALANCES = "suppliers", "materials", "lots", "balances"
#: in this order rows are read and judged: what is named later stands in a list before
LISTS = (SUPPLIERS, MATERIALS, LOTS, BALANCES)
#: written for people; passed over when it comes in
LEDGER, READ_ME = "ledger", "read me"
PASSED_OVER = (LEDGER, READ_ME)


@dataclasses.dataclass(frozen=True)
class Head:
    """One column: its word, the unit beside it, and a line for whoever fills it in."""

    word: str
    line: str | Promise
    unit: str = ""
    other: tuple[str, ...] = ()

    @property
    def title(self) -> str:
        return f"{self.word}, {self.unit}" if self.unit else self.word


_MATERIAL = Head("material", _("what it is called on the shelf"))
_KIND = Head("kind", _("oxalic acid dihydrate, glycerine, strip blanks or other; needed where the material is new"))
_COUNTED = Head("counted in", _("grams or pieces; only another kind leaves a choice"))
_CODE = Head("code", _("the club's code of the lot; leave it empty where there is none yet"), other=("lot",))
_SUPPLIER = Head("supplier", _("from whom; one that is not known yet is added"))
_THEIR_LOT = Head("their lot", _("the lot as the supplier calls it"), other=("supplier's lot", "supplier lot"))
_BEST_BEFORE = Head("best before", _("a date: 2027-03-15 or 15.3.2027"))
_SHED = Head("shed", _("where it stands; one that is not known yet is made"))
_AMOUNT = Head("amount", _("what is there now, net: grams or pieces, or with its unit, such as 25 kg"), "g or pieces")
_CHECKED = Head("checked", _("yes, where an amount is unlikely and right all the same"))
_NOTE = Head("note", _("anything else"))

HEADS: dict[str, tuple[Head, ...]] = {
    SUPPLIERS: (
        Head("supplier", _("name of the supplier")),
        Head("address", _("where they are")),
        Head("phone", _("to order and to ask")),
        Head("e-mail", _("to order and to ask"), other=("email",)),
        Head("days to deliver", _("from order to delivery, in days")),
        Head("takes orders on", _("weekdays, 1 is Monday: 12345")),
    ),
    MATERIALS: (
        _MATERIAL,
        _KIND,
        _COUNTED,
        Head("safety stock", _("the coordinators are told below it"), "g or pieces"),
        Head("pack size", _("how it is bought"), "g or pieces"),
        Head("usual supplier", _("from whom it is bought as a rule")),
        Head("least at once", _("less than this at once is questioned"), "g or pieces"),
        Head("most at once", _("more than this at once is questioned"), "g or pieces"),
        Head("for a hive dose", _("what one hive dose takes of it"), "g or pieces"),
        Head("held on arrival", _("yes, if every new lot is put on hold when it comes")),
    ),
    LOTS: (
        _CODE,
        _MATERIAL,
        _KIND,
        _COUNTED,
        _SUPPLIER,
        _THEIR_LOT,
        Head("grade", _("as the label says")),
        Head("form", _("of oxalic acid: dihydrate, anhydrous or unknown")),
        Head("assay as dihydrate", _("a mass fraction such as 0.996 or 99.6 %"), other=("assay",)),
        Head("paper names dihydrate", _("yes, if the certificate says dihydrate")),
        Head("received on", _("the day it came")),
        _BEST_BEFORE,
        Head("received", _("what came in at first, if more than is left"), "g or pieces"),
        Head("price of the whole lot", _("zero for a gift"), other=("price",)),
        Head("dry strip", _("dry mass of one strip"), "g"),
        Head("uptake of a strip", _("what one strip takes up"), "g"),
        Head("on hold, because", _("put on hold for this reason"), other=("on hold",)),
        _SHED,
        _AMOUNT,
        _CHECKED,
        _NOTE,
    ),
    BALANCES: (_CODE, _MATERIAL, _SUPPLIER, _THEIR_LOT, _BEST_BEFORE, _SHED, _AMOUNT, _CHECKED),
}
#: a list without these is not that list
NEEDED = {SUPPLIERS: {"supplier"}, MATERIALS: {"material", "kind"}, LOTS: {"material"}, BALANCES: {"shed", "amount"}}
#: cells that hold an amount, which take the unit of their head
AMOUNTS = frozenset(
    head.word for heads in HEADS.values() for head in heads if head.unit
)  # fmt: skip


def word_of(title: str, sheet: str) -> tuple[str, str]:
    """The column a head names in a list, and the unit beside it; "" for a head that is not known there."""
    plain = " ".join(title.split()).casefold()
    for head in HEADS[sheet]:
        for name in (head.word, *head.other):
            if plain == name:
                return head.word, ""
            rest = plain.removeprefix(name)
            if rest != plain and rest.lstrip()[:1] in (",", "(", "["):
                return head.word, rest.strip(" ,()[]")
    return "", ""


def list_of(name: str, titles: list[str]) -> str:
    """Which list a sheet is: by its name, else by its heads, the lots where more than one would do; "" for none."""
    known = {sheet: {word_of(title, sheet)[0] for title in titles} - {""} for sheet in LISTS}
    named = name.strip().casefold()
    if named in PASSED_OVER:
        return ""
    if named in LISTS:
        return named if known[named] else ""
    fitting = [sheet for sheet in (LOTS, MATERIALS, SUPPLIERS, BALANCES) if known[sheet] >= NEEDED[sheet]]
    return max(fitting, key=lambda sheet: len(known[sheet]), default="")
