"""One row as it is read: its cells with what cannot be understood gathered as sentences; and changed facts in words."""

from collections.abc import Callable, Iterable
from typing import Any, Protocol

from django.utils.translation import gettext as _

from coop.units import BadUnit


class Given(Protocol):
    """A row to judge: stored, or as it was read."""

    sheet: str
    number: int
    cells: Any


class Cells:
    """The cells of one row. A row with troubles is not right, whatever else is said of it."""

    def __init__(self, given: dict[str, str], number: int) -> None:
        self.given = given
        self.number = number
        self.troubles: list[str] = []

    def has(self, word: str) -> bool:
        return bool(self.given.get(word))

    def take(self, word: str, parse: Callable[..., Any], *more: Any) -> Any:
        """The value of a cell, None where it is empty or wrong."""
        text = self.given.get(word, "")
        if not text:
            return None
        try:
            return parse(text, *more)
        except BadUnit as trouble:
            self.fail(_("%(word)s: %(trouble)s") % {"word": word, "trouble": trouble})
        return None

    def fail(self, sentence: str) -> None:
        self.troubles.append(sentence)


def named(facts: Iterable[str]) -> list[str]:
    """Changed facts in the words of their columns."""
    words = {
        "low_level": _("safety stock"), "pack_size": _("pack size"), "least_at_once": _("least at once"),
        "most_at_once": _("most at once"), "per_dose": _("for a hive dose"), "supplier": _("usual supplier"),
        "holds_on_arrival": _("held on arrival"), "address": _("address"), "phone": _("phone"), "email": _("e-mail"),
        "lead_days": _("days to deliver"), "order_weekdays": _("takes orders on"), "supplier_lot": _("their lot"),
        "grade": _("grade"), "form": _("form"), "assay_ppb": _("assay as dihydrate"),
        "certificate_names_form": _("paper names dihydrate"), "price_cents": _("price of the whole lot"),
        "received_quantity": _("received"), "dry_strip_mg": _("dry strip"), "uptake_mg": _("uptake of a strip"),
        "best_before": _("best before"), "received_on": _("received on"), "note": _("note"),
    }  # fmt: skip
    return [words[name] for name in facts]
