"""A ledger of many years, filled by the database itself: lots come in, are moved, and are drawn until empty.

`Years.grow(movements)` adds lots up to that many movements, `STEPS` for each lot; `TOGETHER` lots are in use at a time,
so that materials, sheds and people alternate through the whole book as in a club. The last lots still hold something.
The books prove.
"""

import datetime as dt
import random

from django.db import connection
from django.utils import timezone

from coop import codes
from coop.models import Code, Deed
from inventory.models import Item, Lot, Material, Movement, Place, Supplier
from tests.makers import inventory
from tests.makers.coop import club, coordinator, deed, volunteer

STEPS, TOGETHER, MATERIALS = 50, 20, 10
#: what one draw takes: milligrams, or pieces
PORTION = 1000
MINUTES = 10


class Years:
    def __init__(self) -> None:
        club()
        kinds = ("acid", "glycerine", "strip")
        self.people = [coordinator(), *(volunteer() for _number in range(9))]
        self.supplier: Supplier = inventory.supplier()
        self.materials: list[Material] = [
            inventory.material(kinds[number % 3], low_level=20 * PORTION, supplier=self.supplier)
            for number in range(MATERIALS)
        ]
        #: of which there was one lot, at the beginning
        self.rare: Material = inventory.material("acid")
        self.sheds: list[Place] = [inventory.shed() for _number in range(4)]
        self.door = Place.objects.the(Place.Kind.SUPPLIER)
        self.used = Place.objects.the(Place.Kind.USED)
        self.deed = deed(self.people[0])
        self.lots: list[Item] = []
        self.first_movement = 1 + max(Movement.objects.values_list("pk", flat=True), default=0)
        self.first_deed = 1 + max(Deed.objects.values_list("pk", flat=True), default=0)

    @property
    def movements(self) -> int:
        return len(self.lots) * STEPS

    def grow(self, movements: int, *, in_use: int) -> None:
        """So many movements altogether; the last `in_use` of the new lots are half full, the others empty."""
        was, number = len(self.lots), movements // STEPS - len(self.lots)
        assert number % TOGETHER == 0
        self._add_lots(number)
        with connection.cursor() as cursor:
            known = self._figures(was, len(self.lots), in_use)
            if connection.vendor == "postgresql":
                # the rows are right by making, and `prove` is run over them: nothing is gained by asking for each
                cursor.execute("SET session_replication_role = replica")
            for question in (_DEEDS, _MOVEMENTS, _HOLDINGS):
                cursor.execute(_for_engine(question.format(**known)))
            if connection.vendor == "postgresql":
                cursor.execute("SET session_replication_role = DEFAULT")
                for model in (Deed, Movement):
                    table = model._meta.db_table
                    cursor.execute(f"SELECT setval(pg_get_serial_sequence('{table}', 'id'), max(id)) FROM {table}")
                cursor.execute("VACUUM ANALYZE")

    def _add_lots(self, number: int) -> None:
        drawn = random.Random(len(self.lots))
        texts: set[str] = set()
        while len(texts) < number:
            body = "".join(drawn.choices(codes.ALPHABET, k=codes.LENGTH - 1))
            check = codes.mod_37_36.calc_check_digit(body)
            if check in codes.ALPHABET:
                texts.add(body + check)
        Code.objects.bulk_create([Code(text=text) for text in sorted(texts)], batch_size=5000)
        first = len(self.lots)
        rows = [self._item(first + place, text) for place, text in enumerate(sorted(texts))]
        Item.objects.bulk_create(rows, batch_size=5000)
        facts = [
            Lot(
                item=row,
                supplier=self.supplier,
                received_quantity=self.received,
                supplier_lot=f"S{row.pk}",
                form="none",
            )
            for row in rows
        ]
        Lot.objects.bulk_create(facts, batch_size=5000)
        self.lots += rows

    def _item(self, place: int, text: str) -> Item:
        material = self.materials[place % MATERIALS] if place else self.rare
        made_at = self._when(place // TOGETHER * TOGETHER * STEPS)
        return Item(
            code_id=text, kind="lot", unit=material.unit, material=material, deed=self.deed, made_at=made_at,
            best_before=timezone.now().date() + dt.timedelta(days=400),
        )  # fmt: skip

    @property
    def received(self) -> int:
        return 2 * (STEPS - 2) * PORTION

    def _when(self, movement: int) -> dt.datetime:
        return begin() + dt.timedelta(minutes=MINUTES * movement)

    def _figures(self, was: int, now: int, in_use: int) -> dict[str, object]:
        first_lot = self.lots[was].pk
        return {
            "first": was * STEPS, "last": now * STEPS - 1, "was": was, "first_item": first_lot - was, "steps": STEPS,
            "lots": TOGETHER, "block": STEPS * TOGETHER, "portion": PORTION, "received": self.received,
            "full_from": now - in_use, "door": self.door.pk, "used": self.used.pk, "shed": self.sheds[0].pk,
            "movement": self.first_movement, "deed": self.first_deed, "person": self.people[0].pk,
            "people": len(self.people), "last_lot": now - 1,
        }  # fmt: skip


#: movement i is step (i in its block) // TOGETHER of one of the TOGETHER lots of its block
_STEP = "((n.i % {block}) / {lots})"
_LOT = "(n.i / {block} * {lots} + n.i % {lots})"
#: a lot comes into one shed; half of it goes to the next
_ONE = "({shed} + " + _LOT + " / {lots} % 4)"
_OTHER = "({shed} + (" + _LOT + " / {lots} + 1) % 4)"
_HALF = "{received} / 2"

_DEEDS = (
    "INSERT INTO coop_deed (id, actor_id, key, verb, fingerprint, token, door, happened_at, recorded_at, result) "
    "<n from {first} to {last}> "
    "SELECT {deed} + n.i / 2, {person} + n.i / 2 % {people}, 'years ' || (n.i / 2), "
    f"CASE {_STEP} WHEN 0 THEN 'inventory.receive' WHEN 1 THEN 'inventory.transfer' ELSE 'inventory.draw' END, "
    "'', <token>, 'page', <when n.i / 2 * 2>, <when n.i / 2 * 2>, <json> FROM n WHERE n.i % 2 = 0"
)
_MOVEMENTS = (
    "INSERT INTO inventory_movement "
    "(id, item_id, source_id, target_id, quantity, cause, note, deed_id, happened_at, recorded_at) "
    "<n from {first} to {last}> "
    f"SELECT {{movement}} + n.i, {{first_item}} + {_LOT}, "
    f"CASE WHEN {_STEP} = 0 THEN {{door}} WHEN {_STEP} = 1 OR {_STEP} % 2 = 0 THEN {_ONE} ELSE {_OTHER} END, "
    f"CASE {_STEP} WHEN 0 THEN {_ONE} WHEN 1 THEN {_OTHER} ELSE {{used}} END, "
    f"CASE WHEN {_STEP} = 0 THEN {{received}} WHEN {_STEP} = 1 THEN {_HALF} "
    f"WHEN {_LOT} >= {{full_from}} THEN {{portion}} ELSE 2 * {{portion}} END, "
    f"CASE {_STEP} WHEN 0 THEN 'receive' WHEN 1 THEN 'transfer' ELSE 'draw' END, "
    "'', {deed} + n.i / 2, <when n.i>, <when n.i> FROM n"
)
_HOLDINGS = (
    "INSERT INTO inventory_holding (item_id, place_id, quantity) "
    "<n from {was} to {last_lot}> "
    "SELECT {first_item} + n.i, {shed} + (n.i / {lots} + o.other) % 4, "
    f"CASE WHEN n.i >= {{full_from}} THEN {_HALF} / 2 ELSE 0 END "
    "FROM n CROSS JOIN (SELECT 0 AS other UNION ALL SELECT 1) o"
)


def _for_engine(question: str) -> str:
    """The same question in the words of the engine: numbers from one to another, a moment, a token, a JSON value."""
    is_postgresql = connection.vendor == "postgresql"
    head, _, rest = question.partition("<n from ")
    span, _, rest = rest.partition("> ")
    first, last = span.split(" to ")
    if is_postgresql:
        numbers = f"WITH n(i) AS (SELECT generate_series({first}::bigint, {last}::bigint)) "
    else:
        numbers = f"WITH RECURSIVE n(i) AS (SELECT {first} UNION ALL SELECT i + 1 FROM n WHERE i < {last}) "
    token = f"'{'0' * 32}'::uuid" if is_postgresql else f"'{'0' * 32}'"
    rest = rest.replace("<token>", token).replace("<json>", "'{}'::jsonb" if is_postgresql else "'{}'")
    while "<when " in rest:
        before, _, more = rest.partition("<when ")
        number, _, after = more.partition(">")
        rest = before + _moment(number, is_postgresql) + after
    return head + numbers + rest


def begin() -> dt.datetime:
    """The midnight, UTC, of the first movement."""
    return (timezone.now() - dt.timedelta(days=365 * 20)).replace(hour=0, minute=0, second=0, microsecond=0)


def _moment(number: str, is_postgresql: bool) -> str:
    begins = begin().strftime("%Y-%m-%d %H:%M:%S")
    seconds = f"({number}) * {MINUTES * 60}"
    if is_postgresql:
        return f"('{begins}+00'::timestamptz + ({seconds}) * interval '1 second')"
    return f"datetime('{begins}', '+' || ({seconds}) || ' seconds')"
