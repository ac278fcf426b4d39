"""The members app."""

from django.apps import AppConfig


class MembersConfig(AppConfig):
    name = "members"
    label = "members"
