"""The shelf: materials, items, places, the ledger, ancestry and holds."""

from django.apps import AppConfig


class InventoryConfig(AppConfig):
    name = "inventory"
    label = "inventory"

    def ready(self) -> None:
        from inventory import (  # noqa: F401  (they register themselves)
            deeds,
            demands,
            guards,
            notices,
            proofs,
            stocktakes_today,
            today,
            words,
        )
