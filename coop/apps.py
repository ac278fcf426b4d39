"""The ground app: club, people, deeds, codes, notices."""

from django.apps import AppConfig


class CoopConfig(AppConfig):
    name = "coop"
    label = "coop"

    def ready(self) -> None:
        from coop import reminders, triggers  # noqa: F401  (reminders register themselves)

        triggers.hook(self)
        triggers.append_only("coop_deed", writable_once=("result",))
