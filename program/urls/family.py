from django.urls import path

from program.views import family

urlpatterns = [
    path("family/", family.children, name="family"),
]
