from django.urls import path

from program.views import week

urlpatterns = [
    path("", week.home, name="home"),
    path("week/", week.this_week, name="week"),
]
