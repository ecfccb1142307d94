"""The addresses of every station, under one namespace."""

from django.urls import include, path

app_name = "program"

STATIONS = (
    "week",
    "blocks",
    "build",
    "checks",
    "fit",
    "publish",
    "recall",
    "family",
    "log",
    "review",
    "ask",
    "report",
    "privacy",
    "welfare",
    "operations",
)

urlpatterns = [path("", include(f"program.{station}.urls")) for station in STATIONS]
