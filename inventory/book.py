"""The ledger as it is read: what part of it, page by page from the newest, with a running balance where one has sense.

A page is found by the id it begins after, so that page 1000 costs what page 1 does and stays where it is while others
write. The balance goes from page to page in the address, signed; absent or altered, it is computed again.
"""

import dataclasses
import datetime as dt
import re
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, NamedTuple

from django.core import signing
from django.db.models import BigIntegerField, Case, F, Q, QuerySet, Sum, Value, When
from django.utils.crypto import constant_time_compare
from django.utils.translation import gettext as _

from coop import codes, reader
from coop.models import Person
from inventory.models import Holding, Item, Material, Movement, Place

PER_PAGE = 50
_CARRIED = re.compile(r"(-?\d{1,18}):([\w-]{20,64})", re.ASCII)
_signer = signing.Signer(salt="inventory.book")


@dataclasses.dataclass(frozen=True)
class Asked:
    """What part of the ledger: empty is all of it. `since` is included, `until` is not."""

    code: str = ""
    material: Material | None = None
    place: Place | None = None
    source: Place | None = None
    target: Place | None = None
    person: Person | None = None
    verb: str = ""
    deed: int | None = None
    cause: str = ""
    since: dt.datetime | None = None
    until: dt.datetime | None = None

    @property
    def is_all(self) -> bool:
        return self == Asked()

    @property
    def is_broken(self) -> bool:
        """Whether lines of one thing are left out for another reason than their day, so that a balance would jump."""
        return bool(self.person or self.verb or self.deed or self.cause or self.source or self.target)

    def narrow(self, rows: "QuerySet[Movement]") -> "QuerySet[Movement]":
        """The rows that are asked for, but for the place: see `_ids`."""
        for field, value in (
            ("item__code", codes.tidy(self.code) if self.code else None),
            ("item__material", self.material),
            ("source", self.source),
            ("target", self.target),
            ("deed__actor", self.person),
            ("deed__verb", self.verb or None),
            ("deed", self.deed),
            ("cause", self.cause or None),
            ("happened_at__gte", self.since),
            ("happened_at__lt", self.until),
        ):
            if value is not None:
                rows = rows.filter(**{field: value})
        return rows


class Counted(NamedTuple):
    """What a balance counts: one thing or one material, in one place or in all sheds together."""

    item: Item | None
    material: Material | None
    place: Place | None

    @property
    def unit(self) -> str:
        return str((self.item or self.material).unit)  # type: ignore[union-attr]

    @property
    def pieces_of(self) -> Material | None:
        """The material whose pieces are counted: it says whether they are strips."""
        return self.item.material if self.item else self.material

    @property
    def words(self) -> str:
        known = {"what": self.item.spaced_code if self.item else str(self.material)}
        if self.place:
            return _(
                "Balance: what the book held of %(what)s in %(place)s after each line, corrections included, in the "
                "order in which they were written."
            ) % {**known, "place": self.place.words}
        return (
            _(
                "Balance: what the book held of %(what)s in all sheds together after each line, corrections included, "
                "in the order in which they were written. Quarantine, the bench and members are not counted."
            )
            % known
        )

    def changes(self) -> "QuerySet[Movement, tuple[int, int]]":
        """Pairs of id and change for every movement of it, newest first."""
        rows = Movement.objects.filter(item=self.item) if self.item else Movement.objects.filter(self._of_material())
        came, went = (
            Case(When(**{end: self.place} if self.place else {f"{end}__kind": Place.Kind.SHED}, then=F("quantity")))
            for end in ("target", "source")
        )
        for case in (came, went):
            case.default = Value(0, BigIntegerField())
        return rows.annotate(change=came - went).order_by("-pk").values_list("pk", "change")

    def change(self, row: Movement) -> int:
        """The same of one movement at hand."""
        here = [
            place == self.place if self.place else place.kind == Place.Kind.SHED for place in (row.target, row.source)
        ]
        return row.quantity * (here[0] - here[1])

    def _of_material(self) -> Q:
        return Q(item__material=self.material)

    def now(self) -> int:
        rows = Holding.objects.filter(quantity__gt=0)
        rows = rows.filter(item=self.item) if self.item else rows.filter(self._of_material())
        rows = rows.filter(place=self.place) if self.place else rows.filter(place__kind=Place.Kind.SHED)
        return int(rows.aggregate(total=Sum("quantity"))["total"] or 0)

    def sign(self, below: int, balance: int) -> str:
        """The balance of all movements with ids below one, as it goes into an address."""
        return f"{balance}:{_signer.signature(self._said(below, balance))}"

    def read(self, below: int, carried: str) -> int | None:
        """That balance again; None where it was not signed here, or for something else."""
        found = _CARRIED.fullmatch(carried)
        if found is None:
            return None
        is_ours = constant_time_compare(found[2], _signer.signature(self._said(below, int(found[1]))))
        return int(found[1]) if is_ours else None

    def _said(self, below: int, balance: int) -> str:
        subject = f"item {self.item.pk}" if self.item else f"material {self.material.pk}"  # type: ignore[union-attr]
        return f"{subject}, place {self.place.pk if self.place else 'sheds'}, below {below}: {balance}"


