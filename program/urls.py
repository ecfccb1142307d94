from django.urls import include, path

app_name = "program"

STATIONS = ("week", "build", "fit", "checks", "family", "report", "review", "log")

urlpatterns = [
    *(path("", include(f"program.{station}.urls")) for station in STATIONS),
    path("", include("program.family.urls_follow")),
]
