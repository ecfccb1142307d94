from django.urls import include, path

urlpatterns = [
    path("library/", include("library.urls")),
    path("children/", include("athletes.urls")),
    path("", include("program.urls")),
]