@dataclasses.dataclass(frozen=True)
class Page:
    """Some of the ledger. `older` and `newer` are what the next address says, or empty."""

    rows: list[Movement]
    balances: dict[int, int]
    counted: Counted | None
    older: dict[str, str]
    newer: dict[str, str]


def counted(asked: Asked) -> Counted | None:
    """What the balance of these lines counts; None where it would have no sense."""
    if asked.is_broken or not (asked.code or asked.material):
        return None
    if not asked.code:
        return Counted(None, asked.material, asked.place)
    item = Item.objects.select_related("material").filter(code=codes.tidy(asked.code)).first()
    return Counted(item, None, asked.place) if item else None


def rows_of(asked: Asked) -> "QuerySet[Movement]":
    """Every movement that is asked for, newest first, with what a line needs."""
    rows = asked.narrow(_with_all())
    return rows.filter(Q(source=asked.place) | Q(target=asked.place)) if asked.place else rows


def page(asked: Asked, *, before: int = 0, after: int = 0, carried: str = "", size: int = 0) -> Page:
    """The newest lines; those older than `before`; or those next to and newer than `after`."""
    size = size or PER_PAGE
    newer_ids = _ids(asked, size + 1, above=after) if after and not before else []
    if after and not before and len(newer_ids) <= size:
        after = 0  # fewer than a page: these are the newest
    if after and not before:
        ids, has_newer, has_older = newer_ids[1:], True, True
    else:
        found = _ids(asked, size + 1, below=before)
        ids, has_newer, has_older = found[:size], bool(before), len(found) > size
    known = {row.pk: row for row in _with_all().filter(pk__in=ids)}
    rows = [known[pk] for pk in ids if pk in known]
    what = counted(asked)
    balances = _balances(what, ids, before or (after + 1 if after else 0), carried) if what and ids else {}
    older = {"before": str(ids[-1])} if has_older and ids else {}
    newer = {"after": str(ids[0])} if has_newer and ids else {}
    if what and older:
        older["balance"] = what.sign(ids[-1], balances[ids[-1]] - what.change(known[ids[-1]]))
    if what and newer:
        newer["balance"] = what.sign(ids[0] + 1, balances[ids[0]])
    return Page(rows, balances, what, older, newer)


def with_balances(rows: Iterable[Movement], what: Counted) -> Iterator[tuple[Movement, int]]:
    """Lines from the newest on, all of one thing, each with the balance after it; read as they come."""
    balance = what.now()
    changes = iter(what.changes().iterator(chunk_size=2000))
    for row in rows:
        for pk, change in changes:
            if pk == row.pk:
                yield row, balance
            balance -= change
            if pk <= row.pk:
                break


def people() -> "QuerySet[Person]":
    """Whose deeds may be asked for by whoever reads."""
    everybody = Person.objects.filter(is_system=False)
    return everybody.filter(pk__in=[person.pk for person in everybody if reader.may_learn(person)])


def _with_all() -> "QuerySet[Movement]":
    return Movement.objects.select_related(
        "item__material",
        "source__person",
        "target__person",
        "deed__actor",
        "reversed_by",
        "reverses__deed__actor",
        "replaces__deed__actor",
    ).order_by("-pk")


def _ids(asked: Asked, size: int, *, below: int = 0, above: int = 0) -> list[int]:
    """Ids, newest first, next to the one they begin at. One question for each end of a place: each has its index."""
    rows = asked.narrow(Movement.objects.order_by("pk" if above else "-pk")).values_list("pk", flat=True)
    if below:
        rows = rows.filter(pk__lt=below)
    if above:
        rows = rows.filter(pk__gt=above)
    if asked.place:
        found = {pk for end in ("source", "target") for pk in rows.filter(**{end: asked.place})[:size]}
        ids = sorted(found, reverse=not above)[:size]
    else:
        ids = list(rows[:size])
    return sorted(ids, reverse=True)


def _balances(what: Counted, ids: Sequence[int], below: int, carried: str) -> dict[int, int]:
    """The balance after each of these movements, newest first, from what was carried here or from now backwards."""
    known = what.read(below, carried) if below and carried else None
    newest = ids[0]
    changes = what.changes()
    if known is None:
        balance = what.now() - _sum(changes.filter(pk__gt=newest))
    elif newest < below:
        balance = known - _sum(changes.filter(pk__gt=newest, pk__lt=below))
    else:
        balance = known + _sum(changes.filter(pk__gte=below, pk__lte=newest))
    wanted, found = set(ids), {}
    for pk, change in changes.filter(pk__gte=ids[-1], pk__lte=newest):
        if pk in wanted:
            found[pk] = balance
        balance -= change
    return found


def _sum(changes: Any) -> int:
    return int(changes.order_by().aggregate(total=Sum("change"))["total"] or 0)
