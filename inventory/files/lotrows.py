"""Rows about lots and what is left of them. A lot is known by its code, else by material, supplier and their lot."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from django.utils.translation import gettext as _

from coop import codes, wording
from coop.command import Refused
from inventory import arriving
from inventory.files import cells, columns
from inventory.files.given import Cells, Given, named
from inventory.files.known import Known
from inventory.files.openings import Openings, words_of
from inventory.files.plan import LotRow, Thing, key_of
from inventory.models import Lot, Material, StockRow

if TYPE_CHECKING:
    from inventory.files.judging import Judge

Verdict = StockRow.Verdict
Names = tuple[str, str, str, dt.date | None]
Answer = tuple[str, str, int | None]


class LotJudge:
    def __init__(self, judge: "Judge") -> None:
        self.judge = judge
        self.by_code: dict[str, LotRow] = {}
        self.by_names: dict[Names, list[LotRow]] = defaultdict(list)
        self.said: dict[int, dict[str, Any]] = {}
        self.broken_codes: dict[str, int] = {}
        self.broken_names: dict[Names, int] = {}
        self.names_by_pk = {thing.pk: thing for thing in judge.shelf.materials.values()}
        self.suppliers_by_pk = {thing.pk: thing for thing in judge.shelf.suppliers.values()}
        self.openings = Openings(judge)

    # ---- before judging ---------------------------------------------------------------------------------------------
    def look_through(self, rows: Sequence[Given]) -> tuple[set[int], set[str]]:
        """The lots of the book that the file may speak of, and the codes it names; sheds by lot for the openings."""
        lots: set[int] = set()
        named_codes: set[str] = set()
        for row in rows:
            if row.sheet not in (columns.LOTS, columns.BALANCES):
                continue
            code = codes.tidy(row.cells.get("code", ""))
            if code:
                named_codes.add(code)
            for known in self._candidates(row, code):
                lots.add(known.pk)
                self.openings.sheds_named[known.pk].add(key_of(row.cells.get("shed", "")))
        self.codes = named_codes
        return lots, named_codes

    def _candidates(self, row: Given, code: str) -> Iterator[Known]:
        shelf = self.judge.shelf
        if code in shelf.by_code:
            yield shelf.by_code[code]
        elif not code:
            material = shelf.materials.get(key_of(row.cells.get("material", "")))
            supplier = shelf.suppliers.get(key_of(row.cells.get("supplier", "")))
            if material and supplier and material.pk and supplier.pk:
                key = (material.pk, supplier.pk, key_of(row.cells.get("their lot", "")))
                yield from shelf.by_names.get(key, ())

    # ---- the two lists ----------------------------------------------------------------------------------------------
    def lot(self, given: Cells) -> Answer:
        """A lot with its facts, and an amount in a shed where the row names one."""
        code = self._code(given)
        here = self.judge.shelf.by_code.get(code) if code else None
        material, is_new = self._material(given, here)
        supplier = self._supplier(given, here)
        said = self._facts(given, material)
        names = _names(given, said.get("best_before"))
        if given.troubles or material is None or supplier is None:
            self._break(given, code, names)
            return Verdict.WRONG, "", None
        if not code:
            here = self._by_names(given, material, supplier, said)
        row = self._known_row(given, code, here, names)
        verdict: str = Verdict.ALREADY
        words: list[str] = []
        if row is not None:
            self._says_the_same(given, row, said)
        elif not given.troubles:
            row, verdict, words = self._added(given, code, here, material, supplier, said, names)
        if here is not None and given.has("on hold, because") and here.pk not in self.judge.shelf.ever_held:
            given.fail(_("The book has this lot already, and not on hold. Put it on hold on its page."))
        if is_new and not given.troubles:
            words.append(_("The material is added."))
        if row is None or given.troubles:
            self._break(given, code, names)
            return Verdict.WRONG, "", here.pk if here else None
        return self._with_opening(given, row, here, verdict, words)

    def balance(self, given: Cells) -> Answer:
        """An amount of a lot in a shed; the lot is in the book or stands in the list of lots."""
        code = self._code(given)
        here = self.judge.shelf.by_code.get(code) if code else None
        best = given.take("best before", cells.day)
        names = _names(given, best)
        row = self.by_code.get(code) if code else self._one_of(given, self.by_names.get(names, []))
        if row is None and here is None and not code and not given.troubles:
            here = self._in_the_book(given, best)
        if row is None and here is not None:
            row = self._known_row(given, code, here, names) or self._of_the_book(given, here)
        broken = self.broken_codes.get(code) if code else self.broken_names.get(names)
        if row is None and not given.troubles and broken:
            given.fail(_("Its lot in row %(number)d of the lots is not right yet.") % {"number": broken})
        elif row is None and not given.troubles:
            given.fail(_("There is no such lot, neither in the book nor in the list of lots."))
        if row is None or given.troubles:
            return Verdict.WRONG, "", None
        if row.pk is not None and here is None:
            here = self.judge.shelf.by_code.get(row.code)
        return self._with_opening(given, row, here, Verdict.ALREADY, [], needed=True)

    def _with_opening(
        self, given: Cells, row: LotRow, here: Known | None, verdict: str, words: list[str], needed: bool = False
    ) -> Answer:
        opened = self.openings.judge_row(given, row, here, needed or not words)
        if given.troubles:
            return Verdict.WRONG, "", row.pk
        if opened is not None:
            words = [*words, opened[1]]
            if verdict == Verdict.ALREADY:
                verdict = opened[0]
        return verdict, " ".join(words) or _("In the book as it stands here."), row.pk

    # ---- which lot it is --------------------------------------------------------------------------------------------
    def _code(self, given: Cells) -> str:
        code = self.judge.code(given)
        if code in self.judge.shelf.taken:
            given.fail(_("%(code)s is on something else, which is no lot.") % {"code": codes.spaced(code)})
        return code

    def _by_names(self, given: Cells, material: Thing, supplier: Thing, said: dict[str, Any]) -> Known | None:
        if material.pk is None or supplier.pk is None:
            return None
        their_lot = key_of(said.get("supplier_lot") or "")
        return self._fitting(given, (material.pk, supplier.pk, their_lot), said.get("best_before"))

    def _in_the_book(self, given: Cells, best: dt.date | None) -> Known | None:
        shelf = self.judge.shelf
        material = shelf.materials.get(key_of(given.given.get("material", "")))
        supplier = shelf.suppliers.get(key_of(given.given.get("supplier", "")))
        if material is None or supplier is None or material.pk is None or supplier.pk is None:
            return None
        return self._fitting(given, (material.pk, supplier.pk, key_of(given.given.get("their lot", ""))), best)

    def _fitting(self, given: Cells, key: tuple[int, int, str], best: dt.date | None) -> Known | None:
        """The one lot of the book with these names; the best-before tells apart what they do not."""
        found = self.judge.shelf.by_names.get(key, [])
        if not key[2] or len(found) > 1:
            found = [one for one in found if one.facts["best_before"] == best]
        if len(found) > 1:
            given.fail(_("More than one lot of the book fits it. Write its code."))
        return found[0] if len(found) == 1 else None

    def _one_of(self, given: Cells, rows: list[LotRow]) -> LotRow | None:
        if len(rows) > 1:
            given.fail(_("More than one lot of the file fits it. Write its code."))
        return rows[0] if len(rows) == 1 else None

    def _known_row(self, given: Cells, code: str, here: Known | None, names: Names) -> LotRow | None:
        """What an earlier row of the file said of the same lot."""
        if here is not None:
            return self.by_code.get(here.code)
        return self.by_code.get(code) if code else self._one_of(given, self.by_names.get(names, []))

    def _break(self, given: Cells, code: str, names: Names) -> None:
        if code:
            self.broken_codes.setdefault(code, given.number)
        self.broken_names.setdefault(names, given.number)

    # ---- what it is -------------------------------------------------------------------------------------------------
    def _material(self, given: Cells, here: Known | None) -> tuple[Thing | None, bool]:
        """The material of a row, and whether this row brings it."""
        name = given.take("material", cells.name)
        kind, unit = self.judge.kind_and_unit(given)
        if not name:
            if here is None:
                given.fail(_("Which material is it?"))
            return (self.names_by_pk.get(here.material_id) if here else None), False
        known = self.judge.material(name)
        if known is None and kind is None:
            if not given.has("kind"):
                given.fail(_("“%(name)s” is not among the materials. Write its kind beside it.") % {"name": name[:60]})
            return None, False
        if known is None:
            made = Thing(name, {"kind": kind, "unit": unit or "mass"})
            if not given.troubles:
                self.judge.plan.materials[key_of(name)] = made
            return made, True
        if here is not None and known.pk != here.material_id:
            given.fail(_("%(code)s is on a lot of another material.") % {"code": codes.spaced(here.code)})
        if (kind and kind != known.facts["kind"]) or (unit and unit != known.facts["unit"]):
            given.fail(_("“%(name)s” is of another kind, or counted in another unit.") % {"name": known.name})
        return known, False

    def _supplier(self, given: Cells, here: Known | None) -> Thing | None:
        if not given.has("supplier"):
            if here is None:
                given.fail(_("Who is it from? Write the supplier, or “unknown”."))
            return self.suppliers_by_pk.get(here.supplier_id) if here else None
        found = self.judge.supplier(given, "supplier")
        if here is not None and found is not None and found.pk != here.supplier_id:
            given.fail(_("In the book this lot is from another supplier. Set that right on the page of the lot."))
        return found

    def _facts(self, given: Cells, material: Thing | None) -> dict[str, Any]:
        """What the row says of the lot, under the names of the book; empty cells say nothing."""
        unit = material.facts["unit"] if material else "mass"
        facts = {
            "supplier_lot": given.take("their lot", cells.text_of, 80),
            "grade": given.take("grade", cells.text_of, 80),
            "form": given.take("form", cells.form),
            "assay_ppb": given.take("assay as dihydrate", cells.assay),
            "certificate_names_form": given.take("paper names dihydrate", cells.yes),
            "received_on": given.take("received on", cells.day),
            "best_before": given.take("best before", cells.day),
            "received_quantity": given.take("received", cells.amount, unit),
            "price_cents": given.take("price of the whole lot", cells.money),
            "dry_strip_mg": given.take("dry strip", cells.above_nothing, "mass"),
            "uptake_mg": given.take("uptake of a strip", cells.above_nothing, "mass"),
            "note": given.take("note", cells.text_of, 300),
        }
        given.take("on hold, because", cells.text_of, 300)
        if material is not None:
            self._check_form(given, facts, material)
        self._check_days(given, facts)
        return {name: value for name, value in facts.items() if value is not None}

    def _check_form(self, given: Cells, facts: dict[str, Any], material: Thing) -> None:
        is_acid = material.facts["kind"] == Material.Kind.ACID
        if is_acid and facts["form"] == Lot.Form.NONE:
            facts["form"] = Lot.Form.UNKNOWN
        if not is_acid and facts["form"] not in (None, Lot.Form.NONE):
            given.fail(_("Only oxalic acid has a form. Is the material right?"))
        if not is_acid and (facts["assay_ppb"] is not None or facts["certificate_names_form"]):
            given.fail(_("Only oxalic acid has an assay as dihydrate. Is the material right?"))
        if facts["certificate_names_form"] and facts["form"] == Lot.Form.ANHYDROUS:
            given.fail(_("The form is anhydrous, and the paper names the dihydrate: which is right?"))

    def _check_days(self, given: Cells, facts: dict[str, Any]) -> None:
        came, best = facts["received_on"], facts["best_before"]
        try:
            arriving.check_best_before(best)
        except Refused as trouble:
            given.fail(trouble.sentence)
        if came is not None and came > self.judge.today:
            given.fail(_("It was received on a day that is still to come."))
        if came is not None and best is not None and best < came:
            given.fail(_("Its best-before is before the day it came. Are the two days swapped?"))

    # ---- a new lot, and one that is known ---------------------------------------------------------------------------
    def _added(
        self, given: Cells, code: str, here: Known | None, material: Thing, supplier: Thing, said: dict[str, Any],
        names: Names,
    ) -> tuple[LotRow | None, str, list[str]]:  # fmt: skip
        """The first row about a lot: new, or held against the book."""
        if here is not None:
            row = self._of_the_book(given, here)
            row.changes = {name: value for name, value in said.items() if here.facts[name] != value}
            self.said[id(row)] = said
            if not row.changes:
                return row, Verdict.ALREADY, []
            words = wording.listed(named(row.changes))
            return row, Verdict.CHANGE, [_("Will be changed: %(words)s.") % {"words": words}]
        if code and self._is_there_under_another(material, supplier, said):
            given.fail(_("The book has this lot under another code. Take that one, or leave the code empty."))
            return None, Verdict.WRONG, []
        facts = self._whole(said, material)
        hold = given.given.get("on hold, because", "")
        row = LotRow(material, supplier, facts, code, None, given.number, said.get("received_on"), hold)
        self._keep(row, names)
        self.said[id(row)] = said
        return row, Verdict.NEW, self._new_words(row, material)

    def _new_words(self, row: LotRow, material: Thing) -> list[str]:
        words = [_("A new lot.")]
        if material.facts["kind"] == Material.Kind.ACID and row.facts["form"] == Lot.Form.UNKNOWN:
            words.append(_("Its form is unknown: it may not be weighed in."))
        best = row.facts["best_before"]
        if best is not None and best < self.judge.today:
            words.append(_("It is past its date and does not count."))
        if row.hold:
            words.append(_("It is put on hold."))
        return words

    def _of_the_book(self, given: Cells, here: Known) -> LotRow:
        material, supplier = self.names_by_pk[here.material_id], self.suppliers_by_pk[here.supplier_id]
        row = LotRow(material, supplier, here.facts, here.code, here.pk, given.number)
        self._keep(row, _names(given, here.facts["best_before"]))
        return row

    def _keep(self, row: LotRow, names: Names) -> None:
        self.judge.plan.lots.append(row)
        self.by_names[names].append(row)
        if row.code:
            self.by_code[row.code] = row

    def _is_there_under_another(self, material: Thing, supplier: Thing, said: dict[str, Any]) -> bool:
        if material.pk is None or supplier.pk is None:
            return False
        their_lot = key_of(said.get("supplier_lot") or "")
        found = self.judge.shelf.by_names.get((material.pk, supplier.pk, their_lot), [])
        same = [one for one in found if their_lot or one.facts["best_before"] == said.get("best_before")]
        return any(one.code not in self.codes for one in same)

    @staticmethod
    def _whole(said: dict[str, Any], material: Thing) -> dict[str, Any]:
        """The facts of a new lot, with what a row leaves open."""
        is_acid = material.facts["kind"] == Material.Kind.ACID
        whole: dict[str, Any] = {
            "supplier_lot": "", "grade": "", "form": Lot.Form.UNKNOWN if is_acid else Lot.Form.NONE, "assay_ppb": None,
            "certificate_names_form": False, "price_cents": 0, "received_quantity": None, "dry_strip_mg": None,
            "uptake_mg": None, "best_before": None, "note": "", **said,
        }  # fmt: skip
        whole.pop("received_on", None)
        return whole

    def _says_the_same(self, given: Cells, row: LotRow, said: dict[str, Any]) -> None:
        first = self.said.get(id(row), {})
        other = [name for name, value in said.items() if name in first and first[name] != value]
        if other:
            given.fail(
                _("Row %(number)d says otherwise about the same lot: %(words)s.")
                % {"number": row.number, "words": wording.listed(named(other))}
            )


def _names(given: Cells, best_before: dt.date | None) -> Names:
    their_lot = key_of(given.given.get("their lot", ""))
    material, supplier = key_of(given.given.get("material", "")), key_of(given.given.get("supplier", ""))
    return material, supplier, their_lot, None if their_lot else best_before


__all__ = ["LotJudge", "words_of"]
