from django.urls import path

from library.views import browse

app_name = "library"

urlpatterns = [
    path("", browse.exercise_list, name="list"),
]
