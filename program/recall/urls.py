from django.urls import path

from program.recall import views

urlpatterns = [
    path("recalls/<slug:slug>/", views.recall, name="recall"),
    path("recalls/<slug:slug>/end/", views.recall_end, name="recall_end"),
]
