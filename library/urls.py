from django.urls import path

from library.views import browse, figures

app_name = "library"

urlpatterns = [
    path("figures/<slug:slug>.svg", figures.figure, name="figure"),
    path("", browse.exercise_list, name="list"),
]
