"""All addresses of the site."""

from django.urls import URLPattern, URLResolver, include, path

from batches.pages.bench import bench_room
from coop.site import api, today
from members.pages import hives, shareout
from members.pages.stranger import stranger_page
from members.pages.trace import search

urlpatterns: list[URLPattern | URLResolver] = [
    path("", today.today_page, name="today"),
    path("", include("coop.urls")),
    path("", include("inventory.urls")),
    path("bench", bench_room, name="bench"),
    path("", include("batches.urls")),
    path("share-out", shareout.room, name="shareout"),
    path("hives", hives.room, name="hives"),
    path("", include("members.urls")),
    path("trace", search, name="trace"),
    path("trace/", include("members.trace_urls")),
    path("c/<str:code>", stranger_page, name="stranger"),
    path("C/<str:code>", stranger_page, name="stranger_in_capitals"),
    path("api/v1/", api.Root.as_view(), name="api_root"),
    path("api/v1/schema", api.Schema.as_view(), name="api_schema"),
    path("api/v1/docs", api.docs, name="api_docs"),
    path("api/v1/", include("coop.api.urls")),
    path("api/v1/", include("inventory.api.urls")),
    path("api/v1/", include("batches.api.urls")),
    path("api/v1/", include("members.api.urls")),
    path("api/v1/", include("members.api.trace_urls")),
]
