"""All addresses of the site."""

from django.urls import URLPattern, URLResolver, include, path

from batches.pages.bench import bench_room

urlpatterns: list[URLPattern | URLResolver] = [
    path("", include("coop.urls")),
    path("", include("inventory.urls")),
    path("api/v1/", include("coop.api.urls")),
    path("api/v1/", include("batches.api.urls")),
    path("bench/", bench_room, name="bench"),
    path("", include("batches.urls")),
]
