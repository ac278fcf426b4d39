"""All addresses of the site."""

from django.urls import URLPattern, URLResolver, include, path

urlpatterns: list[URLPattern | URLResolver] = [
    path("", include("coop.urls")),
    path("api/v1/", include("coop.api.urls")),
    path("api/v1/", include("batches.api.urls")),
]
