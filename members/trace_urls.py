"""Addresses of Trace."""

from django.urls import path

from members.pages import holds, trace

app_name = "trace"

urlpatterns = [
    path("holds", holds.hold_list, name="holds"),
    path("holds/<int:pk>", holds.hold_page, name="hold"),
    path("holds/<int:pk>/lift", holds.lift, name="lift"),
    path("holds/<int:pk>/free", holds.free, name="free"),
    path("code/<str:code>", trace.item_page, name="item"),
    path("code/<str:code>/from", trace.upstream_page, name="upstream"),
    path("code/<str:code>/reach", trace.reach_page, name="reach"),
    path("code/<str:code>/hold", holds.place, name="place_hold"),
]
