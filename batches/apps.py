"""The bench: recipes, equipment, the record from plan to release, bags."""

from django.apps import AppConfig


class BatchesConfig(AppConfig):
    name = "batches"
    label = "batches"

    def ready(self) -> None:
        from batches import deeds, demands, guards, leaving, notices, papers, proofs, words  # noqa: F401  (they register themselves)
