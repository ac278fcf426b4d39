"""What a row says stands in a shed, held against the opening balances and the holdings of the book."""

from collections import defaultdict
from typing import TYPE_CHECKING

from django.utils.translation import gettext as _

from coop import wording
from inventory.files import cells
from inventory.files.given import Cells
from inventory.files.known import Known
from inventory.files.plan import LotRow, Thing
from inventory.models import StockRow

if TYPE_CHECKING:
    from inventory.files.judging import Judge

Verdict = StockRow.Verdict
#: above these a row is questioned where its material has no range: common practice, no published source
MUCH = {"mass": 1_000_000_000, "pieces": 1_000_000}


class Openings:
    def __init__(self, judge: "Judge") -> None:
        self.judge = judge
        self.seen: dict[tuple[int, str], int] = {}
        #: which sheds the file names for a lot of the book
        self.sheds_named: dict[int, set[str]] = defaultdict(set)

    def judge_row(self, given: Cells, row: LotRow, here: Known | None, needed: bool) -> tuple[str, str] | None:
        """Verdict and words for the amount of a row; None where it names none and needs none."""
        shed, is_new = self.judge.shed(given)
        quantity = given.take("amount", cells.amount, row.material.facts["unit"])
        if quantity is None and not given.has("amount"):
            if shed:
                given.fail(_("How much of it is there? Write the amount, 0 for nothing."))
            elif needed and row.number != given.number:
                given.fail(_("Row %(number)d is the same lot. Leave one of them.") % {"number": row.number})
            return None
        if not shed and not given.troubles:
            given.fail(_("Where does it stand? Write the shed."))
        if given.troubles or quantity is None:
            return None
        before = self.seen.setdefault((id(row), shed), given.number)
        if before != given.number:
            given.fail(_("Row %(number)d has the same lot in the same shed.") % {"number": before})
        if not given.take("checked", cells.yes):
            self._likely(given, row, quantity)
        if given.troubles:
            return None
        if here is None:
            return self._new(row, shed, quantity, is_new)
        return self._against_the_book(given, row, here, shed, quantity, is_new)

    def _likely(self, given: Cells, row: LotRow, quantity: int) -> None:
        """The plausible range of the material: kilograms written as grams fall out of it."""
        facts, material = row.material.facts, row.material
        most = facts.get("most_at_once") or MUCH[facts["unit"]]
        least = facts.get("least_at_once")
        received = row.facts.get("received_quantity")
        if quantity > most:
            given.fail(
                _("%(amount)s is more than usual (up to %(most)s). Is the unit right? Then write yes under “checked”.")
                % {"amount": words_of(quantity, material), "most": words_of(most, material)}
            )
        elif least is not None and 0 < quantity < least:
            given.fail(
                _("%(amount)s is less than usual (from %(least)s). Kilograms? Else write yes under “checked”.")
                % {"amount": words_of(quantity, material), "least": words_of(least, material)}
            )
        elif received is not None and row.pk is None and quantity > received:
            given.fail(
                _("More is there (%(amount)s) than was received (%(received)s). Else write yes under “checked”.")
                % {"amount": words_of(quantity, material), "received": words_of(received, material)}
            )

    def _new(self, row: LotRow, shed: str, quantity: int, is_new: bool) -> tuple[str, str]:
        row.openings[shed] = quantity
        words = _("%(amount)s in %(shed)s.") % {
            "amount": words_of(quantity, row.material),
            "shed": self._name(shed),
        }
        return Verdict.NEW, f"{words} {_('The shed is made.')}" if is_new else words

    def _against_the_book(
        self, given: Cells, row: LotRow, here: Known, shed: str, quantity: int, is_new: bool
    ) -> tuple[str, str] | None:
        shelf = self.judge.shelf
        place = shelf.shed_id(shed)
        held = shelf.holdings.get((here.pk, place or 0), 0)
        opening = shelf.openings.get((here.pk, place or 0))
        amount = words_of(quantity, row.material)
        if quantity == held or (opening is not None and opening[1] == quantity):
            return Verdict.ALREADY, _("%(amount)s in %(shed)s, as in the book.") % {
                "amount": amount,
                "shed": self._name(shed),
            }
        if not here.is_from_file:
            given.fail(
                _("The book keeps this lot already, with %(held)s in %(shed)s. Count it there instead.")
                % {"held": words_of(held, row.material), "shed": self._name(shed)}
            )
            return None
        if opening is not None:
            self.judge.plan.corrections[opening[0]] = quantity
            return Verdict.CHANGE, _("The opening balance in %(shed)s becomes %(amount)s instead of %(was)s.") % {
                "shed": self._name(shed),
                "amount": amount,
                "was": words_of(opening[1], row.material),
            }
        return self._another(given, row, here, shed, quantity, is_new)

    def _another(
        self, given: Cells, row: LotRow, here: Known, shed: str, quantity: int, is_new: bool
    ) -> tuple[str, str] | None:
        """A lot of an earlier file in a shed that file did not name: only while the book still is as opened."""
        shelf = self.judge.shelf
        named = {shelf.shed_id(key) for key in self.sheds_named[here.pk] if key}
        if shelf.in_store.get(here.pk, 0) != shelf.opened.get(here.pk, 0):
            given.fail(_("Some of this lot was moved or used since. Count it in the sheds instead."))
        elif not shelf.opened_in.get(here.pk, set()) <= named:
            given.fail(
                _("The book has this lot in another shed. Move it there, or name that shed too, with 0 if it is empty.")
            )
        if given.troubles:
            return None
        return self._new(row, shed, quantity, is_new)

    def _name(self, key: str) -> str:
        known: Thing | None = self.judge.shelf.sheds.get(key) or self.judge.plan.sheds.get(key)
        return known.name if known else _("quarantine")


def words_of(quantity: int, material: Thing) -> str:
    """An amount in the unit of its material."""
    if material.facts["unit"] == "mass":
        return wording.mass_g(quantity)
    return wording.counted(quantity, "strip" if material.facts["kind"] == "strip" else "piece")
