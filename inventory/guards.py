"""What the database itself refuses, whoever asks: laid on both engines by coop.triggers."""

from coop import triggers
from inventory.models import Place

_KINDS = ", ".join(f"'{kind}'" for kind in Place.BOUNDARIES)
_AT_BOUNDARY = f'(SELECT p.kind FROM inventory_place p WHERE p.id = NEW."place_id") IN ({_KINDS})'
_NO_BOUNDARY = "a boundary holds nothing"
_STORES = ", ".join(f"'{kind}'" for kind in Place.IN_STORE)
_OUT_OF_STORE = f'(SELECT p.kind FROM inventory_place p WHERE p.id = NEW."place_id") NOT IN ({_STORES})'

triggers.append_only("inventory_movement")
triggers.append_only("inventory_incident")
for _event in ("INSERT", "UPDATE"):
    triggers.register(
        triggers.Trigger(
            f"inventory_holding_real_{_event.lower()}",
            "inventory_holding",
            _event,
            _NO_BOUNDARY,
            sqlite_when=_AT_BOUNDARY,
            postgresql_when=_AT_BOUNDARY,
        )
    )
    triggers.register(
        triggers.Trigger(
            f"inventory_container_in_store_{_event.lower()}",
            "inventory_container",
            _event,
            "a container stands in a shed or in quarantine",
            sqlite_when=_OUT_OF_STORE,
            postgresql_when=_OUT_OF_STORE,
        )
    )
triggers.register(
    triggers.Trigger(
        "inventory_place_keeps_kind",
        "inventory_place",
        "UPDATE",
        "a place never becomes another kind of place",
        sqlite_when='NEW."kind" <> OLD."kind" OR NEW."item_id" IS NOT OLD."item_id"',
        postgresql_when='NEW."kind" <> OLD."kind" OR NEW."item_id" IS DISTINCT FROM OLD."item_id"',
    )
)
triggers.register(
    triggers.Trigger(
        "inventory_item_keeps_itself",
        "inventory_item",
        "UPDATE",
        "an item keeps its code, its kind and its unit",
        sqlite_when='NEW."code" <> OLD."code" OR NEW."kind" <> OLD."kind" OR NEW."unit" <> OLD."unit"',
        postgresql_when='NEW."code" <> OLD."code" OR NEW."kind" <> OLD."kind" OR NEW."unit" <> OLD."unit"',
    )
)
