"""Members: apiaries, rounds and the share-out, hand-overs, treatments."""

from django.apps import AppConfig


class MembersConfig(AppConfig):
    name = "members"
    label = "members"

    def ready(self) -> None:
        from members import deeds, demands, leaving, notices, proofs, today  # noqa: F401  (they register themselves)
