"""Each row of a file held against the book and the rows before it: a verdict, a sentence, and what would be done.

The same judge speaks for the preview and, under the gate, for the writing. A cell that is empty says nothing: it
neither erases nor changes.
"""

import dataclasses
import datetime as dt
from collections.abc import Iterator, Sequence
from typing import Any

from django.utils.translation import gettext as _

from coop import codes, wording
from coop.command import Refused
from inventory.files import cells, columns
from inventory.files.given import Cells, Given, named
from inventory.files.known import QUARANTINE, Shelf
from inventory.files.lotrows import LotJudge
from inventory.files.plan import Plan, Thing, key_of
from inventory.models import StockRow
from inventory.models.materials import Unit

Verdict = StockRow.Verdict
FIXED_UNITS = {"acid": Unit.MASS, "glycerine": Unit.MASS, "strip": Unit.PIECES}


@dataclasses.dataclass(frozen=True)
class Judged:
    verdict: str
    sentence: str
    item_id: int | None = None


class Judge:
    """Judges the rows of one file in their order and keeps the plan of what they ask for."""

    def __init__(self, rows: Sequence[Given], today: dt.date) -> None:
        self.rows = rows
        self.today = today
        self.shelf = Shelf()
        self.plan = Plan()
        self.lots = LotJudge(self)
        self.shelf.look_at(*self.lots.look_through(rows))

    def verdicts(self) -> Iterator[Judged]:
        judges = {
            columns.SUPPLIERS: self._supplier,
            columns.MATERIALS: self._material,
            columns.LOTS: self.lots.lot,
            columns.BALANCES: self.lots.balance,
        }
        for row in self.rows:
            given = Cells(row.cells, row.number)
            verdict, sentence, item = judges[row.sheet](given)
            if given.troubles:
                yield Judged(Verdict.WRONG, " ".join(given.troubles)[:500], item)
            else:
                yield Judged(verdict, sentence[:500], item)

    # ---- what rows of several lists share ---------------------------------------------------------------------------
    def supplier(self, given: Cells, word: str) -> Thing | None:
        """The supplier a cell names; one that nobody knows is made."""
        name = given.take(word, cells.name)
        if not name:
            return None
        key = key_of(name)
        known = self.plan.suppliers.get(key) or self.shelf.suppliers.get(key)
        if known is None:
            known = Thing(name, {})
        return self.plan.suppliers.setdefault(key, known)

    def material(self, name: str) -> Thing | None:
        return self.plan.materials.get(key_of(name)) or self.shelf.materials.get(key_of(name))

    def kind_and_unit(self, given: Cells) -> tuple[str | None, str | None]:
        """What a row says of a material's kind and unit; the unit follows from most kinds."""
        kind, unit = given.take("kind", cells.kind), given.take("counted in", cells.unit)
        fixed = FIXED_UNITS.get(kind or "")
        if fixed and unit and unit != fixed:
            given.fail(_("Strips are counted in pieces; oxalic acid dihydrate and glycerine are weighed in grams."))
        return kind, str(fixed) if fixed else unit

    def shed(self, given: Cells) -> tuple[str, bool]:
        """The key of the shed a row names, and whether it is made by this very row."""
        name = given.take("shed", cells.name)
        if not name:
            return "", False
        key = key_of(name)
        known = self.shelf.sheds.get(key)
        if known is not None and known.facts["is_closed"]:
            given.fail(_("“%(shed)s” is closed. Open it again, or name another shed.") % {"shed": known.name})
        if known is not None or key == QUARANTINE:
            return key, False
        is_new = key not in self.plan.sheds
        if is_new and not given.troubles:
            self.plan.sheds[key] = Thing(name, {})
        return key, is_new

    def code(self, given: Cells) -> str:
        text = given.given.get("code", "")
        if not text:
            return ""
        try:
            return codes.check(text)
        except Refused as trouble:
            given.fail(trouble.sentence)
        return ""

    # ---- suppliers and materials ------------------------------------------------------------------------------------
    def _supplier(self, given: Cells) -> tuple[str, str, None]:
        name = given.take("supplier", cells.name)
        facts = {
            "address": given.take("address", cells.text_of, 200),
            "phone": given.take("phone", cells.text_of, 40),
            "email": given.take("e-mail", cells.email),
            "lead_days": given.take("days to deliver", cells.count, 365),
            "order_weekdays": given.take("takes orders on", cells.weekdays),
        }
        said = {word: value for word, value in facts.items() if value is not None}
        if not name:
            given.fail(_("Whom is it about? Write the supplier's name."))
        return (*self._thing(given, name or "", said, self.plan.suppliers, self.shelf.suppliers), None)

    def _material(self, given: Cells) -> tuple[str, str, None]:
        name = given.take("material", cells.name)
        kind, unit = self.kind_and_unit(given)
        known = self.shelf.materials.get(key_of(name or ""))
        if not name:
            given.fail(_("What is it called? Write the material's name."))
        if known is None and not kind and not given.has("kind"):
            given.fail(_("It is new, so its kind is needed: oxalic acid dihydrate, glycerine, strip blanks or other."))
        counted = known.facts["unit"] if known else unit or Unit.MASS
        said = self._material_facts(given, counted, known)
        if known and (kind or known.facts["kind"]) != known.facts["kind"]:
            given.fail(_("It is in the book as another kind. Kinds stay: lots speak in them."))
        elif known and (unit or counted) != counted:
            given.fail(_("It is in the book in another unit. Units stay: movements speak in them."))
        if known is None:
            said |= {"kind": kind, "unit": counted}
        return (*self._thing(given, name or "", said, self.plan.materials, self.shelf.materials), None)

    def _material_facts(self, given: Cells, unit: str, known: Thing | None) -> dict[str, Any]:
        usual = self.supplier(given, "usual supplier")
        facts = {
            "low_level": given.take("safety stock", cells.amount, unit),
            "pack_size": given.take("pack size", cells.above_nothing, unit),
            "least_at_once": given.take("least at once", cells.above_nothing, unit),
            "most_at_once": given.take("most at once", cells.above_nothing, unit),
            "per_dose": given.take("for a hive dose", cells.above_nothing, unit),
            "holds_on_arrival": given.take("held on arrival", cells.yes),
            "supplier": key_of(usual.name) if usual else None,
        }
        said = {word: value for word, value in facts.items() if value is not None}
        stand = {**(known.facts if known else {}), **said}
        least, most = stand.get("least_at_once"), stand.get("most_at_once")
        if least is not None and most is not None and most < least:
            given.fail(_("The most at once is less than the least at once."))
        return said

    def _thing(
        self, given: Cells, name: str, said: dict[str, Any], planned: dict[str, Thing], known: dict[str, Thing]
    ) -> tuple[str, str]:  # fmt: skip
        """Verdict and sentence of a supplier or material, new or known; the plan takes it up."""
        key = key_of(name)
        before = planned.get(key)
        if before is not None and before.number:
            given.fail(_("Row %(number)d has the same name. Leave one of them.") % {"number": before.number})
        if given.troubles:
            return Verdict.WRONG, ""
        here = known.get(key)
        if here is None:
            # one that a row before has named only is the same thing: it is filled in, not made twice
            thing = planned.setdefault(key, Thing(name, {}))
            thing.name, thing.facts, thing.number = name, said, given.number
            return Verdict.NEW, _("Will be added.")
        changes = {word: value for word, value in said.items() if here.facts[word] != value}
        planned[key] = Thing(here.name, {**here.facts, **changes}, here.pk, given.number, changes)
        if not changes:
            return Verdict.ALREADY, _("In the book as it stands here.")
        return Verdict.CHANGE, _("Will be changed: %(words)s.") % {"words": wording.listed(named(changes))}
