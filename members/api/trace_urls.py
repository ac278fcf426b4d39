"""Addresses of the trace under /api/v1/."""

from django.urls import path

from members.api import trace

urlpatterns = [path("trace/<str:code>", trace.TraceView.as_view(), name="api_trace")]
