from django.urls import path

from program.week import views

urlpatterns = [
    path("", views.home, name="home"),
    path("week/", views.this_week, name="week"),
]
