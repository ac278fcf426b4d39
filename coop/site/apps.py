"""The roof: it wires the rooms together."""

from django.apps import AppConfig


class RoofConfig(AppConfig):
    name = "coop.site"
    label = "roof"

    def ready(self) -> None:
        # coop/__init__.py is empty, so the Celery app is made here: else tasks would bind to a default app.
        from coop import checks  # noqa: F401
        from coop.site import celery  # noqa: F401
