"""The batches app."""

from django.apps import AppConfig


class BatchesConfig(AppConfig):
    name = "batches"
    label = "batches"
