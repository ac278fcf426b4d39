"""Addresses of the ground: sign-in, people, the club, letters, health."""

from django.urls import URLPattern, URLResolver

urlpatterns: list[URLPattern | URLResolver] = []
