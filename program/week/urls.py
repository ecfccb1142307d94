from django.urls import path

from program.week import views

urlpatterns = [
    path("", views.home, name="home"),
    path("week/", views.this_week, name="week"),
    path("week/ahead/", views.week_ahead, name="week_ahead"),
    path("week/ahead/publish/", views.publish_ahead, name="publish_ahead"),
]
